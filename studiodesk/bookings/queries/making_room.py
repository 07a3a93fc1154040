"""Which members' bookings would have to move so that a group fits, as few as can be found; and where each could go.

Advice, as all looking is: the act moves them and keeps the group in one transaction, or does neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from studiodesk.people.models import Member
from studiodesk.stations.models import Processor, Station, Studio
from studiodesk.timekeeping import Span

from ..models import Booking, GroupStay, Hold, ZoneHold
from ..rules import groups as rules
from .groups import Facts, GroupWish, all_needs, window_of
from .hit import Hit, hits_with_moves
from .lists import whole
from .touching import holds_touching

#: More bookings than that are not asked to move for one group.
MOST = 40
#: What moving somebody can help against; a closed day or too many heads it cannot.
HELPED = frozenset({"stations", "places"})


def room_for(
    wishes: Sequence[GroupWish], *, now: datetime, leaving_out: Sequence[GroupStay] = ()
) -> list[Booking] | None:
    """The bookings that stand in the way of ``wishes``, by start; None if moving bookings does not make them fit.

    Greedy: the station or the place that the fewest bookings keep is freed first, until all fit; then each booking
    that turns out not to be needed is left alone.  Who is in, and what has begun, is never asked to move.
    """
    moving: list[int] = []
    while True:
        clashes = _clashes(wishes, moving, leaving_out)
        if not clashes:
            break
        if any(clash.what not in HELPED for _wish, clash in clashes):
            return None
        options = [one for wish, clash in clashes for one in _ways(wish, clash, moving, now)]
        best = min(options, key=lambda one: (len(one), sorted(one)), default=None)
        if best is None or len(moving) + len(best) > MOST:
            return None
        moving += sorted(best)
    for pk in list(moving):
        fewer = [one for one in moving if one != pk]
        if not _clashes(wishes, fewer, leaving_out):
            moving = fewer
    return list(whole().filter(pk__in=moving).order_by("starts", "pk"))


def _clashes(
    wishes: Sequence[GroupWish], moving: Sequence[int], leaving_out: Sequence[GroupStay]
) -> list[tuple[GroupWish, rules.Clash]]:
    facts = Facts(all_needs(wishes), window_of(wishes), leaving_out=leaving_out, moving=moving)
    return [(wish, clash) for wish in wishes for clash in facts.fit(wish).clashes]


def _ways(wish: GroupWish, clash: rules.Clash, moving: Sequence[int], now: datetime) -> list[set[int]]:
    """Sets of bookings each of which, moved, frees one station or one place of what clashes."""
    found = [_at_station(key, wish, moving) for key in clash.keys]
    if clash.what == "places":
        found = [{pk} for key in clash.keys for pk in _bookings(_holds(key, wish.whole), moving) or ()]
    keys = {pk for one in found for pk in one or ()}
    # What is only kept for somebody until they answer is theirs to answer first.
    ahead = Booking.objects.filter(pk__in=keys, starts__gt=now, arrived_at__isnull=True, offered_until__isnull=True)
    may = set(ahead.values_list("pk", flat=True))
    return [one for one in found if one and one <= may]


def _holds(resource: int, span: Span) -> Iterable[Hold]:
    return holds_touching(span).filter(lane__resource=resource)


def _bookings(holds: Iterable[Hold], moving: Sequence[int]) -> set[int]:
    return {hold.booking_id for hold in holds if hold.booking_id is not None} - set(moving)


def _at_station(resource: int, wish: GroupWish, moving: Sequence[int]) -> set[int] | None:
    """The bookings that keep this station, or its room in another light; None if something else keeps it too."""
    station = Station.objects.filter(resource=resource).first()
    if station is None:
        return None
    around = wish.span.widened(
        max(wish.before, timedelta(minutes=station.set_up_minutes)),
        max(wish.after, timedelta(minutes=station.clear_up_minutes)),
    )
    holds = list(_holds(resource, around))
    if any(hold.booking_id is None for hold in holds):
        return None
    found = _bookings(holds, moving)
    lights = {need.process.light for need in wish.needs if need.kind == station.kind and need.process is not None}
    if station.zone_id is not None and lights:
        rows = ZoneHold.objects.filter(
            zone=station.zone_id, starts__lt=wish.span.ends, ends__gt=wish.span.starts
        ).exclude(light__in=lights)
        other = list(rows)
        if any(row.booking_id is None for row in other):
            return None
        found |= {row.booking_id for row in other if row.booking_id is not None} - set(moving)
    return found


def moves_for_group(
    bookings: Sequence[Booking],
    wishes: Sequence[GroupWish],
    studio: Studio,
    now: datetime,
    by: Member,
    leaving_out: Sequence[GroupStay] = (),
) -> list[Hit]:
    """Every booking that would have to move, with where it could go: never to what the group itself will keep."""
    moving = [booking.pk for booking in bookings]
    facts = Facts(all_needs(wishes), window_of(wishes), leaving_out=leaving_out, moving=moving)
    avoid: dict[int, list[Span]] = {}
    for wish in wishes:
        fit = facts.fit(wish)
        for resource, span in fit.stations.items():
            avoid.setdefault(resource, []).append(span)
        for resource, pieces in fit.places.items():
            if len({piece.lane for piece in pieces}) >= _places_of(resource):
                avoid.setdefault(resource, []).append(wish.whole)
    return hits_with_moves(bookings, studio, now, by, avoid=avoid)


def _places_of(resource: int) -> int:
    """How many places a processor has; of anything else one."""
    processor = Processor.objects.filter(resource=resource).first()
    return processor.booths_at_once if processor is not None else 1
