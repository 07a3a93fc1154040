"""Recipes that are kept, and the stock: counted, ordered, expired, thrown away."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert, MixPart, Recipe
from studiodesk.chemistry.queries import mixing as reads
from studiodesk.chemistry.queries import stock as stock_reads
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests import makers
from tests.chemistry.shelf import Shelf, came, mixed, shelf

D, DAY, HOUR = Decimal, timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


@pytest.fixture
def shelves(house: Any, now: datetime) -> Shelf:
    return shelf(now, feeds_bath=house.baths["P-RC", "fix"])


def code_of(act: Any, **asked: Any) -> str:
    with pytest.raises(Refused) as caught:
        act(**asked)
    return caught.value.refusal.code


def left(shelves: Shelf) -> dict[str, Decimal]:
    found = stock_reads.left_of(shelves.lots.values())
    return {code: found[lot.pk] for code, lot in shelves.lots.items()}


def level(shelves: Shelf, code: str, now: datetime) -> int:
    return reads.content_of(shelves.containers[code], now).level_pl // PL_PER_ML


# ---- recipes --------------------------------------------------------------------------------------------------------


def test_a_recipe_is_kept_once_and_its_mixes_keep_what_they_were_made_of(shelves: Shelf, now: datetime) -> None:
    fixer = shelves.products["fixer"]
    asked: dict[str, Any] = {"code": "x", "name": "X", "makes_pl": PL_PER_L, "ratio": "1+9", "now": now}
    parts = [actions.PartOf(fixer), actions.PartOf(make_up=True)]
    row, changed = actions.keep_recipe(parts=parts, **asked)
    assert changed and [part.amount for part in row.parts.all()] == [D(100), None]  # reckoned from the ratio
    assert not actions.keep_recipe(parts=parts, **asked)[1]
    mix = actions.mix(recipe=row, asked_pl=PL_PER_L, at=now, now=now)
    actions.keep_recipe(parts=[actions.PartOf(fixer, D(50))], **asked | {"ratio": ""})
    assert [part.measured for part in MixPart.objects.filter(mix=mix)] == [D(100), D(900)]
    assert Recipe.objects.get(code="x").parts.count() == 1


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"name": " "}, "recipe_needs_name"),
        ({"makes_pl": 0}, "mix_amount"),
        ({"parts": []}, "recipe_needs_parts"),
        ({"parts": [actions.PartOf(amount=D(0))]}, "part_needs_amount"),
        ({"parts": [actions.PartOf(amount=D(1)), *[actions.PartOf(make_up=True)] * 2]}, "one_mark_only"),
        ({"ratio": "1:9"}, "ratio_ambiguous"),
        ({"lives": {"tray": 0}}, "life_too_short"),
        ({"lives": {"cellar": 9}}, "life_too_short"),
    ],
)
def test_a_recipe_that_contradicts_itself_is_refused(
    house: Any, now: datetime, changed: dict[str, Any], code: str
) -> None:
    asked = {"code": "x", "name": "X", "makes_pl": PL_PER_L, "parts": [actions.PartOf(amount=D(9))], "now": now}
    assert code_of(actions.keep_recipe, **asked | changed) == f"chemistry.{code}" and not Recipe.objects.exists()


# ---- stock ----------------------------------------------------------------------------------------------------------


def test_a_count_and_what_is_thrown_away_are_lines_of_their_own(shelves: Shelf, kim: Any, now: datetime) -> None:
    a, b = shelves.lots["A"], shelves.lots["B"]
    made = actions.count_lots(counted={a.pk: D(180), b.pk: D(500)}, now=now, by=kim)
    assert [(one.change, one.counted) for one in made] == [(D(-20), D(180)), (D(0), D(500))]
    actions.throw_away(lot=b, amount=D(100), reason="leaked", now=now, by=kim)
    assert left(shelves) == {"A": D(180), "B": D(400)}
    actions.count_lots(counted={b.pk: D(450)}, now=now)
    assert left(shelves)["B"] == 450
    assert code_of(actions.count_lots, counted={b.pk: D(501)}, now=now) == "chemistry.counted_too_much"
    assert code_of(actions.count_lots, counted={}, now=now) == "chemistry.nothing_counted"
    assert code_of(actions.throw_away, lot=b, amount=D(451), reason="x", now=now) == "chemistry.thrown_too_much"
    assert code_of(actions.throw_away, lot=b, amount=D(1), reason=" ", now=now) == "chemistry.reason_needed"


def test_what_runs_out_is_to_be_ordered_until_it_came(shelves: Shelf, now: datetime) -> None:
    open_now = Alert.objects.filter(kind="reorder", cleared_at=None)
    assert not open_now.exists()
    mixed(shelves, now, 3000, "B5")  # 600 mL: 100 are left, the reorder point
    alert = open_now.get()
    assert (alert.product.code, alert.facts) == ("fixer", {"left": "100", "unit": "mL"})
    assert actions.review_stock(now=now + DAY) == 0
    came(shelves, now + DAY, "C", 500, None)
    assert not open_now.exists()


def test_a_lot_expires_by_itself_or_so_long_after_it_was_opened(shelves: Shelf, now: datetime) -> None:
    open_now = Alert.objects.filter(kind="expired", cleared_at=None)
    assert actions.review_stock(now=now + 30 * DAY) == 0
    assert actions.review_stock(now=now + 31 * DAY) == 1
    alert = open_now.get()
    assert alert.lot.code == "A" and queries.alert_line(alert.pk, now).what == "Rapid fixer, A: expired"
    actions.throw_away(lot=alert.lot, amount=D(200), reason="expired", now=now + 31 * DAY)
    assert not open_now.exists()
    actions.keep_product(code="fixer", name="Rapid fixer", pack_amount=D(500), opened_life_s=10 * 86400, now=now)
    actions.open_lot(lot=shelves.lots["B"], opened_on=now.date(), now=now)
    assert actions.review_stock(now=now + 11 * DAY) == 1 and open_now.get().lot.code == "B"
    assert code_of(actions.open_lot, lot=shelves.lots["B"], opened_on=now.date(), now=now) == (
        "chemistry.lot_opened_already"
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"amount": D(0)}, "lot_amount"),
        ({"code": " "}, "lot_needs_code"),
        ({"received": DAY}, "received_in_future"),
        ({"expires": -4000 * DAY}, "expires_long_ago"),
    ],
)
def test_a_delivery_that_cannot_be_is_refused(
    shelves: Shelf, now: datetime, changed: dict[str, Any], code: str
) -> None:
    today = now.date()
    lot = actions.Came(
        shelves.products["fixer"],
        changed.get("code", "Z"),
        changed.get("amount", D(1)),
        today + changed["expires"] if "expires" in changed else None,
    )
    asked = {"lots": [lot], "received_on": today + changed.get("received", 0 * DAY), "now": now}
    assert code_of(actions.receive, **asked) == f"chemistry.{code}"
    assert code_of(actions.receive, lots=[], received_on=today, now=now) == "chemistry.nothing_came"


def test_the_unit_of_a_product_stays_once_it_has_lots(shelves: Shelf, now: datetime) -> None:
    asked = {"code": "fixer", "name": "Rapid fixer", "unit": "g", "now": now}
    assert code_of(actions.keep_product, **asked) == "chemistry.product_unit_stays"
