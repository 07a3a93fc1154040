"""May these sheets be logged through this processor, and what do they count?  Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.units import Edge, area_mm2

CLEANING = "cleaning"
SHEET, ROLL, FILM = "sheet", "roll", "film"
MOST_SHEETS = 10_000
LONGEST_MM = 100_000
TABLET_LOOKS_BACK = timedelta(hours=24)
TABLET_UNDO = timedelta(minutes=15)


@dataclass(frozen=True)
class Feeder:
    """The mouth of a processor: how wide it takes sheets and how short one may be along the way, in mm.

    ``takes_film``: its process develops film; film never goes through anything else, and no paper through it.
    ``papers``: the codes of the classes of paper that its process names.
    """

    name: str
    width_mm: int
    shortest_mm: int = 0
    takes_film: bool = False
    papers: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Sheet:
    """One size of the studio's list, in mm: a sheet, a roll of a width (``length_mm`` 0) or a film.

    A film counts ``film_area_mm2``, what the studio set for one roll of it.
    """

    name: str
    width_mm: int
    length_mm: int
    sort: str = SHEET
    film_area_mm2: int | None = None

    def piece(self, length_mm: int | None) -> Sheet:
        """A piece of a roll so long; any other size is its own piece."""
        return replace(self, length_mm=length_mm or 0) if self.sort == ROLL else self


def counted_area_mm2(sheet: Sheet, kind: str, length_mm: int | None = None) -> int:
    """What one piece counts: w·l, borders and all; a cleaning sheet is logged and counts nothing."""
    if kind == CLEANING:
        return 0
    if sheet.sort == FILM:
        return sheet.film_area_mm2 or 0
    one = sheet.piece(length_mm)
    return area_mm2(one.width_mm, one.length_mm, 1)


def fits(feeder: Feeder, sheet: Sheet) -> Refusal | None:
    """The narrow edge goes across the feed (as wide as the feed is allowed), so the long edge travels.

    A roll travels along its length, however short the piece is; film and paper never share a processor.
    """
    names = {"sheet": sheet.name, "processor": feeder.name}
    if (sheet.sort == FILM) != feeder.takes_film:
        return Refusal("chemistry.film_in_paper" if sheet.sort == FILM else "chemistry.paper_in_film", names)
    if sheet.sort == FILM:
        return None
    narrow, long = sorted((sheet.width_mm, sheet.length_mm))
    if sheet.sort == ROLL:
        narrow, long = sheet.width_mm, sheet.length_mm
    if narrow > feeder.width_mm:
        return Refusal("chemistry.too_wide", {**names, "edge": Edge(narrow), "feed": Edge(feeder.width_mm)})
    if long < feeder.shortest_mm and not (sheet.sort == ROLL and long == 0):
        return Refusal("chemistry.too_short", {**names, "edge": Edge(long), "feed": Edge(feeder.shortest_mm)})
    return None


def right_paper(feeder: Feeder, paper: str) -> Refusal | None:
    """The class of paper (its code; empty: the process's own) is one that goes through here."""
    if paper and paper not in feeder.papers:
        return Refusal("chemistry.paper_elsewhere", {"processor": feeder.name})
    return None


def right_length(sheet: Sheet, length_mm: int | None) -> Refusal | None:
    """A piece of a roll has a length, up to 100 m; nothing else is asked for one."""
    if sheet.sort != ROLL:
        return Refusal("chemistry.length_only_of_rolls", {"sheet": sheet.name}) if length_mm is not None else None
    if length_mm is None:
        return Refusal("chemistry.length_needed", {"sheet": sheet.name})
    if not 1 <= length_mm <= LONGEST_MM:
        return Refusal("chemistry.length_absurd", {"most": LONGEST_MM // 1000})
    return None


def may_log(
    feeder: Feeder,
    sheet: Sheet,
    sheets: int,
    fed_at: datetime,
    now: datetime,
    *,
    on_tablet: bool,
    paper: str = "",
    length_mm: int | None = None,
) -> Refusal | None:
    """Whole positive sheets that fit, not in the future; a tablet looks back a day, the desk as far as need be."""
    if sheets < 1:
        return Refusal("chemistry.no_sheets")
    if sheets > MOST_SHEETS:
        return Refusal("chemistry.too_many_sheets", {"most": MOST_SHEETS})
    if fed_at > now:
        return Refusal("chemistry.in_the_future", {"at": fed_at})
    if on_tablet and fed_at < now - TABLET_LOOKS_BACK:
        return Refusal("chemistry.too_long_ago", {"at": fed_at})
    return right_length(sheet, length_mm) or fits(feeder, sheet.piece(length_mm)) or right_paper(feeder, paper)


def may_undo(
    *,
    is_their_last: bool,
    already_undone: bool,
    recorded_at: datetime,
    now: datetime,
    on_tablet: bool,
    same_day: bool,
    from_a_file: bool = False,
) -> Refusal | None:
    """A tablet takes back its own last log for 15 minutes; the desk anything logged today, but no row of a file."""
    if already_undone:
        return Refusal("chemistry.already_undone")
    if from_a_file:
        return Refusal("chemistry.from_a_file")
    if on_tablet and (not is_their_last or now - recorded_at > TABLET_UNDO):
        return Refusal("chemistry.too_late_to_undo")
    if not on_tablet and not same_day:
        return Refusal("chemistry.not_of_today")
    return None
