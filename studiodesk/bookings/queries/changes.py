"""What can become of a booking that stands: longer, shorter, at another station, and what can be taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Station
from studiodesk.timekeeping import Span

from ..models import Booking, BookingChange, ZoneHold
from ..rules import keeping
from .looking import Wanted
from .persons import kit_of, rules_for
from .previews import preview
from .touching import holds_touching

#: By how much a booking is made longer with one press.
LONGER = (timedelta(minutes=60), timedelta(minutes=30))


def state_of(booking: Booking) -> keeping.State:
    return keeping.State(
        booking.starts,
        booking.ends,
        booking.cancelled_at,
        booking.arrived_at,
        booking.left_at,
        booking.reference,
        booking.released_at,
    )


def wanted_as(
    booking: Booking,
    *,
    station: Station | None = None,
    ends: datetime | None = None,
) -> Wanted:
    """The booking with another station or another end."""
    return Wanted(
        member=booking.member,
        station=station or booking.station,
        process=booking.process,
        span=Span(booking.starts, ends or booking.ends),
        kit=kit_of(booking),
        guests=booking.guests,
        adult_name=booking.adult_name,
        instead_of=booking,
    )


def can_be_longer(booking: Booking, now: datetime, by: Member) -> list[timedelta]:
    """By how much it could be made longer now: who has an hour has half an hour too."""
    for number, more in enumerate(LONGER):
        if preview(wanted_as(booking, ends=booking.ends + more), now=now, by=by).refusal is None:
            return list(reversed(LONGER[number:]))
    return []


def swaps(booking: Booking, now: datetime) -> list[Station]:
    """Equal stations that are free at the same time: of the kind, made for the process, in the light it needs.

    Advice: the act looks again.
    """
    rows = stations.stations().filter(kind=booking.station.kind).exclude(pk=booking.station_id)
    many = list((rows.filter(processes=booking.process) if booking.process else rows).order_by("pk"))
    if booking.process is None:
        many = [station for station in many if not station.processes.all()]
    stay = Span(max(booking.starts, now), booking.ends) if booking.starts < now < booking.ends else None
    needed = stay or Span(booking.starts, booking.ends)
    widest = max([timedelta(minutes=max(one.set_up_minutes, one.clear_up_minutes)) for one in many] or [timedelta(0)])
    held: dict[int, list[Span]] = {}
    window = needed.widened(widest, widest)
    found = holds_touching(window).filter(lane__resource_id__in=[one.resource_id for one in many])
    for resource, starts, ends in found.values_list("lane__resource_id", "starts", "ends"):
        held.setdefault(resource, []).append(Span(starts, ends))
    unlike: set[int] = set()
    if booking.process is not None and any(station.zone_id for station in many):
        kept = ZoneHold.objects.filter(starts__lt=needed.ends, ends__gt=needed.starts).exclude(booking=booking)
        unlike = set(kept.exclude(light=booking.process.light).values_list("zone_id", flat=True))

    def free(station: Station) -> bool:
        set_up = timedelta(0) if stay else timedelta(minutes=station.set_up_minutes)
        whole = needed.widened(set_up, timedelta(minutes=station.clear_up_minutes))
        taken = any(span.overlaps(whole) for span in held.get(station.resource_id, ()))
        return not taken and station.zone_id not in unlike

    return [station for station in many if free(station)]


@dataclass(frozen=True)
class Undo:
    """The latest change can be taken back until ``until``; ``cancelled``: it was the cancellation."""

    until: datetime
    cancelled: bool


def undo_of(booking: Booking, now: datetime, by: Member, notice_hours: int) -> Undo | None:
    """What could be taken back now, by the same rule as the act's; None if nothing can."""
    latest = BookingChange.objects.filter(booking=booking, undone_at__isnull=True).first()
    if latest is None or (latest.by_id != by.pk and not by.may_run_the_house):
        return None
    before = latest.before
    starts = datetime.fromisoformat(before["starts"]) if before else booking.starts
    ends = datetime.fromisoformat(before["ends"]) if before else booking.ends
    was, house = keeping.State(starts, ends), by.may_run_the_house
    if keeping.may_undo(state_of(booking), was, now, notice_hours, runs_the_house=house) is not None:
        return None
    return Undo(starts - timedelta(hours=0 if house else notice_hours), latest.cancelled)


@dataclass(frozen=True)
class CancelNow:
    """What cancelling means at this moment: ``free_until``, whether it is ``late``, and the house's numbers."""

    late: bool
    free_until: datetime
    notice_hours: int
    strikes: int | None
    strike_days: int
    pause_days: int
    hours_count: bool


def cancelling(booking: Booking, now: datetime) -> CancelNow:
    """For the person whose booking it is: two queries."""
    rules = rules_for(booking.member, booking.starts)
    notice = rules.number("free_cancel_hours")
    return CancelNow(
        late=keeping.is_late(booking.starts, now, notice),
        free_until=booking.starts - timedelta(hours=notice),
        notice_hours=notice,
        strikes=rules.limit("strikes"),
        strike_days=rules.number("strike_days"),
        pause_days=rules.number("pause_days"),
        hours_count=bool(rules.number("missed_hours_count")) and rules.limit("month_hours") is not None,
    )
