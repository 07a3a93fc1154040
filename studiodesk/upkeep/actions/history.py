"""Importing a history: five files, each all or nothing, recorded as it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from typing import Any

from studiodesk.acts import act
from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.actions import record_past_bookings
from studiodesk.bookings.rules.past import PastBooking
from studiodesk.chemistry.actions import record_past_entries, record_past_feeds, record_past_strips, settle_alerts
from studiodesk.chemistry.rules.past import PastEntry, PastFeed, PastStrip
from studiodesk.journal.actions import record
from studiodesk.stations.queries import studio
from studiodesk.units import pl_from_ml

from .. import queries
from ..rules import history, known
from ..rules.problems import FileRefused, Findings
from ..rules.rows import FeedRow, FileKeys
from ..rules.tables import Watched, all_rows
from .members import write_members
from .outcome import FileCount, ImportOutcome, as_asked

#: The files in the order in which they are read, and whose refusal each of them waits for.
FILES: Mapping[str, tuple[str, ...]] = {
    "members.csv": (),
    "bookings.csv": ("members.csv",),
    "feeds.csv": ("members.csv", "bookings.csv"),
    "bath_events.csv": (),
    "strips.csv": (),
}
OF_THE_HOUSE = ("house", "control strip", "cleaning")


def import_history(
    *, files: Mapping[str, bytes], now: datetime, by: Any = None, dry_run: bool = False, watched: Watched = all_rows
) -> ImportOutcome:
    """Record what ``files`` (name → bytes) tell; a name that is missing is passed over.

    Each file is written whole or not at all.  A file whose people or bookings were refused is not tried.  Afterwards
    the alerts are set to what is true now; nobody is told anything.  Raises ``Refused("stations.no_studio")`` before
    a studio was loaded.
    """
    studio()
    return as_asked(lambda: _import(files, now, by, watched), dry_run=dry_run)


def _import(files: Mapping[str, bytes], now: datetime, by: Any, watched: Watched) -> ImportOutcome:
    outcome = ImportOutcome()
    failed: set[str] = set()
    for name, wanted in FILES.items():
        if name not in files:
            continue
        missed = next((other for other in wanted if other in failed), "")
        if missed:
            failed.add(name)
            outcome.files.append(FileCount(name, waits_for=missed))
            continue
        findings = Findings(name)
        try:
            new, already = _file(name, files[name], findings, now, by, watched)
            outcome.files.append(FileCount(name, new, already))
        except FileRefused as refused:
            failed.add(name)
            outcome.files.append(FileCount(name, refused=refused))
        outcome.warnings += findings.warnings
    if outcome.new:
        settle_alerts(now=now)
    return outcome


@act
def _file(name: str, data: bytes, findings: Findings, now: datetime, by: Any, watched: Watched) -> tuple[int, int]:
    """(new, already here).  Whatever a lower act refuses is told with the line that it is about."""
    findings.clear()
    try:
        new, already = WRITERS[name](data, findings, now, watched)
    except FileRefused:
        raise
    except Refused as refused:
        facts = refused.refusal.facts
        findings.wrong(refused.refusal, facts.get("row", 0), COLUMNS.get(refused.refusal.code, ""))
        raise FileRefused(name, findings.problems) from refused
    if new:
        facts = {"file": name, "new": new, "already": already}
        record(code="upkeep.history_imported", happened_at=now, now=now, by=by, facts=facts)
    return new, already


COLUMNS = {"bookings.row_clashes": "start", "bookings.row_without_place": "process", "bookings.row_known": "reference"}


def _bookings(data: bytes, findings: Findings, now: datetime, watched: Watched) -> tuple[int, int]:
    rows = history.read_bookings(data, findings, watched)
    house, people = queries.house(), _ids(queries.members())
    here = queries.bookings(row.reference for row in rows)
    new = known.new_bookings(rows, house, people, here, findings)
    findings.stop_if_wrong()
    past = [
        PastBooking(
            reference=row.reference,
            member_id=people[row.member],
            station_id=house.stations[row.station].pk,
            process_id=house.processes[row.process] if row.process else None,
            starts=row.start,
            ends=row.end,
            made_at=row.made_at,
            cancelled_at=row.cancelled_at,
            arrived_at=row.arrived_at,
            row_number=row.line,
        )
        for row in new
    ]
    if past:
        dark: list[str] = []
        record_past_bookings(past, now, without_light=dark)
        lines = {row.reference: row.line for row in new}
        for reference in dark:
            findings.warn(
                Refusal("upkeep.room_in_another_light", {"reference": reference}), lines[reference], "process"
            )
    return len(new), len(rows) - len(new)


def _feeds(data: bytes, findings: Findings, now: datetime, watched: Watched) -> tuple[int, int]:
    rows = known.in_time(history.read_feeds(data, findings, watched))
    house, people = queries.house(), _ids(queries.members())
    booked = queries.bookings({row.booking for row in rows if row.booking})
    known.check_feeds(rows, house, people, booked, findings)
    known.warn_of_the_future([(row.line, row.fed_at) for row in rows], "fed_at", now, findings)
    findings.stop_if_wrong()
    keys = FileKeys()
    past = []
    for row in rows:
        of = booked.get(row.booking or "")
        member = row.member or (of.member if of else None)
        sheet = house.sheets[row.sheet]
        past.append(
            PastFeed(
                fed_at=row.fed_at,
                processor_id=house.processors[row.processor].pk,
                sheet_id=sheet.pk,
                sheets=row.sheets,
                sheet_area_mm2=0 if row.kind == "cleaning" else sheet.width_mm * sheet.length_mm,
                kind=row.kind,
                who=who_fed(row),
                member_id=people[member] if member else None,
                booking_id=of.pk if of else None,
                file_key=keys.key(row),
            )
        )
    return _counted(past, partial(record_past_feeds, now=now))


def who_fed(row: FeedRow) -> str:
    """The word for who it was: a booking, a member, the house itself, or a walk-in."""
    if row.booking:
        return "booking"
    if row.member:
        return "member"
    return "house" if row.kind in OF_THE_HOUSE else "walk-in"


def _events(data: bytes, findings: Findings, now: datetime, watched: Watched) -> tuple[int, int]:
    keys = FileKeys()
    rows = [(row, keys.key(row)) for row in known.events_in_time(history.read_events(data, findings, watched))]
    house = queries.house()
    known.check_events(rows, house, queries.refills(row.at for row, _ in rows if row.event == "refill"), findings)
    known.warn_of_the_future([(row.line, row.at) for row, _ in rows], "at", now, findings)
    findings.stop_if_wrong()
    past = [
        PastEntry(
            at=row.at,
            bath_id=house.baths[row.processor, row.bath],
            event=row.event,
            amount_pl=None if row.ml is None else pl_from_ml(row.ml),
            silver_ug_per_l=history.silver_ug_per_l(row.note) if row.event == "strip" else None,
            note=row.note,
            file_key=key,
        )
        for row, key in rows
    ]
    return _counted(past, partial(record_past_entries, now=now))


def _strips(data: bytes, findings: Findings, now: datetime, watched: Watched) -> tuple[int, int]:
    rows = sorted(history.read_strips(data, findings, watched), key=lambda row: (row.read_at, row.patch, row.channel))
    house = queries.house()
    known.check_strips(rows, house, queries.readings(row.read_at for row in rows), findings)
    known.warn_of_the_future([(row.line, row.read_at) for row in rows], "read_at", now, findings)
    findings.stop_if_wrong()
    keys = FileKeys()
    past = [
        PastStrip(
            read_at=row.read_at,
            processor_id=house.processors[row.processor].pk,
            patch=row.patch,
            channel=row.channel,
            aim=row.aim,
            reading=row.reading,
            file_key=keys.key(row),
        )
        for row in rows
    ]
    return _counted(past, partial(record_past_strips, now=now))


def _counted(past: list[Any], write: Callable[[list[Any]], int]) -> tuple[int, int]:
    new = write(past)
    return new, len(past) - new


def _ids(members: Mapping[str, known.KnownMember]) -> dict[str, int]:
    return {number: member.pk for number, member in members.items()}


WRITERS: Mapping[str, Callable[[bytes, Findings, datetime, Watched], tuple[int, int]]] = {
    "members.csv": write_members,
    "bookings.csv": _bookings,
    "feeds.csv": _feeds,
    "bath_events.csv": _events,
    "strips.csv": _strips,
}
