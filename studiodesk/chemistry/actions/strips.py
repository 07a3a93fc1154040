"""Control strips written down, and the processor held and released by what they say."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Outage
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import Span, day_span, studio_day

from ..models import ControlStrip, Feed, SheetSize, StripAim, StripCase, StripReading
from ..queries import strips as reads
from ..rules import alerts as kinds
from ..rules import strips as rules
from .alerts import clear_alert, raise_alert
from .sheets import log_sheets

Key = tuple[str, str]
#: The act's own limit: a density is a small number.
MOST = Decimal("99")


@act
def set_strip_aims(
    *,
    processor: Processor,
    aims: Mapping[Key, Mapping[str, Any]],
    since: datetime,
    now: datetime,
    batch: str = "",
    source: str = "",
    by: Any = None,
) -> list[StripAim]:
    """Aims and limits by patch and channel, in force from ``since``; each value has the columns of ``StripAim``.

    Refused: chemistry.figures_in_the_future, aims_needed.
    """
    if since > now:
        refuse("chemistry.figures_in_the_future", at=since)
    if not aims:
        refuse("chemistry.aims_needed")
    rows = []
    for (patch, channel), values in aims.items():
        row, _made = StripAim.objects.update_or_create(
            processor=processor,
            patch=patch,
            channel=channel,
            in_force_from=since,
            defaults={**values, "batch": batch, "source": source, "entered_at": now, "entered_by": by},
        )
        rows.append(row)
    facts = {"processor": processor.pk, "aims": [row.pk for row in rows]}
    record(code="chemistry.strip_aims", happened_at=since, now=now, by=by, about=processor, facts=facts)
    return rows


@act
def record_strip(
    *,
    processor: Processor,
    read_at: datetime,
    now: datetime,
    readings: Mapping[Key, Decimal] | None = None,
    eye: str = "",
    nothing_to_print: bool = False,
    sheet: SheetSize | None = None,
    note: str = "",
    by: Member,
) -> ControlStrip:
    """A strip by numbers, by eye or both: the worse counts.  With ``sheet`` it is logged as having gone through.

    Then what it asks for: a second strip, the processor held with its bookings told, or let go again.
    Refused: chemistry.in_the_future, strip_says_nothing, no_aim, reading_absurd, and those of ``log_sheets``.
    """
    readings = dict(readings or {})
    list(locked(stations.resources([processor.resource_id])))
    if read_at > now:
        refuse("chemistry.in_the_future", at=read_at)
    if not readings and not eye:
        refuse("chemistry.strip_says_nothing")
    if eye and eye not in ControlStrip.Eye.values:
        raise ValueError(f"no such look of a strip: {eye!r}")
    aims = reads.aims(processor, read_at)
    for key, value in readings.items():
        if key not in aims or aims[key].aim is None:
            refuse("chemistry.no_aim", patch=key[0], channel=key[1])
        if abs(value) > MOST:
            refuse("chemistry.reading_absurd", patch=key[0], channel=key[1])
    judged = rules.judged(readings, aims)
    verdict = rules.worst([one.verdict for one in judged])
    if eye:
        verdict = rules.worst([verdict, rules.by_eye(eye, nothing_to_print=nothing_to_print)])
    broken = [one for one in judged if one.verdict == verdict and verdict != rules.INSIDE]
    strip = ControlStrip.objects.create(
        processor=processor,
        read_at=read_at,
        recorded_at=now,
        eye=eye,
        verdict=verdict,
        rule=" ".join([broken[0].patch, broken[0].channel])[:60] if broken else "",
        note=note.strip(),
        recorded_by=by,
    )
    for (patch, channel), value in readings.items():
        StripReading.objects.create(
            processor=processor,
            strip=strip,
            read_at=read_at,
            recorded_at=now,
            patch=patch,
            channel=channel,
            aim=aims[patch, channel].aim,
            reading=value,
        )
    facts = {"processor": processor.pk, "verdict": verdict}
    record(code="chemistry.strip", happened_at=read_at, now=now, by=by, about=strip, facts=facts)
    if sheet is not None:
        log_sheets(
            processor=processor,
            sheet=sheet,
            sheets=1,
            kind=Feed.Kind.CONTROL_STRIP,
            who=Feed.Who.HOUSE,
            fed_at=read_at,
            now=now,
            by=by,
        )
    _answer(processor, now, by)
    return strip


@act
def take_back_strip(*, strip: ControlStrip, now: datetime, by: Member) -> ControlStrip:
    """A strip of today that was wrong: a row of its own says so, and what it led to is looked at again.

    Refused: chemistry.already_corrected, not_of_today.
    """
    list(locked(stations.resources([strip.processor.resource_id])))
    zone = stations.zone()
    if strip.undoes_id is not None or ControlStrip.objects.filter(undoes=strip).exists():
        refuse("chemistry.already_corrected")
    if studio_day(strip.recorded_at, zone) != studio_day(now, zone):
        refuse("chemistry.not_of_today")
    undone = ControlStrip.objects.create(
        processor=strip.processor,
        read_at=strip.read_at,
        recorded_at=now,
        eye=strip.eye,
        verdict=strip.verdict,
        rule=strip.rule,
        recorded_by=by,
        undoes=strip,
    )
    record(code="chemistry.strip_undone", happened_at=now, now=now, by=by, about=undone, facts={"undoes": strip.pk})
    _answer(strip.processor, now, by)
    return undone


def _answer(processor: Processor, now: datetime, by: Member) -> None:
    """Bring the case, the outage and the alerts to what the strips say now, in the order in which they were read."""
    strips = reads.held_strips(processor)
    says = rules.response([one.verdict for one in strips])
    case = reads.open_case(processor)
    first = strips[says.first] if says.first is not None else None
    if case is not None and (first is None or case.first_id != first.pk):
        _end(case, strips[-1] if strips else None, now, by)
        case = None
    if first is not None and case is None:
        case = StripCase.objects.create(processor=processor, first=first, opened_at=now)
    if case is not None and says.is_held and case.held_at is None:
        _hold(case, strips[says.second or 0], now, by)
    elif case is not None and not says.is_held and case.held_at is not None:
        _let_go(case, now, by)  # what confirmed it was taken back
    _alerts(processor, strips, says, now, by)


def _hold(case: StripCase, second: ControlStrip, now: datetime, by: Member) -> None:
    """Out of service by the path of every fault: bookings are told, listed and moved one by one."""
    zone = stations.zone()
    ends = day_span(studio_day(now, zone) + timedelta(days=1), zone).ends
    made = bookings.shut(
        things=[case.processor], span=Span(now, ends), reason=case.first.rule, cause=Outage.Cause.FAULT, now=now, by=by
    )
    case.second, case.outage, case.held_at = second, made.outage, now
    case.save(update_fields=["second", "outage", "held_at"])
    facts = {"processor": case.processor_id, "outage": made.outage.pk, "hit": [one.pk for one in made.hits]}
    record(code="chemistry.processor_held", happened_at=now, now=now, by=by, about=case, facts=facts)


def _let_go(case: StripCase, now: datetime, by: Member) -> None:
    outage = case.outage
    if outage is not None and outage.ends > now:
        bookings.end_early(outage=outage, now=now, by=by)
    case.second = case.outage = case.held_at = None
    case.save(update_fields=["second", "outage", "held_at"])
    facts = {"processor": case.processor_id}
    record(code="chemistry.processor_released", happened_at=now, now=now, by=by, about=case, facts=facts)


def _end(case: StripCase, by_strip: ControlStrip | None, now: datetime, by: Member) -> None:
    outage = case.outage
    if case.held_at is not None:
        if outage is not None and outage.ends > now:
            bookings.end_early(outage=outage, now=now, by=by)
        facts = {"processor": case.processor_id}
        record(code="chemistry.processor_released", happened_at=now, now=now, by=by, about=case, facts=facts)
    case.outage = Outage.objects.filter(pk=outage.pk).first() if outage is not None else None
    case.ended_at, case.ended_by = now, by_strip
    case.save(update_fields=["outage", "ended_at", "ended_by"])


def _alerts(processor: Processor, strips: list[ControlStrip], says: rules.Response, now: datetime, by: Member) -> None:
    read = [one for one in reads.read_strips(processor, rules.IN_A_ROW) if one.readings]
    deviations = [one.deviations for one in read]
    off = {one.strip.pk: {" ".join(key): value for key, value in one.deviations.items()} for one in read if one.strip}
    drifts = [
        key
        for key in (deviations[-1] if deviations else {})
        if rules.went_one_way([one[key] for one in deviations if key in one])
    ]
    last = strips[-1] if strips else None
    truth: dict[str, tuple[bool, ControlStrip | None, dict[str, Any]]] = {
        kinds.STRIP_ACTION: (says.is_past_action and not says.is_held, last, {}),
        kinds.SECOND_STRIP: (says.asks_for_second, strips[says.first] if says.first is not None else None, {}),
        kinds.HELD: (says.is_held, strips[says.second] if says.second is not None else None, {}),
        kinds.DRIFT: (bool(drifts), last, {"patch": " ".join(drifts[0]) if drifts else ""}),
    }
    for kind, (so, strip, facts) in truth.items():
        key = kinds.key_of(kind, "processor", processor.pk)
        if not so:
            clear_alert(key=key, now=now, by=by)
            continue
        known = {**facts, "rule": strip.rule} if strip is not None and strip.rule else facts
        if strip is not None and (far := off.get(strip.pk, {}).get(strip.rule)) is not None:
            known["off"] = str(far)
        since = strip.read_at if strip is not None else now
        raise_alert(kind=kind, key=key, processor=processor, since=since, facts=known, now=now, by=by)


def _runs_out(outage: Outage, zone: ZoneInfo) -> bool:
    """Whether it ends with a day, as it was made, and was not ended before."""
    return outage.ends == day_span(studio_day(outage.ends, zone), zone).starts


@act
def review_strips(*, now: datetime) -> int:
    """A processor stays held until a good strip: an outage that comes to its end is followed by another.

    One that a person ended at the desk is not: they know why, and the alert stays until a strip is good.  Gives how
    many were followed.  In the name of whoever confirmed it, or of one of the staff who is here.
    """
    followed = 0
    zone = stations.zone()
    for case in StripCase.objects.filter(ended_at=None, held_at__isnull=False).select_related("processor", "second"):
        outage = case.outage
        if outage is None or outage.ends > now + timedelta(hours=12) or not _runs_out(outage, zone):
            continue
        by = case.second.recorded_by if case.second is not None else None
        if by is None or not by.may_run_the_house:
            by = Member.objects.filter(is_staff=True, is_active=True).order_by("pk").first()
        if by is None:
            continue
        starts = max(now, outage.ends)
        ends = day_span(studio_day(starts, zone) + timedelta(days=1), zone).ends
        made = bookings.shut(
            things=[case.processor], span=Span(starts, ends), reason=case.first.rule, cause=Outage.Cause.FAULT,
            now=now, by=by,
        )  # fmt: skip
        case.outage = made.outage
        case.save(update_fields=["outage"])
        followed += 1
    return followed
