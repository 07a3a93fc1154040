"""Booking a time."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import record, tell_many
from studiodesk.journal.models import Entry
from studiodesk.people.models import Member
from studiodesk.stations.models import KitItem, Process, Station
from studiodesk.timekeeping import Span

from ..models import Booking, Series
from ..queries import Look, Wanted, look
from ..rules import asking
from .holding import keep

#: Letters and digits that nobody mistakes for another when reading them out.
SIGNS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
OVERRIDE_LENGTH = 200


def new_reference() -> str:
    """Eight signs, 31⁸ of them: the unique constraint decides if two ever meet."""
    return "".join(secrets.choice(SIGNS) for _ in range(8))


def book(
    *,
    member: Member,
    station: Station,
    process: Process | None,
    starts: datetime,
    ends: datetime,
    now: datetime,
    by: Member,
    kit: Mapping[KitItem, int] | None = None,
    guests: int = 0,
    adult_name: str = "",
    override: str = "",
    offered_until: datetime | None = None,
    series: Series | None = None,
    quietly: bool = False,
) -> Booking:
    """Book ``station`` for ``member``, with a place at a processor if a process is named, and the kit.

    ``override`` is the reason for which staff set the rules of the house aside; the journal keeps it.  With
    ``offered_until`` the time is kept for the member until they say yes.  ``quietly``: the caller tells the member.
    Raises ``Refused`` with a code of ``rules.asking``, ``rules.own`` or ``rules.kit``; then nothing is written.
    """
    early = asking.order_refusal(starts, ends)
    if early:
        raise Refused(early)
    wanted = Wanted(member, station, process, Span(starts, ends), in_order(kit), guests, adult_name.strip())
    return with_facts(
        lambda: _book(
            wanted=wanted,
            now=now,
            by=by,
            override=override.strip(),
            offered_until=offered_until,
            series=series,
            quietly=quietly,
        ),
        station,
    )


def in_order(kit: Mapping[KitItem, int] | None) -> tuple[tuple[KitItem, int], ...]:
    """The kit by its rows' keys, without what nobody wants any piece of."""
    return tuple(sorted(((i, n) for i, n in (kit or {}).items() if n), key=lambda pair: int(pair[0].pk)))


def with_facts(work: Any, station: Station) -> Any:
    """Do ``work``; a refusal by the database itself knows its constraint's name and no more, and gets its facts."""
    try:
        return work()
    except Refused as refused:
        if refused.refusal.facts:
            raise
        facts = {"station": station.name, "zone": station.zone.name if station.zone else ""}
        raise Refused(Refusal(refused.refusal.code, facts)) from refused


def set_aside(seen: Look, override: str, by: Member) -> tuple[asking.ProcessorFacts | None, dict[str, Any]]:
    """The rule's answer, with what the journal keeps if rules of the house were set aside.  Raises ``Refused``."""
    overrides = bool(override and seen.broken)
    if overrides and not by.is_staff:
        refuse("bookings.not_yours_to_override", status=403)
    answer = seen.answer(set_aside=overrides)
    if isinstance(answer, Refusal):
        raise Refused(answer)
    kept = {"reason": override[:OVERRIDE_LENGTH], "rules": [one.code for one in seen.broken]} if overrides else {}
    return answer, kept


@act
def _book(
    *,
    wanted: Wanted,
    now: datetime,
    by: Member,
    override: str,
    offered_until: datetime | None,
    series: Series | None,
    quietly: bool,
) -> Booking:
    seen = look(wanted, now=now, by=by, lock=locked)
    if not seen.who.is_here:
        refuse("bookings.not_a_member", status=422)
    answer, kept = set_aside(seen, override, by)
    machine = seen.machines[answer.code] if answer else None
    span, member = wanted.span, wanted.member
    booking = Booking.objects.create(
        reference=new_reference(),
        member=member,
        station=wanted.station,
        process=wanted.process,
        processor=machine,
        starts=span.starts,
        ends=span.ends,
        made_at=now,
        recorded_at=now,
        source=Booking.Source.SITE if by.pk == member.pk else Booking.Source.DESK,
        guests=wanted.guests,
        adult_name=wanted.adult_name,
        offered_until=offered_until,
        series=series,
    )
    keep(booking, seen, answer, machine)
    entry = record(
        code="bookings.offered" if offered_until else "bookings.booked",
        happened_at=now,
        now=now,
        by=by,
        about=booking,
        facts={
            "member": member.pk,
            "station": wanted.station.pk,
            "starts": span.starts.isoformat(),
            "ends": span.ends.isoformat(),
            **({"until": offered_until.isoformat()} if offered_until else {}),
            **kept,
        },
    )
    if offered_until is None:
        tell_booked(booking, entry, seen.who.rules.limit("reminder_hours"), now, quietly=quietly)
    return booking


def reminder_key(booking: Booking) -> str:
    """One reminder for each state of a booking: a changed one is another."""
    return f"bookings.reminder:{booking.pk}:{booking.sequence}"


def tell_booked(
    booking: Booking, entry: Entry, reminder_hours: int | None, now: datetime, *, quietly: bool = False
) -> None:
    """The confirmation at once, unless the caller says it, and the reminder in time, in one statement."""
    rows = []
    if not quietly:
        key = f"bookings.booked:{booking.pk}:{booking.sequence}"
        rows.append((booking.member, "bookings.booked", key, now))
    if reminder_hours is not None:
        due = booking.starts - timedelta(hours=reminder_hours)
        if due > now:
            rows.append((booking.member, "bookings.reminder", reminder_key(booking), due))
    if rows:
        tell_many(entry=entry, rows=rows)
