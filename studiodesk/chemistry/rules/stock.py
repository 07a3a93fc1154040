"""What is left of what was bought, what is taken first, what has to be ordered or must not be used any more.  Pure.

Amounts are decimals in the product's own unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from studiodesk.answers import Refusal

from .mixing import plain

ZERO = Decimal(0)
DAY_S = 86_400
MOST = Decimal("999999999.999")


@dataclass(frozen=True)
class Lot:
    """A lot with what is left of it; ``good_until`` is the last day on which it may be used (``None``: not known)."""

    pk: int
    code: str
    left: Decimal
    received_on: date
    good_until: date | None = None


def less(lot: Lot, amount: Decimal) -> Lot:
    """The same lot after so much was taken from it."""
    return replace(lot, left=lot.left - amount)


def left_of(brought: Decimal, changes: Iterable[Decimal]) -> Decimal:
    """What came and every change since; a count and what was taken back are changes too."""
    return brought + sum(changes, ZERO)


def good_until(expires_on: date | None, opened_on: date | None, opened_life_s: int | None) -> date | None:
    """The earlier of the date on the pack and so long after it was opened (whole days, the opening day is day 0)."""
    opened = opened_on + timedelta(days=opened_life_s // DAY_S) if opened_on and opened_life_s else None
    return min((day for day in (expires_on, opened) if day is not None), default=None)


def is_expired(lot: Lot, today: date) -> bool:
    """On its last day it is still good."""
    return lot.good_until is not None and lot.good_until < today


def first_out(lots: Iterable[Lot]) -> list[Lot]:
    """First expired, first out; what has no date comes last, then what was received earlier."""
    return sorted(lots, key=lambda lot: (lot.good_until is None, lot.good_until or date.max, lot.received_on, lot.pk))


def taken(lots: Iterable[Lot], amount: Decimal) -> list[tuple[Lot, Decimal]] | None:
    """So much from the lots, first expired first out, several if one is not enough; ``None`` if they are too little."""
    out: list[tuple[Lot, Decimal]] = []
    for lot in first_out(lots):
        if amount <= 0:
            break
        some = min(amount, lot.left)
        if some > 0:
            out.append((lot, some))
            amount -= some
    return None if amount > 0 else out


def chosen(
    product: str, unit: str, lots: Sequence[Lot], amount: Decimal, today: date, *, expired_too: bool
) -> list[tuple[Lot, Decimal]] | Refusal:
    """The lots to take from: those that are good, and what has expired only where somebody said so.

    Without any lot its stock is not kept, and there is nothing to take from: an empty list.
    """
    if not lots:
        return []
    good = [lot for lot in lots if not is_expired(lot, today)]
    found = taken(good, amount)
    if found is not None:
        return found
    everything = taken(lots, amount)
    if everything is None:
        left = sum((one.left for one in lots), ZERO)
        facts = {"product": product, "asked": plain(amount), "left": plain(left), "unit": unit}
        return Refusal("chemistry.not_enough_stock", facts)
    if expired_too:
        return everything
    worst = [lot.code for lot, _some in everything if is_expired(lot, today)]
    return Refusal("chemistry.only_expired", {"product": product, "lots": worst})


def to_reorder(lots: Iterable[Lot], reorder_at: Decimal | None, today: date) -> Decimal | None:
    """What is left and good, if that is at the reorder point or under it; else ``None``."""
    if reorder_at is None:
        return None
    left = sum((lot.left for lot in lots if not is_expired(lot, today)), ZERO)
    return left if left <= reorder_at else None


def counting_refusal(counted: Decimal, brought: Decimal, code: str) -> Refusal | None:
    """More than came cannot be there; less than nothing neither."""
    if not 0 <= counted <= brought:
        return Refusal("chemistry.counted_too_much", {"lot": code, "most": plain(brought)})
    return None


def throwing_refusal(amount: Decimal, left: Decimal, reason: str) -> Refusal | None:
    if not 0 < amount <= left:
        return Refusal("chemistry.thrown_too_much", {"left": plain(left)})
    return None if reason.strip() else Refusal("chemistry.reason_needed")


def lot_refusal(amount: Decimal, code: str, received_on: date, expires_on: date | None, today: date) -> Refusal | None:
    """May a delivery be written down like this?"""
    if not 0 < amount <= MOST:
        return Refusal("chemistry.lot_amount", {"lot": code})
    if not code.strip():
        return Refusal("chemistry.lot_needs_code")
    if received_on > today:
        return Refusal("chemistry.received_in_future", {"day": received_on})
    if expires_on is not None and expires_on < received_on - timedelta(days=3660):
        return Refusal("chemistry.expires_long_ago", {"day": expires_on})
    return None
