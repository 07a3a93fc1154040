"""May this be written into a bath's book?  Pure."""

from __future__ import annotations

from datetime import datetime

from studiodesk.answers import Refusal

from .settings import BathSettings

REFILL, GIVEN, WATER, WORKING_SOLUTION = "refill", "given", "water", "working solution"
LOST, PARTIAL_DUMP, STRIP, CONDEMNED, NOTE = "lost", "partial dump", "strip", "condemned", "note"
CONTAMINATED, DUMPED, START_UP = "contaminated", "dumped", "start-up"
INTO_BOTTLE, OUT_OF_BOTTLE = "into the bottle", "out of the bottle"
WITH_AMOUNT = frozenset({GIVEN, WATER, WORKING_SOLUTION, LOST, PARTIAL_DUMP, START_UP})
POURED = frozenset({DUMPED, INTO_BOTTLE, OUT_OF_BOTTLE, PARTIAL_DUMP, GIVEN})
NO_MORE_THAN_THE_TANK = frozenset({GIVEN, LOST, PARTIAL_DUMP})
TANKS_AT_MOST = 2  # more than twice the tank in one entry is a slip of the pen
MOST_SILVER_UG_PER_L = 100_000_000


def may_record(
    settings: BathSettings,
    name: str,
    event: str,
    at: datetime,
    now: datetime,
    *,
    amount_pl: int | None,
    silver_ug_per_l: int | None,
    note: str,
    drawn_pl: int | None = None,
) -> Refusal | None:
    """An amount where one belongs and a plausible one, a reason for condemning, nothing ahead of time.

    A partial dump of the whole tank is a bath change, and a strip says something: a figure or a note.  ``drawn_pl``
    was drawn off before replenisher went in: no more than the tank holds.
    """
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if event in WITH_AMOUNT:
        if amount_pl is None or amount_pl <= 0:
            return Refusal("chemistry.amount_needed")
        most = settings.volume_pl * (1 if event in NO_MORE_THAN_THE_TANK else TANKS_AT_MOST)
        if amount_pl > most:
            return Refusal("chemistry.amount_too_great", {"bath": name, "most_ml": most // 1_000_000_000})
        if event == PARTIAL_DUMP and amount_pl == settings.volume_pl:
            return Refusal("chemistry.whole_tank")
    elif amount_pl is not None:
        return Refusal("chemistry.no_amount_here")
    if drawn_pl is not None and (event != GIVEN or not 0 <= drawn_pl <= settings.volume_pl):
        most = settings.volume_pl if event == GIVEN else 0
        return Refusal("chemistry.drawn_too_much", {"bath": name, "most_ml": most // 1_000_000_000})
    if event == GIVEN and not settings.replenished:
        return Refusal("chemistry.not_replenished", {"bath": name})
    if silver_ug_per_l is not None and (event != STRIP or not 0 <= silver_ug_per_l <= MOST_SILVER_UG_PER_L):
        return Refusal("chemistry.silver_out_of_range")
    if event == STRIP and silver_ug_per_l is None and not note.strip():
        return Refusal("chemistry.reading_needed")
    if event in (CONDEMNED, CONTAMINATED, NOTE) and not note.strip():
        return Refusal("chemistry.reason_needed")
    return None


def may_pour(event: str, name: str, *, is_empty: bool, is_bottled: bool) -> Refusal | None:
    """What is not there cannot be poured: an empty tank is not dumped, nor a bottle filled that is full already."""
    if event in POURED and event != OUT_OF_BOTTLE and is_empty:
        return Refusal("chemistry.tank_is_empty", {"bath": name})
    if event == INTO_BOTTLE and is_bottled:
        return Refusal("chemistry.in_its_bottle", {"bath": name})
    if event == OUT_OF_BOTTLE and not is_bottled:
        return Refusal("chemistry.not_in_its_bottle", {"bath": name})
    return None


def ends_an_alert(event: str, silver_ug_per_l: int | None) -> bool:
    """May this end "at its end"?  Only a refill, a partial dump or a measured strip, and only if the bath then is not.

    A condemned bath stays spent whatever is measured or replaced in part: a refill ends it, or taking the entry back.
    """
    return event in (REFILL, PARTIAL_DUMP) or (event == STRIP and silver_ug_per_l is not None)


def may_take_back(
    *, already_corrected: bool, is_a_correction: bool, from_a_file: bool, recorded_today: bool
) -> Refusal | None:
    """What was written by hand today and still holds; neither a correction nor a row of a file."""
    if already_corrected:
        return Refusal("chemistry.already_corrected")
    if is_a_correction:
        return Refusal("chemistry.is_a_correction")
    if from_a_file:
        return Refusal("chemistry.from_a_file")
    if not recorded_today:
        return Refusal("chemistry.not_of_today")
    return None
