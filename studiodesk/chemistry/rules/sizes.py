"""Sizes and classes of paper as the studio keeps them.  Pure.

A size has one exact size in mm.  Its names in inches and in centimetres are what the trade calls it: they are written
down and never reckoned from each other (an 8×10 in sheet is sold as 20×25 cm and is 203×254 mm).
"""

from __future__ import annotations

from studiodesk.answers import Refusal

from .feeding import FILM, ROLL, SHEET

SORTS = (SHEET, ROLL, FILM)
MOST_MM = 5_000
MOST_FILM_MM2 = 10_000_000


def may_keep_size(
    sort: str, width_mm: int, length_mm: int | None, film_area_mm2: int | None, *, name: str
) -> Refusal | None:
    """A sheet has two edges, a roll a width, a film the area that it counts.  All in mm and mm²."""
    if not 1 <= width_mm <= MOST_MM:
        return Refusal("chemistry.size_absurd", {"most": MOST_MM})
    if sort == SHEET and not (length_mm and 1 <= length_mm <= MOST_MM):
        return Refusal("chemistry.size_needs_length", {"size": name})
    if sort == ROLL and length_mm:
        return Refusal("chemistry.roll_has_no_length", {"size": name})
    if sort == FILM and not (film_area_mm2 and 1 <= film_area_mm2 <= MOST_FILM_MM2):
        return Refusal("chemistry.film_needs_area", {"size": name})
    if sort != FILM and film_area_mm2:
        return Refusal("chemistry.only_film_has_area", {"size": name})
    return None


def may_change_size(
    *, was: tuple[str, int, int, int | None], now: tuple[str, int, int, int | None], in_book: bool, name: str
) -> Refusal | None:
    """What went through keeps its area: a size of which something is in the book keeps its sort, edges and area."""
    return Refusal("chemistry.size_in_the_book", {"size": name}) if in_book and was != now else None
