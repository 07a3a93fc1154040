"""The stock: products, what came of them, what was counted, opened and thrown away; and its alerts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.stations import queries as house
from studiodesk.timekeeping import studio_day

from ..models import Alert, Lot, Product, RecipePart, StockEntry
from ..queries import stock as reads
from ..rules import alerts as alert_rules
from ..rules import stock as rules
from .alerts import clear_alert, raise_alert

KEPT = (
    "name",
    "sort",
    "unit",
    "pack_amount",
    "price_minor",
    "hazard_words",
    "sheet_seen_on",
    "opened_life_s",
    "reorder_at",
    "in_use",
)


@act
def keep_product(
    *,
    code: str,
    name: str,
    now: datetime,
    by: Any = None,
    sort: str = Product.Sort.CONCENTRATE,
    unit: str = Product.Unit.ML,
    pack_amount: Decimal = Decimal(1000),
    price_minor: int | None = None,
    hazard_words: str = "",
    sheet_seen_on: date | None = None,
    opened_life_s: int | None = None,
    reorder_at: Decimal | None = None,
    in_use: bool = True,
) -> tuple[Product, bool]:
    """A product with this code, made or changed; answers the row and whether anything changed.

    Refused: chemistry.product_needs_name, product_pack, product_unit_stays.
    """
    if sort not in Product.Sort.values or unit not in Product.Unit.values:
        raise ValueError(f"no such sort or unit: {sort!r}, {unit!r}")
    if not name.strip():
        refuse("chemistry.product_needs_name")
    if pack_amount <= 0:
        refuse("chemistry.product_pack")
    given = (name.strip(), sort, unit, pack_amount, price_minor, hazard_words.strip(), sheet_seen_on, opened_life_s)
    values = dict(zip(KEPT, (*given, reorder_at, in_use), strict=True))
    row = locked(Product.objects.filter(code=code)).first()
    if row is None:
        row = Product.objects.create(code=code, **values)
    else:
        if all(getattr(row, field) == value for field, value in values.items()):
            return row, False
        if row.unit != unit and (row.lots.exists() or RecipePart.objects.filter(product=row).exists()):
            refuse("chemistry.product_unit_stays", product=row.name)
        for field, value in values.items():
            setattr(row, field, value)
        row.save(update_fields=list(KEPT))
    record(code="chemistry.product_kept", happened_at=now, now=now, by=by, about=row, facts={"product": code})
    set_stock_alerts(product=row, now=now, by=by)
    return row, True


@dataclass(frozen=True)
class Came:
    """One lot of a delivery; ``amount`` in the product's unit, ``price_minor`` of the whole lot."""

    product: Product
    code: str
    amount: Decimal
    expires_on: date | None = None
    price_minor: int | None = None


@act
def receive(
    *,
    lots: Sequence[Came],
    received_on: date,
    now: datetime,
    by: Any = None,
    delivery: str = "",
    place: str = "",
) -> list[Lot]:
    """A delivery: a lot for each line.

    Refused: chemistry.nothing_came, lot_amount, lot_needs_code, received_in_future, expires_long_ago.
    """
    if not lots:
        refuse("chemistry.nothing_came")
    today = studio_day(now, house.zone())
    made = []
    for one in lots:
        refusal = rules.lot_refusal(one.amount, one.code, received_on, one.expires_on, today)
        if refusal:
            raise Refused(refusal)
        row = Lot.objects.create(
            product=one.product,
            code=one.code.strip(),
            amount=one.amount,
            received_on=received_on,
            recorded_at=now,
            expires_on=one.expires_on,
            place=place.strip(),
            price_minor=one.price_minor,
            delivery=delivery.strip(),
            recorded_by=by,
        )
        facts = {"product": one.product.pk, "amount": str(one.amount)}
        record(code="chemistry.lot_received", happened_at=now, now=now, by=by, about=row, facts=facts)
        made.append(row)
    for product in _products(made):
        set_stock_alerts(product=product, now=now, by=by)
    return made


@act
def open_lot(*, lot: Lot, opened_on: date, now: datetime, by: Any = None) -> Lot:
    """A pack was opened: from now on it also ages as opened.

    Refused: chemistry.received_in_future (the day has not come), lot_opened_already.
    """
    row: Lot = locked(Lot.objects.select_related("product").filter(pk=lot.pk)).get()
    if opened_on > studio_day(now, house.zone()):
        refuse("chemistry.received_in_future", day=opened_on)
    if row.opened_on is not None:
        refuse("chemistry.lot_opened_already", lot=row.code, day=row.opened_on)
    row.opened_on = opened_on
    row.save(update_fields=["opened_on"])
    record(code="chemistry.lot_opened", happened_at=now, now=now, by=by, about=row, facts={"day": str(opened_on)})
    set_stock_alerts(product=row.product, now=now, by=by)
    return row


