"""``[[outlines]]`` and ``[[rooms]]`` of a studio's file: what is taught, how many a shared room takes.  Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection
from decimal import Decimal
from functools import partial

from studiodesk.answers import Refusal, refuse

from . import cells
from .keys import Keys, twice
from .people_file import one_of_known
from .plan import OutlineNeedPlan, OutlinePaperPlan, OutlinePlan, RoomPlan
from .problems import Findings, shown

SORTS = ("class", "talk", "open evening", "room kept")
LEVELS = ("no experience", "some experience", "experienced")
MOST_HEADS, MOST_STATIONS, MOST_AT_A_STATION = 500, 200, 20
MOST_DATES, MOST_DAYS, MOST_AGE, MOST_SHEETS = 20, 90, 99, 500
#: An exhibition hangs for half a year at the most.
LONGEST_MINUTES = 183 * 24 * 60
LONGEST_TEXT = 4000
#: The smallest coins that a price may come to.
MOST_MINOR = 10**9 - 1

_heads = partial(cells.whole, least=1, most=MOST_HEADS)
_around = partial(cells.whole, least=0, most=720)
_days = partial(cells.whole, least=0, most=MOST_DAYS)


def _words(value: object) -> str:
    """Free text, of several lines where TOML's three quotation marks are used."""
    if not isinstance(value, str):
        refuse("upkeep.not_text", value=shown(value))
    return cells.note(str(value), LONGEST_TEXT)


def _price(digits: int) -> Callable[[object], int]:
    """A reader of money as the smallest coins; what has no whole number of them is refused."""
    most = Decimal(MOST_MINOR).scaleb(-digits)

    def read(value: object) -> int:
        cells.number(value, 0, most)
        return int(cells.decimal_places(value, 9, digits).scaleb(digits))

    return read


def read_rooms(root: Keys, shared: Collection[str], findings: Findings) -> tuple[RoomPlan, ...]:
    """``shared``: the light zones that stations of the file or of the database name."""
    no_figure: int | None = None

    def room(value: object) -> str:
        name = cells.text(value)
        if name not in shared:
            refuse("upkeep.no_station_in_room", name=shown(name))
        return name

    found = tuple(
        RoomPlan(
            name=keys.needed("name", room, ""),
            heads_at_most=keys.optional("heads_at_most", partial(cells.whole, least=1, most=2000), no_figure),
        )
        for keys in root.tables("rooms")
    )
    twice("rooms", [one.name for one in found], findings, key="name")
    return found


def read_outlines(
    root: Keys,
    kinds: Collection[str],
    processes: Collection[str],
    sign_offs: Collection[tuple[str, str]],
    digits: int,
    findings: Findings,
) -> tuple[OutlinePlan, ...]:
    """``kinds`` of stations, codes of ``processes`` and (kind, process) of ``sign_offs`` that the file or the database
    has.  ``digits``: the decimals of the studio's currency.
    """
    found = tuple(_outline(keys, kinds, processes, sign_offs, digits) for keys in root.tables("outlines"))
    twice("outlines", [one.code for one in found], findings)
    return found


