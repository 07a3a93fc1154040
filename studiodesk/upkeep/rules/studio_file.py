"""studio.toml → a ``Plan``, or everything that is wrong with it.  Pure."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from typing import Any

from studiodesk.answers import Refusal, refuse
from studiodesk.manner import CLOCKS, LANGUAGES, UNITS

from . import cells
from .baths_file import read_bath
from .hours_file import read_closures, read_week
from .keys import Keys, toml_of, twice
from .kit_file import read_kit
from .outlines_file import read_outlines, read_rooms
from .people_file import read_house_rules, read_plans, read_sign_offs
from .plan import Plan, ProcessorPlan, ProcessPlan, SheetPlan, StationPlan, StudioPlan
from .problems import Findings, shown

LIGHTS = ("safelight", "total darkness", "white")
MATERIALS = ("paper", "film")
OWN_CUBICLE = "own cubicle"
MOST_PLACES = 100
_minutes = partial(cells.whole, least=0, most=24 * 60)


def read_studio(
    data: bytes,
    file: str = "studio.toml",
    *,
    known_processes: Collection[str] = (),
    known_plans: Collection[str] = (),
    known_kinds: Collection[str] = (),
    known_rooms: Collection[str] = (),
    known_sign_offs: Collection[tuple[str, str]] = (),
) -> tuple[Plan, Findings]:
    """The whole file, with its warnings; ``FileRefused`` with every problem in it.

    ``known_…``: what the database has already and the file may name; sign-offs as (kind, process), one of them "".
    """
    findings = Findings(file)
    root = Keys(toml_of(data, findings) or {}, "", findings)
    findings.stop_if_wrong()
    if not root.has("studio"):
        findings.wrong(Refusal("upkeep.no_studio_table"))
    studio = _studio(root)
    opening = root.table_of("opening")
    week = read_week(opening)
    opening.close()
    if not any(week.values()) and not findings.problems:
        findings.warn(Refusal("upkeep.never_open"), column="opening")
    closures = read_closures(root)
    processes = tuple(_process(keys) for keys in root.tables("processes"))
    codes = {process.code for process in processes} | set(known_processes)
    processors = tuple(_processor(keys, codes, studio.currency_digits) for keys in root.tables("processors"))
    stations = tuple(_station(keys, codes) for keys in root.tables("stations"))
    sizes = tuple(_sheet(keys) for keys in root.tables("sheet_sizes"))
    plans = read_plans(root, findings)
    house_rules = read_house_rules(root, {plan.code for plan in plans} | set(known_plans))
    kinds = {station.kind for station in stations} | set(known_kinds)
    sign_offs = read_sign_offs(root, kinds, codes)
    kit = read_kit(root, kinds, codes, findings)
    rooms = read_rooms(root, {one.zone_name for one in stations if one.zone_name} | set(known_rooms), findings)
    signed_off = {(one.kind, one.process) for one in sign_offs} | set(known_sign_offs)
    outlines = read_outlines(root, kinds, codes, signed_off, studio.currency_digits, findings)
    root.close()
    for name, given in (
        ("processes", [process.code for process in processes]),
        ("processors", [processor.code for processor in processors]),
        ("stations", [station.code for station in stations]),
        ("sheet_sizes", [size.code for size in sizes]),
    ):
        twice(name, given, findings)
    findings.stop_if_wrong()
    plan = Plan(
        studio=studio,
        week=week,
        closures=closures,
        processes=processes,
        processors=processors,
        stations=stations,
        sheet_sizes=sizes,
        membership_plans=plans,
        house_rules=house_rules,
        sign_offs=sign_offs,
        kit=kit,
        rooms=rooms,
        outlines=outlines,
    )
    return plan, findings


def _studio(root: Keys) -> StudioPlan:
    keys = root.table_of("studio")
    name = keys.needed("name", cells.text, "")
    zone = keys.needed("time_zone", cells.zone_name, "UTC")
    currency = keys.needed("currency", cells.currency, "EUR")
    grid = keys.optional("grid_minutes", cells.grid, 15)
    none: int | None = None
    heads = keys.optional("heads_at_once", partial(cells.whole, least=1, most=100_000), none)
    by_shifts = keys.optional("opens_by_shifts", cells.yes_or_no, False)
    language, clock, units = (
        keys.optional(name, cells.one_of(words), None)
        for name, words in (("language", LANGUAGES), ("clock", CLOCKS), ("units", UNITS))
    )
    keys.close()
    digits = cells.currency_digits(currency)
    return StudioPlan(name, zone, currency, digits, grid, heads, by_shifts, language, clock, units)


def _process(keys: Keys) -> ProcessPlan:
    return ProcessPlan(
        code=keys.needed("code", cells.code, ""),
        name=keys.needed("name", cells.text, ""),
        light=keys.needed("light", cells.one_of(LIGHTS), "safelight"),
        paper=keys.optional("paper", partial(cells.text_or_empty, longest=60), ""),
        material=keys.optional("material", cells.one_of(MATERIALS), "paper"),
    )


def _known(codes: Collection[str]) -> Any:
    """A reader of a process code that the file (or the database) names."""

    def read(value: object) -> str:
        code = cells.code(value)
        if code not in codes:
            refuse("upkeep.unknown_process", process=shown(code))
        return code

    return read


def _processor(keys: Keys, processes: Collection[str], digits: int) -> ProcessorPlan:
    code = keys.needed("code", cells.code, "")
    baths = tuple(read_bath(bath, digits) for bath in keys.tables("baths"))
    twice(keys.at("baths"), [bath.code for bath in baths], keys.findings)
    return ProcessorPlan(
        code=code,
        name=keys.needed("name", cells.text, ""),
        process=keys.needed("process", _known(processes), ""),
        feed_width_mm=keys.needed("feed_width_mm", cells.millimetres, 1),
        booths_at_once=keys.needed("booths_at_once", partial(cells.whole, least=1, most=MOST_PLACES), 1),
        baths=baths,
        shortest_feed_mm=keys.optional("shortest_feed_mm", partial(cells.whole, least=0, most=cells.LONGEST_MM), 0),
        warm_up_minutes=keys.optional("warm_up_minutes", _minutes, 0),
        dry_to_dry_minutes=keys.optional("dry_to_dry_minutes", _minutes, 0),
        closing_down_minutes=keys.optional("closing_down_minutes", _minutes, 0),
        bath_change_minutes=keys.optional("bath_change_minutes", _minutes, 120),
        needs=keys.listed("needs", cells.text),
    )


def _zone(value: object) -> str:
    name = cells.text_or_empty(value)
    return "" if name.casefold() == OWN_CUBICLE else name


def _largest_print(value: object) -> int | tuple[int, int]:
    """One length in mm (the longer edge), or both edges."""
    if isinstance(value, list):
        if len(value) != 2:
            refuse("upkeep.not_two_edges", value=shown(value))
        return cells.millimetres(value[0]), cells.millimetres(value[1])
    return cells.millimetres(value)


def _station(keys: Keys, processes: Collection[str]) -> StationPlan:
    none: int | tuple[int, int] | None = None
    height: int | None = None
    heads: int | None = None
    return StationPlan(
        code=keys.needed("code", cells.code, ""),
        name=keys.needed("name", cells.text, ""),
        kind=keys.needed("kind", partial(cells.text, longest=60), ""),
        processes=tuple(dict.fromkeys(keys.listed("processes", _known(processes)))),
        formats=keys.listed("formats", cells.text),
        light_source=keys.optional("light_source", partial(cells.text_or_empty, longest=60), ""),
        zone_name=keys.optional("light_zone", _zone, ""),
        largest_print_mm=keys.optional("largest_print_mm", _largest_print, none),
        set_up_minutes=keys.optional("set_up_minutes", _minutes, 0),
        clear_up_minutes=keys.optional("clear_up_minutes", _minutes, 0),
        needs=keys.listed("needs", cells.text),
        step_free=keys.optional("step_free", cells.yes_or_no, False),
        bench_height_mm=keys.optional("bench_height_mm", cells.millimetres, height),
        colour_filters=keys.optional("colour_filters", cells.yes_or_no, False),
        heads_at_most=keys.optional("heads_at_most", partial(cells.whole, least=1, most=2000), heads),
    )


def _sheet(keys: Keys) -> SheetPlan:
    return SheetPlan(
        code=keys.needed("code", cells.code, ""),
        name=keys.needed("name", partial(cells.text, longest=60), ""),
        width_mm=keys.needed("width_mm", cells.millimetres, 1),
        length_mm=keys.needed("length_mm", cells.millimetres, 1),
        inches=keys.optional("inches", partial(cells.text_or_empty, longest=30), ""),
        centimetres=keys.optional("centimetres", partial(cells.text_or_empty, longest=30), ""),
    )
