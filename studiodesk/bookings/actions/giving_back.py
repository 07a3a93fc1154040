"""Cutting time out of outages: the rows under the acts that put something back into service."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from studiodesk.journal.actions import call_off, record, tell
from studiodesk.journal.models import Notice
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from ..models import Booking, Hold, Outage
from ..queries import outages as reads
from ..rules import keeping
from ..rules import outages as rules


def take_from(outages: Sequence[Outage], resources: Sequence[int], freed: Span) -> tuple[list[Hold], list[Hold]]:
    """``freed`` is not out of service any more for ``resources``: the outages are trimmed, divided or gone.

    Answers what they kept of it until now, and what they keep on either side of it.
    """
    touched: list[Hold] = []
    kept: list[Hold] = []
    for outage in outages:
        old = list(
            Hold.objects.filter(outage=outage, lane__resource__in=list(resources))
            .select_related("lane")
            .order_by("lane_id", "starts")
        )
        remnants = rules.left_of(Span(outage.starts, outage.ends), freed)
        owners = _divided(outage, resources, remnants)
        cut = [hold for hold in old if hold.starts < freed.ends and hold.ends > freed.starts]
        Hold.objects.filter(pk__in=[hold.pk for hold in cut]).delete()
        kept += Hold.objects.bulk_create(
            Hold(
                lane_id=hold.lane_id,
                starts=rest.starts,
                ends=rest.ends,
                cause=hold.cause,
                reason=hold.reason,
                outage=owners[rules.owner_of(rest, remnants) or 0],
            )
            for hold in cut
            for rest in keeping.remnants(Span(hold.starts, hold.ends), freed)
        )
        _hand_over([hold for hold in old if hold not in cut], remnants, owners, outage)
        touched += cut
        if not remnants and not outage.resources.exists():
            outage.delete()
    return touched, kept


def _divided(outage: Outage, resources: Sequence[int], remnants: Sequence[Span]) -> list[Outage]:
    """An outage for each remnant: the row itself takes the first if nothing else of it is out of service."""
    others = outage.resources.exclude(pk__in=list(resources)).exists()
    mine = list(outage.resources.filter(pk__in=list(resources)))
    owners: list[Outage] = []
    for number, span in enumerate(remnants):
        if number == 0 and not others:
            outage.starts, outage.ends = span.starts, span.ends
            outage.save(update_fields=["starts", "ends"])
            owners.append(outage)
            continue
        part = Outage.objects.create(
            cause=outage.cause,
            service=outage.service,
            starts=span.starts,
            ends=span.ends,
            reason=outage.reason,
            made_at=outage.made_at,
            made_by=outage.made_by,
        )
        part.resources.set(mine)
        owners.append(part)
    if others or not remnants:
        outage.resources.remove(*mine)
    return owners


def _hand_over(holds: Sequence[Hold], remnants: Sequence[Span], owners: Sequence[Outage], was: Outage) -> None:
    """What was not cut goes with the remnant that it lies in."""
    for number, owner in enumerate(owners):
        if owner.pk != was.pk:
            theirs = [h.pk for h in holds if rules.owner_of(Span(h.starts, h.ends), remnants) == number]
            Hold.objects.filter(pk__in=theirs).update(outage=owner)


def no_longer_hit(bookings: Sequence[Booking], now: datetime, by: Member) -> None:
    """Whoever was told that something is out of service is told that their booking stands after all.

    A letter that was not sent yet is not sent any more, and then nothing need be said.
    """
    for booking in bookings:
        if reads.outages_hitting(booking, now):
            continue
        prefix = f"bookings.hit:{booking.pk}:"
        call_off(now=now, prefix=prefix)
        told = Notice.objects.filter(unique_key__startswith=prefix).exclude(state=Notice.State.CALLED_OFF)
        last = told.order_by("-pk").first()
        if last is None:
            continue
        entry = record(
            code="bookings.hit_no_more",
            happened_at=now,
            now=now,
            by=by,
            about=booking,
            facts={"member": booking.member_id},
        )
        key = f"bookings.hit_no_more:{last.pk}:0"
        tell(entry=entry, person=booking.member, code="bookings.hit_no_more", unique_key=key, due_at=now)
