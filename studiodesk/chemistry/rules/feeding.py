"""May these sheets be logged through this processor, and what do they count?  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.units import area_mm2

CLEANING = "cleaning"
MOST_SHEETS = 10_000
TABLET_LOOKS_BACK = timedelta(hours=24)
TABLET_UNDO = timedelta(minutes=15)


@dataclass(frozen=True)
class Feeder:
    """The mouth of a processor: how wide it takes sheets and how short one may be along the way, in mm."""

    name: str
    width_mm: int
    shortest_mm: int = 0


@dataclass(frozen=True)
class Sheet:
    """One size of the studio's list, in mm."""

    name: str
    width_mm: int
    length_mm: int


def counted_area_mm2(sheet: Sheet, kind: str) -> int:
    """What one sheet counts: w·l, borders and all; a cleaning sheet is logged and counts nothing."""
    return 0 if kind == CLEANING else area_mm2(sheet.width_mm, sheet.length_mm, 1)


def fits(feeder: Feeder, sheet: Sheet) -> Refusal | None:
    """The narrow edge goes across the feed (as wide as the feed is allowed), so the long edge travels."""
    narrow, long = sorted((sheet.width_mm, sheet.length_mm))
    if narrow > feeder.width_mm:
        return Refusal(
            "chemistry.too_wide",
            {"sheet": sheet.name, "processor": feeder.name, "edge": narrow, "feed": feeder.width_mm},
        )
    if long < feeder.shortest_mm:
        return Refusal(
            "chemistry.too_short",
            {"sheet": sheet.name, "processor": feeder.name, "edge": long, "feed": feeder.shortest_mm},
        )
    return None


def may_log(
    feeder: Feeder, sheet: Sheet, sheets: int, fed_at: datetime, now: datetime, *, on_tablet: bool
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
    return fits(feeder, sheet)


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
