"""Waste: its streams, permits and containers, what goes into them and who takes it away."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from ..models import Alert, Bath, Container, ContainerEntry, PickUp, WastePermit, WasteStream
from ..queries import waste as reads
from ..rules import alerts as rules
from ..rules import waste
from .alerts import clear_alert, raise_alert

Event = ContainerEntry.Event


@act
def keep_stream(
    *, code: str, name: str, bears_silver: bool, conditions: str, baths: Iterable[Bath], now: datetime, by: Any = None
) -> WasteStream:
    """A stream and the baths that give to it.

    Refused: chemistry.bath_keeps_stream, where a container of the stream that a bath gives to was connected already:
    what ran into it would be counted elsewhere.
    """
    baths = list(baths)
    for bath in Bath.objects.filter(stream__code=code).exclude(pk__in=[one.pk for one in baths]):
        _may_leave(bath)
    for bath in Bath.objects.filter(pk__in=[one.pk for one in baths]).exclude(stream=None).exclude(stream__code=code):
        _may_leave(bath)
    values = {"name": name.strip(), "bears_silver": bears_silver, "conditions": conditions.strip()}
    row, _made = WasteStream.objects.update_or_create(code=code, defaults=values)
    chosen = {bath.pk for bath in baths}
    Bath.objects.filter(stream=row).exclude(pk__in=chosen).update(stream=None)
    Bath.objects.filter(pk__in=chosen).update(stream=row)
    facts = {"code": code, "baths": sorted(chosen)}
    record(code="chemistry.stream_kept", happened_at=now, now=now, by=by, about=row, facts=facts)
    return row


def _may_leave(bath: Bath) -> None:
    connected = ContainerEntry.objects.filter(event=Event.CONNECTED, container__stream=bath.stream_id)
    if connected.filter(undoes=None, undone_by=None).exists():
        refuse("chemistry.bath_keeps_stream", bath=bath.name, stream=bath.stream.name if bath.stream else "")


@act
def keep_permit(
    *,
    number: str,
    issued_by: str,
    conditions: str,
    valid_from: date,
    valid_until: date | None,
    now: datetime,
    by: Any = None,
) -> WastePermit:
    """A permit or agreement in its own words; an earlier one stays readable.  Refused: chemistry.permit_ends_before."""
    if valid_until is not None and valid_until < valid_from:
        refuse("chemistry.permit_ends_before")
    row = WastePermit.objects.create(
        number=number.strip(),
        issued_by=issued_by.strip(),
        conditions=conditions.strip(),
        valid_from=valid_from,
        valid_until=valid_until,
        entered_at=now,
        entered_by=by,
    )
    record(code="chemistry.permit_kept", happened_at=now, now=now, by=by, about=row, facts={"permit": row.pk})
    review_waste(now=now)
    return row


@act
def keep_waste_container(
    *,
    code: str,
    name: str,
    stream: WasteStream,
    capacity_pl: int,
    place: str,
    in_use: bool = True,
    now: datetime,
    by: Any = None,
) -> Container:
    """A new container, or a changed one.  Refused: chemistry.bottle_code_taken, stream_stays."""
    row = locked(Container.objects.filter(code=code)).first()
    if row is not None and row.sort != Container.Sort.WASTE:
        refuse("chemistry.bottle_code_taken", mark=code)
    if row is not None and row.stream_id != stream.pk and row.entries.exists():
        refuse("chemistry.stream_stays", container=row.name)
    values = {
        "name": name.strip(),
        "sort": Container.Sort.WASTE,
        "stream": stream,
        "capacity_pl": capacity_pl,
        "place": place.strip(),
        "in_use": in_use,
    }
    kept, _made = Container.objects.update_or_create(code=code, defaults=values)
    record(code="chemistry.container_kept", happened_at=now, now=now, by=by, about=kept, facts={"code": code})
    return kept


def _locked(container: Container) -> Container:
    row: Container = locked(Container.objects.filter(pk=container.pk).select_related(None)).get()
    return row


def _wrote(container: Container, event: str, at: datetime, now: datetime, by: Any, **more: Any) -> ContainerEntry:
    entry = ContainerEntry.objects.create(
        container=container, event=event, at=at, recorded_at=now, recorded_by=by, **more
    )
    facts = {"container": container.pk, "event": event, "pl": more.get("amount_pl")}
    record(code="chemistry.container_entry", happened_at=at, now=now, by=by, about=entry, facts=facts)
    review_waste(now=now)
    return entry


@act
def connect_container(*, container: Container, at: datetime, now: datetime, by: Any = None) -> ContainerEntry:
    """From ``at`` on it takes what its stream's baths give off; the one that did until then stops.

    Refused: chemistry.in_the_future, container_not_in_use.
    """
    row = _locked(container)
    if at > now:
        refuse("chemistry.in_the_future", at=at)
    if not row.in_use:
        refuse("chemistry.container_not_in_use", container=row.name)
    return _wrote(row, Event.CONNECTED, at, now, by)


@act
def pour_into_container(
    *,
    container: Container,
    what: WasteStream,
    amount_pl: int,
    at: datetime,
    now: datetime,
    silver_pg: int | None = None,
    note: str = "",
    by: Any = None,
) -> ContainerEntry:
    """Poured in by a person.  Refused: chemistry.in_the_future, other_waste, amount_needed, waste_over_its_edge."""
    row = _locked(container)
    [stands] = reads.stood(now, of=[row])
    refusal = waste.may_pour(
        stream=row.stream.name if row.stream else "",
        what=what.name,
        level_pl=stands.content.level_pl,
        pl=amount_pl,
        capacity_pl=row.capacity_pl,
        at=at,
        now=now,
    )
    if refusal:
        raise Refused(refusal)
    return _wrote(row, Event.POURED_IN, at, now, by, amount_pl=amount_pl, silver_pg=silver_pg, note=note.strip())


@act
def measure_container(
    *, container: Container, level_pl: int, at: datetime, now: datetime, note: str = "", by: Any = None
) -> ContainerEntry:
    """Its level was read: the reckoned one gives way.  Refused: chemistry.in_the_future, bottle_level_absurd."""
    row = _locked(container)
    refusal = waste.may_measure(pl=level_pl, capacity_pl=row.capacity_pl, at=at, now=now)
    if refusal:
        raise Refused(refusal)
    return _wrote(row, Event.MEASURED, at, now, by, amount_pl=level_pl, note=note.strip())


@act
def pick_up(
    *,
    containers: Iterable[Container],
    contractor: str,
    receipt: str,
    keep_until: date,
    at: datetime,
    now: datetime,
    silver_mg: int | None = None,
    note: str = "",
    by: Any = None,
) -> PickUp:
    """A contractor took these containers' content away, all of it.

    Refused: chemistry.in_the_future, nothing_collected, receipt_there, kept_too_short.
    """
    rows = [_locked(one) for one in sorted(containers, key=lambda one: one.pk)]
    day = studio_day(at, stations.zone())
    if at > now:
        refuse("chemistry.in_the_future", at=at)
    if not rows:
        refuse("chemistry.nothing_collected")
    if keep_until <= day:
        refuse("chemistry.kept_too_short")
    if PickUp.objects.filter(contractor=contractor.strip(), receipt=receipt.strip()).exists():
        refuse("chemistry.receipt_there", receipt=receipt.strip())
    taken = PickUp.objects.create(
        at=at,
        recorded_at=now,
        contractor=contractor.strip(),
        receipt=receipt.strip(),
        keep_until=keep_until,
        silver_mg=silver_mg,
        note=note.strip(),
        recorded_by=by,
    )
    for row in rows:
        _wrote(row, Event.COLLECTED, at, now, by, pick_up=taken)
    facts = {"pick_up": taken.pk, "containers": [row.pk for row in rows]}
    record(code="chemistry.waste_collected", happened_at=at, now=now, by=by, about=taken, facts=facts)
    return taken


@act
def take_back_container_entry(*, entry: ContainerEntry, now: datetime, by: Any = None) -> ContainerEntry:
    """An entry of today that was wrong: a row of its own says that it does not count.

    Refused: chemistry.already_corrected, not_of_today, is_of_a_receipt (a pick-up stays as its receipt says).
    """
    row = _locked(entry.container)
    zone = stations.zone()
    if entry.undoes_id is not None or ContainerEntry.objects.filter(undoes=entry).exists():
        refuse("chemistry.already_corrected")
    if studio_day(entry.recorded_at, zone) != studio_day(now, zone):
        refuse("chemistry.not_of_today")
    if entry.pick_up_id is not None:
        refuse("chemistry.is_of_a_receipt")
    return _wrote(row, entry.event, entry.at, now, by, amount_pl=entry.amount_pl, undoes=entry)


@act
def review_waste(*, now: datetime) -> int:
    """Containers that are nearly full, permits that end: raised and cleared.  Gives how many more stand open."""
    before = Alert.objects.filter(cleared_at=None).count()
    for one in reads.stood(now):
        key = rules.key_of(rules.WASTE_FULL, "container", one.container.pk)
        if one.is_nearly_full and one.container.in_use:
            facts = {"percent": int(100 * one.used)}
            raise_alert(kind=rules.WASTE_FULL, key=key, container=one.container, facts=facts, late=False, now=now)
        else:
            clear_alert(key=key, now=now)
    today = studio_day(now, stations.zone())
    rows = reads.permits()
    last = max((row.valid_until or date.max for row in rows), default=None)
    for row in rows:
        key = rules.key_of(rules.PERMIT_ENDS, "permit", row.pk)
        # A newer one that holds longer takes its place.
        if row.valid_until == last and waste.ends_soon(row.valid_until, today):
            facts = {"number": row.number, "day": str(row.valid_until)}
            raise_alert(kind=rules.PERMIT_ENDS, key=key, facts=facts, late=False, now=now)
        else:
            clear_alert(key=key, now=now)
    return Alert.objects.filter(cleared_at=None).count() - before
