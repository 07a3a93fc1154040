"""Keeping what a group needs, all of it or none, and giving it back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.stations.models import Lane, Process, Resource
from studiodesk.timekeeping import Span

from ..models import GroupStay, Hold, ZoneHold
from ..queries.groups import Facts, GroupWish, all_needs, window_of
from ..rules import keeping
from ..rules.groups import Fit
from .holding import let_outages_have, wait_for_the_house


@act
def keep_group(
    *,
    wishes: Sequence[GroupWish],
    title: str,
    sort: str,
    now: datetime,
    by: Member | None,
    process: Process | None = None,
    led_by: Member | None = None,
    shows_title: bool = False,
) -> list[GroupStay]:
    """Keep what every one of ``wishes`` needs, or nothing; answers one stay for each, in their order.

    Refused: ``bookings.group_in_the_past``, ``bookings.group_meets_itself``, ``bookings.no_room_for_group``.
    """
    _may_be(wishes, now)
    facts = Facts(all_needs(wishes), window_of(wishes), lock=locked)
    stays = []
    for wish, found in zip(wishes, _found(facts, wishes), strict=True):
        stay = GroupStay.objects.create(
            title=title.strip()[:160],
            sort=sort,
            starts=wish.span.starts,
            ends=wish.span.ends,
            before_minutes=wish.before // timedelta(minutes=1),
            after_minutes=wish.after // timedelta(minutes=1),
            heads=wish.heads,
            process=process,
            led_by=led_by,
            shows_title=shows_title,
            made_at=now,
            made_by=by,
        )
        _keep(stay, found, facts)
        stays.append(stay)
        record(code="bookings.group_kept", happened_at=now, now=now, by=by, about=stay, facts=_said(stay))
    return stays


@act
def move_groups(
    *, stays: Sequence[GroupStay], wishes: Sequence[GroupWish], now: datetime, by: Member | None
) -> list[GroupStay]:
    """Every stay to the time, and with the needs, of its wish, or none of them: what they have is theirs to use.

    Refused: what ``keep_group`` is, and ``bookings.group_is_over`` for one that is cancelled or has ended.
    """
    _may_be(wishes, now)
    wait_for_the_house()
    rows = _fresh(stays)
    if any(row.cancelled_at is not None or row.ends <= now for row in rows):
        refuse("bookings.group_is_over")
    facts = Facts(all_needs(wishes), window_of(wishes), leaving_out=rows, lock=locked)
    found = _found(facts, wishes)
    freed = _give_back(rows)
    kept: list[Hold] = []
    for row, wish, one in zip(rows, wishes, found, strict=True):
        row.starts, row.ends, row.heads = wish.span.starts, wish.span.ends, wish.heads
        row.before_minutes, row.after_minutes = wish.before // timedelta(minutes=1), wish.after // timedelta(minutes=1)
        row.sequence, row.changed_at = row.sequence + 1, now
        row.save(update_fields=["starts", "ends", "heads", "before_minutes", "after_minutes", "sequence", "changed_at"])
        kept += _keep(row, one, facts)
        record(code="bookings.group_moved", happened_at=now, now=now, by=by, about=row, facts=_said(row))
    let_outages_have(freed, now, kept)
    return rows


@act
def cancel_groups(*, stays: Sequence[GroupStay], now: datetime, by: Member | None) -> list[GroupStay]:
    """Give back all that they keep.  One that is cancelled stays so; one that has begun gives back the rest."""
    wait_for_the_house()
    rows = _fresh(stays)
    theirs = Lane.objects.filter(holds__group__in=[row.pk for row in rows]).values("resource_id")
    list(locked(Resource.objects.filter(pk__in=theirs).order_by("pk")))
    open_ones = [row for row in rows if row.cancelled_at is None and row.ends > now]
    freed = _give_back(open_ones)
    for row in open_ones:
        row.cancelled_at, row.sequence, row.changed_at = now, row.sequence + 1, now
        row.save(update_fields=["cancelled_at", "sequence", "changed_at"])
        record(code="bookings.group_cancelled", happened_at=now, now=now, by=by, about=row, facts=_said(row))
    let_outages_have(freed, now)
    return rows


def _may_be(wishes: Sequence[GroupWish], now: datetime) -> None:
    if any(wish.span.ends <= now for wish in wishes):
        refuse("bookings.group_in_the_past")
    ordered = sorted(wishes, key=lambda wish: wish.whole.starts)
    if any(one.whole.overlaps(two.whole) for one, two in pairwise(ordered)):
        refuse("bookings.group_meets_itself")


def _found(facts: Facts, wishes: Sequence[GroupWish]) -> list[Fit]:
    found = [facts.fit(wish) for wish in wishes]
    clashing = [wish.span.starts for wish, one in zip(wishes, found, strict=True) if one.clashes]
    if clashing:
        refuse("bookings.no_room_for_group", starts=clashing[0], times=len(clashing))
    return found


def _fresh(stays: Sequence[GroupStay]) -> list[GroupStay]:
    by_key = {row.pk: row for row in locked(GroupStay.objects.filter(pk__in=[s.pk for s in stays]).order_by("pk"))}
    return [by_key[stay.pk] for stay in stays]


def _give_back(rows: Sequence[GroupStay]) -> list[Hold]:
    keys = [row.pk for row in rows]
    freed = list(Hold.objects.filter(group__in=keys).order_by("lane_id", "starts").select_related("lane"))
    Hold.objects.filter(group__in=keys).delete()
    ZoneHold.objects.filter(group__in=keys).delete()
    return freed


def hold_all(stay: GroupStay, found: Fit, facts: Facts) -> list[Hold]:
    """Everything of ``found`` is the group's from now on.  Part of an act of whoever calls it."""
    held = [
        (next(iter(facts.lanes[resource])), piece)
        for resource, span in found.stations.items()
        for piece in keeping.day_pieces(span)
    ]
    for resource, pieces in found.places.items():
        lanes = list(facts.lanes[resource])
        held += [(lanes[one.lane], piece) for one in pieces for piece in keeping.day_pieces(one.span)]
    # Sorted, so that two acts never wait for each other in a ring.
    return Hold.objects.bulk_create(
        Hold(lane_id=lane, starts=span.starts, ends=span.ends, cause=Hold.Cause.CLASS, group=stay)
        for lane, span in sorted(held, key=lambda pair: (pair[0], pair[1].starts))
    )


def _keep(stay: GroupStay, found: Fit, facts: Facts) -> list[Hold]:
    rows = hold_all(stay, found, facts)
    ZoneHold.objects.bulk_create(
        ZoneHold(zone_id=room, light=light, starts=piece.starts, ends=piece.ends, group=stay)
        for room, light in sorted(found.lights.items())
        for piece in keeping.day_pieces(Span(stay.starts, stay.ends))
    )
    return rows


def _said(stay: GroupStay) -> dict[str, object]:
    return {"starts": stay.starts.isoformat(), "ends": stay.ends.isoformat(), "sort": stay.sort}
