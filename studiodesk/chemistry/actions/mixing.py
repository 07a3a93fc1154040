"""Mixing: from the lots that expire first, into a container or straight into a tank, and taking a mix of today back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.stations import queries as house
from studiodesk.timekeeping import studio_day

from ..models import Container, ContainerEntry, Lot, Mix, MixPart, Recipe, RecipePart, StockEntry
from ..queries import mixing as reads
from ..queries import stock as stock_reads
from ..rules import mixing as rules
from ..rules import stock as stock_rules
from . import containers, stock

#: Two that mix at the same moment want the same number: whoever comes second takes the next one.
TRIES = 20


@act
def mix(
    *,
    recipe: Recipe,
    asked_pl: int,
    at: datetime,
    now: datetime,
    by: Any = None,
    measured: Mapping[int, Decimal] | None = None,
    made_pl: int | None = None,
    container: Container | None = None,
    expired_too: bool = False,
    note: str = "",
) -> Mix:
    """Something was mixed: ``measured`` is what really went in by the position of the part (left out: as rounded).

    Lots are taken first expired first, and one that has expired only with ``expired_too``; a product without any lot
    is one whose stock nobody keeps.  Without ``container`` it went straight into a tank.  Refused:
    chemistry.in_the_future, recipe_out_of_use, mix_amount, recipe_needs_parts, amount_needed, not_enough_stock,
    only_expired, and as pouring into a container is.
    """
    if at > now:
        refuse("chemistry.in_the_future", at=at)
    row: Recipe = reads.recipes().get(pk=recipe.pk)
    made = asked_pl if made_pl is None else made_pl
    if not row.in_use:
        refuse("chemistry.recipe_out_of_use", recipe=row.name)
    for amount in (asked_pl, made):
        refusal = rules.asking_refusal(amount)
        if refusal:
            raise Refused(refusal)
    found = reads.measures_of(row, asked_pl)
    if not found:
        refuse("chemistry.recipe_needs_parts")
    amounts = _amounts(found, dict(measured or {}), made)
    lots = _lots_for(row, amounts, at, expired_too=expired_too)
    target = containers.lock([container.code]).get(container.code) if container is not None else None
    if container is not None and target is None:
        refuse("chemistry.no_such_container", container=container.name)
    said = {"asked_pl": asked_pl, "made_pl": made, "container": target, "made_by": by, "note": note.strip()}
    made_row = _numbered(recipe=row, made_at=at, recorded_at=now, **said)
    if target is not None:
        containers.may_pour(target, made_row, made, at)
    _write_parts(made_row, row, found, amounts, lots, now, by)
    if target is not None:
        containers.pour_in(target=target, mix=made_row, amount_pl=made, at=at, now=now, by=by)
    facts = {"recipe": row.pk, "number": made_row.number, "pl": made}
    record(code="chemistry.mixed", happened_at=at, now=now, by=by, about=made_row, facts=facts)
    for product in {part.product_id: part.product for part in row.parts.all() if part.product}.values():
        stock.set_stock_alerts(product=product, now=now, by=by)
    return made_row


def _amounts(found: list[rules.Measure], measured: dict[int, Decimal], made_pl: int) -> dict[int, Decimal]:
    """Position → what went in.  What is missing went in as it was rounded; water to the mark is what is left over."""
    out = {one.part.position: measured.get(one.part.position, one.rounded) for one in found}
    for one in found:
        if one.part.make_up:
            out[one.part.position] = rules.made_up(made_pl, found, out)
        elif out[one.part.position] < 0:
            refuse("chemistry.amount_needed")
    return out


Chosen = dict[int, list[tuple[Lot, Decimal]]]


def _lots_for(recipe: Recipe, amounts: dict[int, Decimal], at: datetime, *, expired_too: bool) -> Chosen:
    """Position → (lot, how much of it), for the parts that are bought and whose stock is kept; the lots are locked.

    Two parts of one product take from the same lots one after the other.
    """
    bought = {part.product_id for part in recipe.parts.all() if part.product}
    rows = {lot.pk: lot for lot in stock.lock_lots(Lot.objects.filter(product__in=bought).values_list("pk", flat=True))}
    left = {facts.pk: facts for facts in stock_reads.facts_of(rows.values())}
    today = studio_day(at, house.zone())
    out: Chosen = {}
    for part in recipe.parts.all():
        amount = amounts.get(part.position, Decimal(0))
        if part.product is None or amount <= 0:
            continue
        of_product = [facts for facts in left.values() if rows[facts.pk].product_id == part.product_id]
        name, unit = part.product.name, part.product.unit
        chosen = stock_rules.chosen(name, unit, of_product, amount, today, expired_too=expired_too)
        if isinstance(chosen, Refusal):
            raise Refused(chosen)
        out[part.position] = [(rows[facts.pk], some) for facts, some in chosen]
        for facts, some in chosen:
            left[facts.pk] = stock_rules.less(facts, some)
    return out


def _numbered(**values: Any) -> Mix:
    """The row with the next number."""
    for turn in range(TRIES):
        number = (Mix.objects.aggregate(most=Max("number"))["most"] or 0) + 1
        try:
            with transaction.atomic():
                return Mix.objects.create(number=number, **values)
        except IntegrityError:
            if turn == TRIES - 1 or not Mix.objects.filter(number=number).exists():
                raise
    raise AssertionError("unreachable")


def _write_parts(
    row: Mix,
    recipe: Recipe,
    found: list[rules.Measure],
    amounts: dict[int, Decimal],
    lots: Chosen,
    now: datetime,
    by: Any,
) -> None:
    parts: dict[int, RecipePart] = {part.position: part for part in recipe.parts.all()}
    for one in found:
        position = one.part.position
        product, chosen = parts[position].product, lots.get(position, [])
        given = {"mix": row, "position": position, "product": product}
        if not chosen:
            MixPart.objects.create(asked=one.asked, measured=amounts[position], **given)
            continue
        shares = rules.shared_out(one.asked, [some for _lot, some in chosen])
        for (lot, some), asked in zip(chosen, shares, strict=True):
            MixPart.objects.create(lot=lot, asked=asked, measured=some, **given)
            stock.take(lot=lot, amount=some, at=row.made_at, number=row.number, now=now, by=by)


@act
def take_back_mix(*, mix: Mix, now: datetime, by: Any = None) -> Mix:
    """It was not mixed: what it took is in its lots again, and its container is as it was.

    Refused: chemistry.mix_taken_back, mix_not_of_today, mix_used (poured over, read, or into a bath).
    """
    row: Mix = locked(Mix.objects.filter(pk=mix.pk)).get()
    zone = house.zone()
    entries = list(stock_reads.used_for(row.number).select_related("lot__product"))
    lots = {lot.pk: lot for lot in stock.lock_lots({entry.lot_id for entry in entries})}
    if row.undone_at is not None:
        refuse("chemistry.mix_taken_back")
    if studio_day(row.recorded_at, zone) != studio_day(now, zone):
        refuse("chemistry.mix_not_of_today")
    poured = list(reads.holding_entries().filter(mix=row).select_related("container", "mix"))
    if len(poured) > 1 or reads.went_into(row) or any(one.event != ContainerEntry.Event.FILLED for one in poured):
        refuse("chemistry.mix_used")
    containers.lock([one.container.code for one in poured])
    containers.take_back(poured, now, by)
    for entry in entries:
        stock.put_back(entry=entry, now=now, by=by)
    row.undone_at = now
    row.save(update_fields=["undone_at"])
    for lot in lots.values():
        _close_again(lot, row, zone)
        stock.set_stock_alerts(product=lot.product, now=now, by=by)
    facts = {"number": row.number}
    record(code="chemistry.mix_taken_back", happened_at=now, now=now, by=by, about=row, facts=facts)
    return row


def _close_again(lot: Lot, row: Mix, zone: Any) -> None:
    """A pack that only this mix had opened is not open."""
    used = StockEntry.objects.filter(lot=lot, event=StockEntry.Event.USED, undoes=None, undone_by=None)
    if lot.opened_on == studio_day(row.made_at, zone) and not used.exists():
        lot.opened_on = None
        lot.save(update_fields=["opened_on"])