def _outline(
    keys: Keys,
    kinds: Collection[str],
    processes: Collection[str],
    sign_offs: Collection[tuple[str, str]],
    digits: int,
) -> OutlinePlan:
    no_age: int | None = None
    same_price: int | None = None
    by_staff: int | None = None
    wrong_before = len(keys.findings.problems)
    found = OutlinePlan(
        code=keys.needed("code", cells.code, ""),
        name=keys.needed("name", cells.text, ""),
        sort=keys.optional("sort", cells.one_of(SORTS), "class"),
        summary=keys.optional("summary", _words, ""),
        level=keys.optional("level", cells.one_of(LEVELS), "no experience"),
        meetings=keys.optional("meetings", partial(cells.whole, least=1, most=MOST_DATES), 1),
        length_minutes=keys.needed("length_minutes", partial(cells.whole, least=1, most=LONGEST_MINUTES), 1),
        before_minutes=keys.optional("before_minutes", _around, 0),
        after_minutes=keys.optional("after_minutes", _around, 0),
        heads_least=keys.optional("heads_least", _heads, 1),
        heads_most=keys.needed("heads_most", _heads, 1),
        heads_a_station=keys.optional("heads_a_station", partial(cells.whole, least=1, most=MOST_AT_A_STATION), 1),
        minimum_age=keys.optional("minimum_age", partial(cells.whole, least=1, most=MOST_AGE), no_age),
        price_minor=keys.optional("price", _price(digits), 0),
        member_price_minor=keys.optional("member_price", _price(digits), same_price),
        free_cancel_days=keys.optional("free_cancel_days", _days, 7),
        decide_days=keys.optional("decide_days", _days, by_staff),
        materials=keys.optional("materials", _words, ""),
        bring=keys.optional("bring", _words, ""),
        process=keys.optional("process", partial(one_of_known, processes), ""),
        needs=tuple(_need(need, kinds, processes) for need in keys.tables("needs")),
        papers=_papers(keys),
        tutor_needs=_signed_off(keys, "tutor_needs", sign_offs),
        signs_off=_signed_off(keys, "signs_off", sign_offs),
    )
    if found.heads_least > found.heads_most and len(keys.findings.problems) == wrong_before:
        facts = {"least": found.heads_least, "most": found.heads_most}
        keys.wrong("heads_least", Refusal("classes.no_room_in_outline", facts))
    return found


def _need(keys: Keys, kinds: Collection[str], processes: Collection[str]) -> OutlineNeedPlan:
    as_many_as_needed: int | None = None
    of_a_kind = keys.has("kind")
    if not of_a_kind and not keys.has("process"):
        keys.wrong("kind", Refusal("upkeep.needs_kind_or_process"))
    # Without a kind it is places at a processor, and there 0 is all that it has.
    number = partial(cells.whole, least=1 if of_a_kind else 0, most=MOST_STATIONS)
    return OutlineNeedPlan(
        kind=keys.optional("kind", partial(one_of_known, kinds), ""),
        process=keys.optional("process", partial(one_of_known, processes), ""),
        number=keys.optional("number", number, as_many_as_needed),
    )


def _papers(keys: Keys) -> tuple[OutlinePaperPlan, ...]:
    found = tuple(
        OutlinePaperPlan(
            width_mm=paper.needed("width_mm", cells.millimetres, 0),
            length_mm=paper.needed("length_mm", cells.millimetres, 0),
            sheets_a_head=paper.needed("sheets_a_head", partial(cells.whole, least=1, most=MOST_SHEETS), 1),
        )
        for paper in keys.tables("papers")
    )
    first: dict[tuple[int, int], int] = {}
    for number, one in enumerate(found, 1):
        size = (one.width_mm, one.length_mm)
        if all(size) and first.setdefault(size, number) != number:
            facts = {"width": one.width_mm, "length": one.length_mm, "other": f"{keys.at('papers')}[{first[size]}]"}
            keys.wrong(f"papers[{number}]", Refusal("upkeep.size_twice", facts))
    return found


def _signed_off(keys: Keys, key: str, known: Collection[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """What one is signed off for, each named as ``[[sign_offs]]`` names it: a kind or a process."""
    out: list[tuple[str, str]] = []
    for one in keys.tables(key):
        wrong_before = len(keys.findings.problems)
        kind, process = (one.optional(name, cells.text, "") for name in ("kind", "process"))
        if len(keys.findings.problems) > wrong_before:
            continue
        if bool(kind) == bool(process):
            one.wrong("kind", Refusal("safety.kind_or_process"))
        elif (kind, process) not in known:
            one.wrong("kind" if kind else "process", Refusal("upkeep.no_such_sign_off", {"what": kind or process}))
        else:
            out.append((kind, process))
    return tuple(dict.fromkeys(out))
