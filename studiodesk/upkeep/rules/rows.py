"""The rows of the five history files, checked as far as a file alone can be.  Pure.

Codes stay codes here; the act turns them into ids.  ``line`` is the line of the file, for whatever is found later.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, fields
from datetime import date, datetime
from decimal import Decimal


@dataclass(frozen=True)
class MemberRow:
    line: int
    number: str
    name: str
    email: str
    joined_on: date
    plan: str | None = None
    member_from: date | None = None
    member_until: date | None = None
    born_on: date | None = None


@dataclass(frozen=True)
class BookingRow:
    line: int
    reference: str
    member: str
    station: str
    process: str | None
    start: datetime
    end: datetime
    made_at: datetime
    cancelled_at: datetime | None
    arrived_at: datetime | None


@dataclass(frozen=True)
class FeedRow:
    line: int
    fed_at: datetime
    processor: str
    member: str | None
    booking: str | None
    sheet: str
    sheets: int
    kind: str


@dataclass(frozen=True)
class EventRow:
    line: int
    at: datetime
    processor: str
    bath: str
    event: str
    ml: Decimal | None
    note: str


@dataclass(frozen=True)
class StripRow:
    line: int
    read_at: datetime
    processor: str
    patch: str
    channel: str
    aim: Decimal
    reading: Decimal


class FileKeys:
    """A key for each line of a file that has no reference of its own.

    The hash of what the line says, with a running number among lines that say the same: the same file gives the same
    keys in whatever order its lines stand, so a second import finds them all.
    """

    def __init__(self) -> None:
        self._seen: Counter[str] = Counter()

    def key(self, row: FeedRow | EventRow | StripRow) -> str:
        said = "\x1f".join(_canonical(getattr(row, field.name)) for field in fields(row) if field.name != "line")
        digest = hashlib.sha256(said.encode()).hexdigest()
        self._seen[digest] += 1
        return f"{digest}.{self._seen[digest]}"


def _canonical(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return "" if value is None else str(value)
