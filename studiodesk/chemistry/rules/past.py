"""What a file says of the past, already checked: rows that are recorded as they were.  Pure.

``file_key`` tells a row of a file from another, so that the same file read twice writes nothing the second time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal


@dataclass(frozen=True)
class PastFeed:
    """Sheets through: ``sheet_area_mm2`` is what one sheet counts (0 for a cleaning sheet)."""

    fed_at: datetime
    processor_id: int
    sheet_id: int
    sheets: int
    sheet_area_mm2: int
    kind: str
    who: str
    member_id: int | None
    booking_id: int | None
    file_key: str


@dataclass(frozen=True)
class PastEntry:
    """Something done to a bath; ``amount_pl`` and ``silver_ug_per_l`` only where the event has one."""

    at: datetime
    bath_id: int
    event: str
    amount_pl: int | None
    silver_ug_per_l: int | None
    note: str
    file_key: str


@dataclass(frozen=True)
class PastStrip:
    """One patch and channel of a control strip, decimals as they were written."""

    read_at: datetime
    processor_id: int
    patch: str
    channel: str
    aim: Decimal
    reading: Decimal
    file_key: str
