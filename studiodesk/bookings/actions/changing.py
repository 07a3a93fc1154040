"""Moving, extending, shortening a booking, and taking a change back.

A change is one transaction: the new times are looked at as if the booking were not there, then they take its place.
If they are refused, the booking stands as it stood.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import call_off, record, tell
from studiodesk.people.models import Member
from studiodesk.stations.models import KitItem, Process, Station
from studiodesk.timekeeping import Span

from ..models import Booking, BookingChange, BookingKit
from ..queries import Wanted, kit_of, look, outages_hitting, rules_for, state_of
from ..rules import asking, keeping
from .arriving import guests_follow
from .cancelling import fresh
from .holding import give_back, keep, let_outages_have, wait_for_the_house
from .making import in_order, reminder_key, set_aside, tell_booked, with_facts
from .waiting import serve_freed

CHANGED = [
    "station",
    "process",
    "processor",
    "starts",
    "ends",
    "guests",
    "adult_name",
    "cancelled_at",
    "was_cancelled_late",
    "sequence",
    "changed_at",
]


class Same:
    """Stands for "as it is"."""


SAME = Same()


@dataclass(frozen=True)
class New:
    """What is to be other than it is."""

    station: Station | Same = SAME
    process: Process | Same | None = SAME
    starts: datetime | Same = SAME
    ends: datetime | Same = SAME
    kit: Mapping[KitItem, int] | Same = SAME
    guests: int | Same = SAME
    adult_name: str | Same = SAME


def _or(new: Any, old: Any) -> Any:
    return old if isinstance(new, Same) else new


def wanted_of(booking: Booking, new: New) -> Wanted:
    """The booking as it would be."""
    starts, ends = _or(new.starts, booking.starts), _or(new.ends, booking.ends)
    early = asking.order_refusal(starts, ends)
    if early:
        raise Refused(early)
    kit = kit_of(booking) if isinstance(new.kit, Same) else in_order(new.kit)
    return Wanted(
        member=booking.member,
        station=_or(new.station, booking.station),
        process=_or(new.process, booking.process),
        span=Span(starts, ends),
        kit=kit,
        guests=_or(new.guests, booking.guests),
        adult_name=_or(new.adult_name, booking.adult_name).strip(),
        instead_of=booking,
    )


def change(
    *,
    booking: Booking,
    new: New,
    now: datetime,
    by: Member,
    override: str = "",
    reason: str = "",
    quietly: bool = False,
    by_house: bool = False,
    seq: int | None = None,
    serves: bool = True,
) -> Booking:
    """Make ``new`` of a booking, or refuse and leave it as it stands.

    ``reason``: why somebody else changes it, told to the member; ``quietly``: the caller tells them.  Nothing new
    changes nothing, unless the house moves it because it cannot stay (``by_house``): the same time, but perhaps at
    another processor; what a member may have is not asked again then.  ``seq``: how often it had been changed when
    somebody looked at it; changed since, it is refused.  Without ``serves`` nobody who waits is asked whether they want
    what it gives back: the caller does.
    """
    station = _or(new.station, booking.station)
    how = {
        "override": override.strip(),
        "reason": reason,
        "quietly": quietly,
        "by_house": by_house,
        "seq": seq,
        "serves": serves,
    }
    return with_facts(lambda: _change(booking=booking, new=new, now=now, by=by, **how), station)


def before_of(row: Booking) -> dict[str, Any]:
    """What a change may have to be taken back to."""
    return {
        "station": row.station_id,
        "process": row.process_id,
        "starts": row.starts.isoformat(),
        "ends": row.ends.isoformat(),
        "kit": [[item.pk, pieces] for item, pieces in kit_of(row)],
        "guests": row.guests,
        "adult_name": bool(row.adult_name),
    }


def _same(row: Booking, wanted: Wanted) -> bool:
    return (
        wanted.station.pk == row.station_id
        and (wanted.process.pk if wanted.process else None) == row.process_id
        and wanted.span == Span(row.starts, row.ends)
        and wanted.kit == kit_of(row)
        and (wanted.guests, wanted.adult_name) == (row.guests, row.adult_name)
    )


@act
def _change(
    *,
    booking: Booking,
    new: New,
    now: datetime,
    by: Member,
    override: str,
    reason: str,
    undoes: BookingChange | None = None,
    quietly: bool = False,
    by_house: bool = False,
    seq: int | None = None,
    serves: bool = True,
) -> Booking:
    # The house and the member before the booking, as the act that books does: two changes at once wait for each other.
    wait_for_the_house()
    locked(Member.objects.filter(pk=booking.member_id)).get()
    row = fresh(booking)
    if seq is not None and seq != row.sequence:
        refuse("bookings.changed_meanwhile")
    wanted = replace(wanted_of(row, new), is_moved_by_house=by_house)
    back = undoes is not None and undoes.cancelled
    if not back:
        refusal = keeping.may_change(state_of(row), now)
        if refusal:
            raise Refused(refusal)
        if row.offered_until is not None:
            refuse("bookings.only_kept", until=row.offered_until)
        if undoes is None and not by_house and _same(row, wanted):
            return row
        if row.starts < now and wanted.span.starts != row.starts:
            refuse("bookings.begun_stays", starts=row.starts)
        if row.arrived_at is not None and wanted.span.starts > row.starts:
            # Whoever is in would count as in for another time, and could not sign in to it any more.
            refuse("bookings.arrived_already", at=row.arrived_at)
    seen = look(wanted, now=now, by=by, lock=locked)
    answer, kept = set_aside(seen, override, by)
    machine = seen.machines[answer.code] if answer else None
    before = before_of(row)
    call_off(now=now, keys=[reminder_key(row)])
    freed = give_back(row)
    BookingKit.objects.filter(booking=row).delete()
    row.station, row.process, row.processor = wanted.station, wanted.process, machine
    row.starts, row.ends = wanted.span.starts, wanted.span.ends
    row.guests, row.adult_name = wanted.guests, wanted.adult_name
    row.cancelled_at, row.was_cancelled_late = None, False
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=CHANGED)
    kept_now = keep(row, seen, answer, machine)
    if row.arrived_at is not None and row.guests != before["guests"]:
        guests_follow(row, before["guests"], now, by)
    if not outages_hitting(row, now):
        # A letter that still waits to say what is out of service would say it of the new place.
        call_off(now=now, prefix=f"bookings.hit:{row.pk}:")
    if undoes is None:
        BookingChange.objects.create(booking=row, at=now, by=by, before=before)
    else:
        BookingChange.objects.filter(pk=undoes.pk).update(undone_at=now)
    _say(
        row,
        before,
        seen.who.rules.limit("reminder_hours"),
        now,
        by,
        kept,
        reason,
        undone=undoes is not None,
        quietly=quietly,
    )
    let_outages_have(freed, now, kept_now)
    if serves:
        serve_freed(row, now, freed)
    return row


def _say(
    row: Booking,
    before: dict[str, Any],
    reminder_hours: int | None,
    now: datetime,
    by: Member,
    kept: dict[str, Any],
    reason: str,
    *,
    undone: bool,
    quietly: bool,
) -> None:
    own = by.pk == row.member_id
    facts = {
        "member": row.member_id,
        "before": before,
        "station": row.station_id,
        "starts": row.starts.isoformat(),
        "ends": row.ends.isoformat(),
        **kept,
        **({"why": reason[:200]} if reason else {}),
    }
    code = "bookings.change_undone" if undone else "bookings.changed"
    entry = record(code=code, happened_at=now, now=now, by=by, about=row, facts=facts)
    told = "bookings.changed" if own else "bookings.moved_by_house"
    if not quietly:
        tell(entry=entry, person=row.member, code=told, unique_key=f"{told}:{row.pk}:{row.sequence}", due_at=now)
    tell_booked(row, entry, reminder_hours, now, quietly=True)


def undo_last_change(*, booking: Booking, now: datetime, by: Member, seq: int | None = None) -> Booking:
    """The booking is again what it was before its latest change or its cancellation, if that is still to be had.

    Refused: ``bookings.nothing_to_undo``, ``bookings.too_late_to_undo``, and whatever stands in the way of the old
    times.  A member takes back their own changes; whoever runs the house anybody's.  ``seq``: how often it had been
    changed when the button was shown; pressed twice it takes one change back, changed since, it is refused.
    """
    return with_facts(lambda: _undo(booking=booking, now=now, by=by, seq=seq), booking.station)


@act
def _undo(*, booking: Booking, now: datetime, by: Member, seq: int | None) -> Booking:
    wait_for_the_house()
    locked(Member.objects.filter(pk=booking.member_id)).get()
    row = fresh(booking)
    if seq is not None and seq != row.sequence:
        if seq + 1 == row.sequence and BookingChange.objects.filter(booking=row, undone_at=row.changed_at).exists():
            return row
        refuse("bookings.changed_meanwhile")
    latest = BookingChange.objects.filter(booking=row, undone_at__isnull=True).first()
    if latest is None or (latest.by_id != by.pk and not by.may_run_the_house):
        refuse("bookings.nothing_to_undo")
    new = new_of(latest.before)
    was = keeping.State(_or(new.starts, row.starts), _or(new.ends, row.ends))
    notice = rules_for(row.member, was.starts).number("free_cancel_hours")
    refusal = keeping.may_undo(state_of(row), was, now, notice, runs_the_house=by.may_run_the_house)
    if refusal:
        raise Refused(refusal)
    return _change(booking=row, new=new, now=now, by=by, override="", reason="", undoes=latest)


def new_of(before: dict[str, Any]) -> New:
    """What ``before_of`` wrote down, as what is wanted again; of a cancellation nothing was other."""
    if not before:
        return New()
    items = KitItem.objects.in_bulk([item for item, _pieces in before["kit"]])
    return New(
        station=Station.objects.select_related("zone").get(pk=before["station"]),
        process=Process.objects.get(pk=before["process"]) if before["process"] else None,
        starts=datetime.fromisoformat(before["starts"]),
        ends=datetime.fromisoformat(before["ends"]),
        kit={items[item]: pieces for item, pieces in before["kit"] if item in items},
        guests=before["guests"],
    )
