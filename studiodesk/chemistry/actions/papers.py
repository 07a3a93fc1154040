"""The sizes and the classes of paper that the studio knows."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused
from studiodesk.journal.actions import record
from studiodesk.stations.models import Process

from ..models import Feed, PaperClass, SheetSize
from ..rules import sizes as rules


@act
def keep_size(
    *,
    code: str,
    name: str,
    sort: str,
    width_mm: int,
    length_mm: int | None = None,
    film_area_mm2: int | None = None,
    inches: str = "",
    centimetres: str = "",
    in_use: bool = True,
    now: datetime,
    by: Any = None,
) -> SheetSize:
    """A new size, or a changed one.

    Refused: chemistry.size_absurd, size_needs_length, roll_has_no_length, film_needs_area, only_film_has_area,
    size_in_the_book.
    """
    if sort not in rules.SORTS:
        raise ValueError(f"no such sort of size: {sort!r}")
    refusal = rules.may_keep_size(sort, width_mm, length_mm, film_area_mm2, name=name)
    row = locked(SheetSize.objects.filter(code=code)).first()
    edges = (sort, width_mm, length_mm or 0, film_area_mm2)
    if refusal is None and row is not None:
        was = (row.sort, row.width_mm, row.length_mm, row.film_area_mm2)
        in_book = Feed.objects.filter(sheet=row).exists()
        refusal = rules.may_change_size(was=was, now=edges, in_book=in_book, name=row.label)
    if refusal:
        raise Refused(refusal)
    values = {
        "name": name.strip(),
        "sort": sort,
        "width_mm": width_mm,
        "length_mm": length_mm or 0,
        "film_area_mm2": film_area_mm2,
        "inches": inches.strip(),
        "centimetres": centimetres.strip(),
        "in_use": in_use,
    }
    kept, _made = SheetSize.objects.update_or_create(code=code, defaults=values)
    record(code="chemistry.size_kept", happened_at=now, now=now, by=by, about=kept, facts={"code": code})
    return kept


@act
def keep_paper(*, code: str, name: str, processes: Iterable[Process], now: datetime, by: Any = None) -> PaperClass:
    """A class of paper and the processes that it may go through."""
    row, _made = PaperClass.objects.update_or_create(code=code, defaults={"name": name.strip()})
    row.processes.set(processes)
    record(code="chemistry.paper_kept", happened_at=now, now=now, by=by, about=row, facts={"code": code})
    return row
