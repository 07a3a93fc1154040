"""Loading a studio from its description: by code, so that the same file twice changes nothing."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import translation

from studiodesk.acts import act
from studiodesk.answers import Refusal, Refused
from studiodesk.chemistry.models import SheetSize
from studiodesk.journal.actions import record
from studiodesk.safety import texts
from studiodesk.safety.actions import publish_note
from studiodesk.safety.queries import current_note
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Process, Processor
from studiodesk.stations.queries import kinds, studio, studio_or_none

from .. import queries
from ..rules.plan import Plan, ProcessorPlan, SheetPlan, StationPlan
from ..rules.problems import FileRefused, Findings, Problem
from ..rules.studio_file import read_studio
from .access import load_people
from .baths import load_bath, recount
from .kit import load_kit
from .outcome import LoadOutcome, as_asked
from .teaching import load_outlines, load_rooms


def load_studio(
    *, data: bytes, now: datetime, file: str = "studio.toml", by: Any = None, dry_run: bool = False
) -> LoadOutcome:
    """Make or change the studio as ``data`` (TOML) describes it: all of it or nothing.

    What the database has and the file does not name stays as it is and is named in a warning.  A changed figure of a
    bath is in force from ``now``; what was counted before keeps the figures of its time.  Raises ``FileRefused``.
    """
    return as_asked(lambda: _load(data, now, file, by), dry_run=dry_run)


@act
def _load(data: bytes, now: datetime, file: str, by: Any) -> LoadOutcome:
    plan, findings = read_studio(
        data,
        file,
        known_processes=queries.process_codes(),
        known_plans=set(queries.plans()),
        known_kinds=kinds(),
        known_rooms=queries.room_names(),
        known_sign_offs=queries.sign_offs(),
    )
    _check_sizes(plan, findings)
    findings.stop_if_wrong()
    outcome = LoadOutcome(warnings=findings.warnings)
    _house(plan, outcome)
    processes = {process.code: process for process in Process.objects.all()}
    for number, processor in enumerate(plan.processors, 1):
        _processor(processor, processes, now, outcome, Findings(file), f"processors[{number}]")
    for station in plan.stations:
        _station(station, processes, outcome)
    load_rooms(plan, outcome)
    load_kit(plan.kit, now, outcome, Findings(file))
    for size in plan.sheet_sizes:
        _size(size, outcome)
    load_people(plan, now, outcome, Findings(file))
    load_outlines(plan, processes, now, outcome)
    for kind, code in queries.left_behind(_kept(plan)):
        outcome.warnings.append(Problem(file, Refusal("upkeep.not_in_file", {"what": code}), column=kind))
    if outcome.wrote:
        facts = {"made": outcome.made, "changed": outcome.changed, "figures": sorted(outcome.figures)}
        record(code="upkeep.studio_loaded", happened_at=now, now=now, by=by, facts=facts)
    return outcome


def _house(plan: Plan, outcome: LoadOutcome) -> None:
    before = studio_or_none()
    studio = plan.studio
    _, changed = stations.describe_studio(
        name=studio.name,
        time_zone=studio.time_zone,
        currency=studio.currency,
        currency_digits=studio.currency_digits,
        grid_minutes=studio.grid_minutes,
        heads_at_once=studio.heads_at_once,
        opens_by_shifts=studio.opens_by_shifts,
        language=studio.language,
        clock=studio.clock,
        units=studio.units,
    )
    outcome.count("studio", made=before is None, changed=changed)
    if before is not None and before.time_zone != studio.time_zone:
        recount(queries.baths_with_tanks())  # idle days are local days
    outcome.count("opening", made=False, changed=stations.set_opening(week=plan.week))
    outcome.count("closures", made=False, changed=stations.set_closures(closures=plan.closures))
    there = queries.process_codes()
    for process in plan.processes:
        _, changed = stations.describe_process(
            code=process.code, name=process.name, light=process.light, paper=process.paper, material=process.material
        )
        outcome.count("processes", made=process.code not in there, changed=changed)


def _processor(
    plan: ProcessorPlan,
    processes: dict[str, Process],
    now: datetime,
    outcome: LoadOutcome,
    findings: Findings,
    path: str,
) -> None:
    made = not Processor.objects.filter(code=plan.code).exists()
    try:
        row, changed = stations.describe_processor(
            code=plan.code,
            name=plan.name,
            process=processes[plan.process],
            feed_width_mm=plan.feed_width_mm,
            booths_at_once=plan.booths_at_once,
            shortest_feed_mm=plan.shortest_feed_mm,
            warm_up_minutes=plan.warm_up_minutes,
            dry_to_dry_minutes=plan.dry_to_dry_minutes,
            closing_down_minutes=plan.closing_down_minutes,
            bath_change_minutes=plan.bath_change_minutes,
            needs=plan.needs,
            now=now,
        )
    except Refused as refused:
        findings.wrong(refused.refusal, column=f"{path}.booths_at_once")
        raise FileRefused(findings.file, findings.problems) from refused
    outcome.count("processors", made=made, changed=changed)
    for position, bath in enumerate(plan.baths):
        load_bath(row, bath, position, now, outcome)
    if current_note(row) is None:
        with translation.override(studio().language):  # the note becomes the house's own words: in its language
            publish_note(processor=row, title=texts.title(row), body=texts.body(row), now=now)


def _station(plan: StationPlan, processes: dict[str, Process], outcome: LoadOutcome) -> None:
    there = queries.is_a_station(plan.code)
    edges = plan.largest_print_mm
    _, changed = stations.describe_station(
        code=plan.code,
        name=plan.name,
        kind=plan.kind,
        processes=[processes[code] for code in plan.processes],
        formats=plan.formats,
        light_source=plan.light_source,
        zone_name=plan.zone_name,
        largest_print_mm=list(edges) if isinstance(edges, tuple) else edges,
        set_up_minutes=plan.set_up_minutes,
        clear_up_minutes=plan.clear_up_minutes,
        needs=plan.needs,
        step_free=plan.step_free,
        bench_height_mm=plan.bench_height_mm,
        has_colour_filters=plan.colour_filters,
        heads_at_most=plan.heads_at_most,
    )
    outcome.count("stations", made=not there, changed=changed)


def _check_sizes(plan: Plan, findings: Findings) -> None:
    """A size of which something went through keeps its millimetres: what was counted then stays true."""
    used = queries.sizes_with_sheets()
    here = {size.code: size for size in SheetSize.objects.filter(pk__in=used)}
    for number, size in enumerate(plan.sheet_sizes, 1):
        row = here.get(size.code)
        if row is None:
            continue
        for key in ("width_mm", "length_mm"):
            if getattr(row, key) != getattr(size, key):
                facts = {"name": row.name, "mm": getattr(row, key)}
                findings.wrong(Refusal("upkeep.size_is_in_use", facts), column=f"sheet_sizes[{number}].{key}")


def _size(plan: SheetPlan, outcome: LoadOutcome) -> None:
    values: dict[str, Any] = {"name": plan.name, "width_mm": plan.width_mm, "length_mm": plan.length_mm}
    # Names that the file leaves out may have been given on a page.
    values |= {name: said for name in ("inches", "centimetres") if (said := getattr(plan, name))}
    row = SheetSize.objects.filter(code=plan.code).first()
    if row is None:
        SheetSize.objects.create(code=plan.code, **values)
        outcome.count("sheet sizes", made=True, changed=True)
        return
    differing = [name for name, value in values.items() if getattr(row, name) != value]
    for name in differing:
        setattr(row, name, values[name])
    if differing:
        row.save(update_fields=differing)
    outcome.count("sheet sizes", made=False, changed=bool(differing))


def _kept(plan: Plan) -> dict[str, set[str]]:
    return {
        "processes": {process.code for process in plan.processes},
        "processors": {processor.code for processor in plan.processors},
        "stations": {station.code for station in plan.stations},
        "kit": {item.code for item in plan.kit},
        "sheet_sizes": {size.code for size in plan.sheet_sizes},
        # Most studios write their outlines on a page: only a file that names some is asked for the others.
        "outlines": {one.code for one in plan.outlines} or queries.outline_codes(),
        "baths": {f"{processor.code}/{bath.code}" for processor in plan.processors for bath in processor.baths},
    }
