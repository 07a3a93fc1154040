"""A small stock for the tests: a fixer and its recipe, an alkali powder, two bottles and a replenisher's can."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from studiodesk.chemistry import actions
from studiodesk.chemistry.models import Container, Lot, Product, Recipe
from studiodesk.units import PL_PER_L, PL_PER_ML

D, DAY = Decimal, timedelta(days=1)


@dataclass
class Shelf:
    products: dict[str, Product] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    recipes: dict[str, Recipe] = field(default_factory=dict)
    containers: dict[str, Container] = field(default_factory=dict)


def shelf(now: datetime, by: Any = None, feeds_bath: Any = None) -> Shelf:
    """700 mL of fixer in two lots (A expires first), one recipe at 1+4 for a litre, bottles of 1 and 5 L, a can."""
    made, today = Shelf(), now.date()
    made.products["fixer"], _ = actions.keep_product(
        code="fixer", name="Rapid fixer", hazard_words="Irritates the eyes.", pack_amount=D(500), reorder_at=D(100),
        now=now, by=by,
    )  # fmt: skip
    for code, amount, expires in (("A", 200, today + 30 * DAY), ("B", 500, today + 400 * DAY)):
        [made.lots[code]] = came(made, now, code, amount, expires, by=by)
    made.recipes["fixer-rc"], _ = actions.keep_recipe(
        code="fixer-rc",
        name="Fixer for RC",
        makes_pl=PL_PER_L,
        ratio="1+4",
        parts=[
            actions.PartOf(amount=D(600), rounds_to=D(10), instruction="About 20 °C."),
            actions.PartOf(made.products["fixer"], D(200), rounds_to=D(5), caution="Splashes: eye protection."),
            actions.PartOf(make_up=True),
        ],
        lives={"full bottle": 180 * 86400, "part-full bottle": 30 * 86400, "tray": 7 * 86400},
        hazard_words="Irritates the eyes.",
        now=now,
        by=by,
    )
    for code, sort, litres in (("B1", "bottle", 1), ("B5", "bottle", 5), ("CAN", "floating lid", 5)):
        made.containers[code], _ = actions.keep_container(
            code=code, name=f"Container {code}", sort=sort, capacity_pl=litres * PL_PER_L, now=now, by=by,
            feeds_bath=feeds_bath if code == "CAN" else None,
        )  # fmt: skip
    return made


def came(made: Shelf, now: datetime, code: str, amount: object, expires: date | None, by: Any = None) -> list[Lot]:
    lot = actions.Came(made.products["fixer"], code, D(str(amount)), expires)
    return actions.receive(lots=[lot], received_on=now.date(), now=now, by=by, delivery="D-1", place="Shelf")


def mixed(made: Shelf, now: datetime, ml: int, into: str | None = "B1", **more: Any) -> Any:
    """So much of the fixer, now."""
    return actions.mix(
        recipe=made.recipes["fixer-rc"],
        asked_pl=ml * PL_PER_ML,
        container=made.containers[into] if into else None,
        **{"at": now, "now": now} | more,
    )
