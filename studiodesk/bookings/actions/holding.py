"""Keeping lanes for a booking and giving them back: the rows under every act that books, changes or cancels."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from studiodesk.acts import locked
from studiodesk.stations.models import Lane, Processor, Resource, Studio
from studiodesk.timekeeping import Span, without

from ..models import Booking, BookingKit, Hold, Outage, ZoneHold
from ..queries import Look
from ..rules import asking
from ..rules.places import weave, weave_many


def wait_for_the_house() -> None:
    """The first lock of every act that may give something back to others: the studio's row, if heads are counted.

    Whoever books takes it before everything else; taken later it would make a ring of waiting.
    """
    list(locked(Studio.objects.filter(heads_at_once__isnull=False)))


def keep(booking: Booking, seen: Look, place: asking.ProcessorFacts | None, machine: Processor | None) -> list[Hold]:
    """The station from set-up to clear-up, the place at the processor for the booking's own times, the kit for its own.

    Of a stay that is under way only what is still to come is kept anew.
    """
    needed = seen.asked.needed
    under_way = needed.starts > seen.asked.starts
    whole = needed.widened(seen.station.set_up * (not under_way), seen.station.clear_up)
    held = [(seen.lanes[seen.wanted.station.resource_id][0], whole)]
    if place is not None and machine is not None:
        lanes = seen.lanes[machine.resource_id]
        held += [(lanes[piece.lane], piece.span) for piece in weave(needed, place.lanes) or ()]
    for (item, pieces), facts in zip(seen.wanted.kit, seen.kit, strict=True):
        lanes = seen.lanes[item.resource_id]
        held += [(lanes[piece.lane], piece.span) for piece in weave_many(facts.span, facts.lanes, pieces) or ()]
    # Sorted, so that two acts never wait for each other in a ring.
    kept = Hold.objects.bulk_create(
        Hold(lane_id=lane, starts=span.starts, ends=span.ends, cause=Hold.Cause.BOOKING, booking=booking)
        for lane, span in sorted(held, key=lambda pair: (pair[0], pair[1].starts))
    )
    if seen.wanted.kit:
        BookingKit.objects.bulk_create(
            BookingKit(booking=booking, item=item, pieces=pieces) for item, pieces in seen.wanted.kit
        )
    process, zone = seen.wanted.process, seen.wanted.station.zone_id
    if process is not None and zone is not None:
        ZoneHold.objects.create(
            zone_id=zone, light=process.light, starts=needed.starts, ends=needed.ends, booking=booking
        )
    return kept


def give_back(booking: Booking) -> list[Hold]:
    """Everything that is kept for ``booking`` is free again; answers what it was.

    What something out of service was waiting for falls to it in the same transaction, so that nobody can book it.
    The kit stays written in the booking: it says what was wanted.  The resources are locked, so that nothing goes out
    of service unseen meanwhile.
    """
    resources = Lane.objects.filter(holds__booking=booking.pk).values("resource_id")
    list(locked(Resource.objects.filter(pk__in=resources).order_by("pk")))
    freed = list(Hold.objects.filter(booking=booking).order_by("lane_id", "starts").select_related("lane"))
    Hold.objects.filter(booking=booking).delete()
    ZoneHold.objects.filter(booking=booking).delete()
    return freed


def let_outages_have(freed: Iterable[Hold], now: datetime, kept: Iterable[Hold] = ()) -> None:
    """What was given back and lies within something's time out of service is kept for that.

    ``kept`` is what the booking took again at once: a shortened one keeps the rest of its time.
    """
    freed = [hold for hold in freed if hold.ends > now]
    if not freed:
        return
    window = Q(starts__lt=max(hold.ends for hold in freed), ends__gt=min(hold.starts for hold in freed))
    resources = {hold.lane.resource_id for hold in freed}
    rows = Outage.objects.filter(window, resources__in=resources).values_list(
        "pk", "resources__pk", "starts", "ends", "cause", "reason"
    )
    taken: dict[int, list[Span]] = {}
    for hold in kept:
        taken.setdefault(hold.lane_id, []).append(Span(hold.starts, hold.ends))
    new: list[Hold] = []
    for outage, resource, starts, ends, cause, reason in rows.order_by("starts", "pk"):
        for hold in freed:
            part = Span(starts, ends).clipped_to(Span(hold.starts, hold.ends))
            if hold.lane.resource_id != resource or part is None:
                continue
            for piece in without([part], taken.setdefault(hold.lane_id, [])):
                taken[hold.lane_id].append(piece)
                new.append(
                    Hold(
                        lane_id=hold.lane_id,
                        starts=piece.starts,
                        ends=piece.ends,
                        cause=cause,
                        reason=reason,
                        outage_id=outage,
                    )
                )
    Hold.objects.bulk_create(sorted(new, key=lambda hold: (hold.lane_id, hold.starts)))
