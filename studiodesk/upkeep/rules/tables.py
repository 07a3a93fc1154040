"""A CSV file as rows with their line numbers, or everything that is wrong with its shape.  Pure.

UTF-8 with or without a byte order mark, any of the three line endings, a header row, fields as RFC 4180 has them.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from studiodesk.answers import Refusal

from .keys import decoded
from .problems import Findings, shown

T = TypeVar("T")
#: Shows how far a reading got; hands the rows on as they are.
Watched = Callable[[Sequence["Row"], str], Iterable["Row"]]

_LINES = re.compile(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+")


@dataclass(frozen=True)
class Columns:
    """The columns of a format: ``needed`` must stand in the header, ``may_be_empty`` may be left out as well.

    Unless a column stands there that nobody knows: then the missing one is more likely misspelt than meant to be empty.
    ``further`` columns are read where they stand, and nobody misses them.
    """

    needed: tuple[str, ...]
    may_be_empty: tuple[str, ...] = ()
    further: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[str, ...]:
        return (*self.needed, *self.may_be_empty, *self.further)


@dataclass(frozen=True)
class Row:
    """One row: the line on which it begins (the header is line 1) and its trimmed cells by column."""

    line: int
    cells: Mapping[str, str]


class Cells:
    """Takes a row's cells one by one and keeps what is wrong with them."""

    def __init__(self, row: Row, findings: Findings) -> None:
        self.row, self.findings, self.good = row, findings, True

    def wrong(self, column: str, reason: Refusal) -> None:
        self.findings.wrong(reason, self.row.line, column)
        self.good = False

    def needed(self, column: str, parse: Callable[[str], T], instead: T) -> T:
        """The cell's value.  Empty or wrong is a problem; ``instead`` only keeps the reading going."""
        written = self.row.cells.get(column, "")
        if not written:
            self.wrong(column, Refusal("upkeep.needed"))
            return instead
        value = self.findings.read(parse, written, self.row.line, column)
        if value is None:
            self.good = False
            return instead
        return value

    def optional(self, column: str, parse: Callable[[str], T]) -> T | None:
        """The cell's value, or None if it is empty."""
        written = self.row.cells.get(column, "")
        if not written:
            return None
        value = self.findings.read(parse, written, self.row.line, column)
        if value is None:
            self.good = False
        return value


def read_table(data: bytes, columns: Columns, findings: Findings) -> list[Row]:
    """The rows of a file in its own order.  Problems of its shape go to ``findings`` and the reading ends there."""
    text = decoded(data, findings)
    if text is None:
        return []
    records = _records(text, findings)
    header = next(records, None)
    if header is None:
        if not findings.problems:
            findings.wrong(Refusal("upkeep.no_header"), 1)
        return []
    line, names = header
    names = [name.strip().casefold() for name in names]
    if not _header_is_right(line, names, columns, findings):
        return []
    rows = []
    for line, values in records:
        if len(values) != len(names):
            findings.wrong(Refusal("upkeep.cells_and_columns", {"cells": len(values), "columns": len(names)}), line)
        else:
            rows.append(Row(line, {name: value.strip() for name, value in zip(names, values, strict=True)}))
    return rows


def _header_is_right(line: int, names: Sequence[str], columns: Columns, findings: Findings) -> bool:
    missing = [name for name in columns.needed if name not in names]
    if missing and len(names) == 1 and any(sign in names[0] for sign in ";\t"):
        findings.wrong(Refusal("upkeep.not_commas"), line)
        return False
    unknown = [name for name in names if name and name not in columns.all]
    for name in columns.may_be_empty:
        if name not in names and unknown:
            findings.wrong(Refusal("upkeep.perhaps_misspelt", {"other": shown(unknown[0])}), line, name)
        elif name not in names:
            findings.warn(Refusal("upkeep.column_left_out"), line, name)
    for name in missing:
        findings.wrong(Refusal("upkeep.missing_column"), line, name)
    for number, name in enumerate(names, 1):
        if name and name in names[: number - 1]:
            findings.wrong(Refusal("upkeep.column_twice"), line, shown(name))
        elif name not in columns.all:
            findings.warn(Refusal("upkeep.unknown_column"), line, shown(name) or str(number))
    return not findings.problems


def _records(text: str, findings: Findings) -> Iterator[tuple[int, list[str]]]:
    """(line on which the record begins, its fields); records without any sign in them are left out."""
    reader = csv.reader(_LINES.findall(text), strict=True)
    line = 1
    while True:
        try:
            fields = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            findings.wrong(Refusal("upkeep.not_csv", {"detail": str(error)}), line)
            return
        if any(field.strip() for field in fields):
            yield line, fields
        line = reader.line_num + 1


def all_rows(rows: Sequence[Row], name: str) -> Iterable[Row]:
    """Nobody watches."""
    return rows
