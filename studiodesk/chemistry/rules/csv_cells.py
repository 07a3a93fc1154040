"""Cells of a CSV file that a spreadsheet opens: text that it would run is made text again.  Pure.

A cell that begins with = + - @, a tab, a carriage return or a line feed (or one of the full-width forms of the signs)
is taken for a formula; an apostrophe before it makes it text.  Source: OWASP, "CSV Injection" (community page); lines
and quotes as RFC 4180.  Numbers stay numbers, whatever their sign: they are told by their type, never by their look.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # noqa: RUF001
BOM = "\ufeff"  # without it a spreadsheet reads UTF-8 as something else


def safe(text: str) -> str:
    """``text`` as a spreadsheet shows it and never runs it; a NUL, which no program reads alike, goes."""
    text = text.replace("\0", "")
    return f"'{text}" if text.startswith(RUNS) else text


def cell(value: object, zone: ZoneInfo) -> str | int | float:
    """Numbers as they are, decimals without an exponent, moments as ISO 8601 of the studio's clock with its offset;
    what is kept as JSON is JSON."""
    match value:
        case None:
            return ""
        case bool():
            return int(value)
        case int() | float():
            return value
        case Decimal():
            return f"{value:f}"
        case datetime():
            return value.astimezone(zone).isoformat(timespec="seconds")
        case date():
            return value.isoformat()
        case dict() | list():
            return json.dumps(value, ensure_ascii=False, sort_keys=True) if value else ""
    return safe(str(value))


class _Line:
    """What ``csv.writer`` writes to: it hands each line back."""

    def write(self, text: str) -> str:
        return text


def lines(rows: Iterable[Iterable[object]], zone: ZoneInfo) -> Iterator[str]:
    """Each row as a line of CSV, one by one, so that nothing has to be kept."""
    writer = csv.writer(_Line(), lineterminator="\r\n")
    for number, row in enumerate(rows):
        text: str = writer.writerow([cell(value, zone) for value in row])
        yield BOM + text if number == 0 else text