@act
def count_lots(*, counted: Mapping[int, Decimal], now: datetime, by: Any = None, note: str = "") -> list[StockEntry]:
    """A stock-take: lot id → what was found in it.  The difference is kept, also where there is none.

    Refused: chemistry.nothing_counted, counted_too_much.
    """
    lots = lock_lots(counted)
    if not lots:
        refuse("chemistry.nothing_counted")
    left = reads.left_of(lots)
    made = []
    for lot in lots:
        found = counted[lot.pk]
        refusal = rules.counting_refusal(found, lot.amount, lot.code)
        if refusal:
            raise Refused(refusal)
        change = found - left[lot.pk]
        made.append(_written(lot, StockEntry.Event.COUNTED, now, now, change, by, counted=found, note=note))
    for product in _products(lots):
        set_stock_alerts(product=product, now=now, by=by)
    return made


@act
def throw_away(*, lot: Lot, amount: Decimal, reason: str, now: datetime, by: Any = None) -> StockEntry:
    """Something of a lot, or all that is left, is gone.  Refused: chemistry.thrown_too_much, reason_needed."""
    [row] = lock_lots([lot.pk])
    refusal = rules.throwing_refusal(amount, reads.left_of([row])[row.pk], reason)
    if refusal:
        raise Refused(refusal)
    entry = _written(row, StockEntry.Event.THROWN_AWAY, now, now, -amount, by, note=reason)
    set_stock_alerts(product=row.product, now=now, by=by)
    return entry


def lock_lots(pks: Any) -> list[Lot]:
    """The lots of these ids, locked until the act ends, always in the same order."""
    ids = sorted(pks)
    list(locked(Lot.objects.filter(pk__in=ids).order_by("pk")))
    return list(Lot.objects.select_related("product").filter(pk__in=ids).order_by("pk"))


def take(*, lot: Lot, amount: Decimal, at: datetime, number: int, now: datetime, by: Any) -> StockEntry:
    """So much of a locked lot went into the mix of this number; its pack is open from then on."""
    entry = _written(lot, StockEntry.Event.USED, at, now, -amount, by, note=str(number))
    if lot.opened_on is None:
        lot.opened_on = studio_day(at, house.zone())
        lot.save(update_fields=["opened_on"])
    return entry


def put_back(*, entry: StockEntry, now: datetime, by: Any) -> StockEntry:
    """What was written as used was not."""
    return _written(entry.lot, entry.event, now, now, -entry.change, by, note=entry.note, undoes=entry)


def _written(
    lot: Lot, event: str, at: datetime, now: datetime, change: Decimal, by: Any, *, note: str = "", **more: Any
) -> StockEntry:
    entry = StockEntry.objects.create(
        lot=lot, event=event, at=at, recorded_at=now, change=change, note=note.strip(), recorded_by=by, **more
    )
    facts = {"lot": lot.pk, "event": event, "change": str(change)}
    record(code="chemistry.stock_entry", happened_at=at, now=now, by=by, about=entry, facts=facts)
    return entry


def _products(lots: Sequence[Lot]) -> list[Product]:
    return list({lot.product_id: lot.product for lot in lots}.values())


# --- alerts ---------------------------------------------------------------------------------------------------------


@act
def set_stock_alerts(*, product: Product, now: datetime, by: Any = None) -> None:
    """Raise what is true of a product and its lots and has no alert; clear what is not so any more."""
    today = studio_day(now, house.zone())
    [line] = reads.product_lines(today, of=[product])
    left = rules.to_reorder([one.facts for one in line.lots], product.reorder_at, today) if product.in_use else None
    kinds = (alert_rules.REORDER, alert_rules.EXPIRED)
    there = set(Alert.objects.filter(product=product, kind__in=kinds, cleared_at=None).values_list("key", flat=True))
    key = alert_rules.key_of(alert_rules.REORDER, "product", product.pk)
    if left is None and key in there:
        clear_alert(key=key, now=now, by=by)
    elif left is not None and key not in there:
        facts = {"left": f"{left.normalize():f}", "unit": product.unit}
        raise_alert(kind=alert_rules.REORDER, key=key, product=product, facts=facts, now=now, by=by)
    for one in line.lots:
        key = alert_rules.key_of(alert_rules.EXPIRED, "lot", one.lot.pk)
        so = one.is_expired and one.left > 0
        if so and key not in there:
            facts = {"day": str(one.good_until), "lot": one.lot.code}
            raise_alert(
                kind=alert_rules.EXPIRED, key=key, product=product, lot=one.lot, facts=facts, late=False, now=now, by=by
            )
        elif key in there and not so:
            clear_alert(key=key, now=now, by=by)


@act
def review_stock(*, now: datetime) -> int:
    """For the timer: lots expire by themselves.  Answers how many more alerts stand open."""
    before = Alert.objects.filter(cleared_at=None).count()
    for product in Product.objects.order_by("pk"):
        set_stock_alerts(product=product, now=now)
    return Alert.objects.filter(cleared_at=None).count() - before
