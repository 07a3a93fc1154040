"""What Ostermill mixes from: products, lots, recipes, containers and a few mixes, all of it invented.

No figure here is a maker's: whoever runs a studio takes theirs from the data sheets of what they buy.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Bath, Container, Product, Recipe
from studiodesk.timekeeping import studio_day
from studiodesk.units import PL_PER_L

from .people import Cast

D, DAY = Decimal, timedelta(days=1)
SHEET = "Invented for the demo; the data sheet of what you buy decides."
WEAR = "Nitrile gloves, eye protection, apron."
EYES = "Invented wording: irritates eyes and skin."
SKIN = "Invented wording: may cause an allergic skin reaction. Harmful if swallowed."

#: code, name, unit, in a pack, price of it in cents, hazard words, opened it keeps so many days, order again at
PRODUCTS = (
    ("dev-conc", "Paper developer, concentrate", "mL", 1000, 1850, SKIN, 90, 1500),
    ("fix-conc", "Rapid fixer, concentrate", "mL", 5000, 4100, EYES, 180, 4000),
    ("stop-conc", "Stop bath, citric, concentrate", "mL", 1000, 990, EYES, None, 500),
    ("washaid", "Washing aid, powder", "g", 500, 720, EYES, None, 500),
)
#: product, batch number, packs, came so many days ago, expires in so many days, place
LOTS = (
    ("dev-conc", "D-2231", 1, 28, 40, "Cupboard 1"),
    ("dev-conc", "D-2307", 3, 20, 520, "Cupboard 1"),
    ("fix-conc", "F-118", 1, 26, 300, "Cupboard 2"),
    ("fix-conc", "F-131", 1, 12, 500, "Cupboard 2"),
    ("stop-conc", "S-41", 1, 28, -6, "Cupboard 2"),
    ("stop-conc", "S-44", 2, 12, 700, "Cupboard 2"),
    ("washaid", "W-9", 1, 25, None, "Powder shelf"),
)
#: code, name, sort, litres, place
CONTAINERS = (
    ("bottle-1", "Bottle 1, developer", "bottle", 5, "Mixing bench"),
    ("bottle-2", "Bottle 2, fixer", "bottle", 5, "Mixing bench"),
    ("can-fix", "Can of fixer replenisher", "floating lid", 20, "Under the RC processor"),
    ("bottle-3", "Bottle 3, stop bath", "bottle", 2, "Mixing bench"),
)
#: recipe, into, litres, how many days ago
MIXES = (("fixer-repl", "can-fix", 12, 9), ("developer-1-9", "bottle-1", 5, 2), ("stop-1-19", "bottle-3", 1, 1))


def stock_the_shelves(cast: Cast, *, now: datetime, zone: ZoneInfo, since: datetime) -> None:
    """Kept since ``since``; deliveries and mixes in the weeks before ``now``."""
    products = {code: _product(code, row, since, cast, zone) for code, *row in PRODUCTS}
    for product, code, packs, ago, expires, place in sorted(LOTS, key=lambda lot: -lot[3]):
        at = now - ago * DAY
        _came(products[product], code, packs, at, None if expires is None else now + expires * DAY, place, cast, zone)
    recipes = _recipes(products, since, cast)
    fixer = Bath.objects.filter(processor__code="P-RC", code="fix").first()
    containers: dict[str, Container] = {}
    for code, name, sort, litres, place in CONTAINERS:
        containers[code], _new = chemistry.keep_container(
            code=code,
            name=name,
            sort=sort,
            capacity_pl=litres * PL_PER_L,
            place=place,
            feeds_bath=fixer if code == "can-fix" else None,
            now=since,
            by=cast.staff,
        )
    for recipe, into, litres, ago in MIXES:
        at = now - timedelta(days=ago, minutes=25)
        chemistry.mix(
            recipe=recipes[recipe], asked_pl=litres * PL_PER_L, container=containers[into], at=at, now=at,
            by=cast.keyholder,
        )  # fmt: skip
    chemistry.review_stock(now=now)


def _product(code: str, row: list[object], since: datetime, cast: Cast, zone: ZoneInfo) -> Product:
    name, unit, pack, price, words, days, reorder = row
    product, _new = chemistry.keep_product(
        code=code,
        name=str(name),
        sort="powder" if unit == "g" else "concentrate",
        unit=str(unit),
        pack_amount=D(str(pack)),
        price_minor=int(str(price)),
        hazard_words=str(words),
        sheet_seen_on=studio_day(since, zone),
        opened_life_s=None if days is None else int(str(days)) * 86_400,
        reorder_at=D(str(reorder)),
        now=since,
        by=cast.staff,
    )
    return product


def _came(
    product: Product,
    code: str,
    packs: int,
    at: datetime,
    expires: datetime | None,
    place: str,
    cast: Cast,
    zone: ZoneInfo,
) -> None:
    price = None if product.price_minor is None else packs * product.price_minor
    last_day = None if expires is None else studio_day(expires, zone)
    lot = chemistry.Came(product, code, packs * product.pack_amount, last_day, price)
    day = studio_day(at, zone)
    chemistry.receive(lots=[lot], received_on=day, delivery=f"N-{day:%j}", place=place, now=at, by=cast.staff)


def _recipes(products: dict[str, Product], since: datetime, cast: Cast) -> dict[str, Recipe]:
    part, mark = chemistry.PartOf, chemistry.PartOf(make_up=True)
    water = part(amount=D(700), rounds_to=D(50), instruction="Water of about 20 °C.")
    week, month = 7 * 86_400, 30 * 86_400
    made = (
        ("developer-1-9", "Paper developer", "working solution", "1+9", "dev-conc", 100, 10,
         {"full bottle": 2 * month, "part-full bottle": month, "tray": 86_400}, SKIN),
        ("fixer-1-4", "Fixer", "working solution", "1+4", "fix-conc", 200, 10,
         {"full bottle": 5 * month, "part-full bottle": month, "tray": week}, EYES),
        ("fixer-repl", "Fixer replenisher", "replenisher", "1+4", "fix-conc", 200, 10,
         {"floating lid": 2 * month, "full bottle": 5 * month, "part-full bottle": month}, EYES),
        ("stop-1-19", "Stop bath", "working solution", "1+19", "stop-conc", 50, 5,
         {"full bottle": 2 * month, "part-full bottle": month, "tray": 3 * 86_400}, EYES),
    )  # fmt: skip
    out: dict[str, Recipe] = {}
    for code, name, use, ratio, product, amount, step, lives, words in made:
        acid = "Into the water, slowly: never water into the concentrate."
        parts = [water, part(products[product], D(amount), rounds_to=D(step), caution=acid), mark]
        out[code], _new = chemistry.keep_recipe(
            code=code, name=name, makes_pl=PL_PER_L, parts=parts, use=use, ratio=ratio, lives=lives,
            hazard_words=words, protection=WEAR, source=SHEET, now=since, by=cast.staff,
        )  # fmt: skip
    powder = part(
        products["washaid"], D(20), rounds_to=D(1), instruction="Stir until it is clear.", caution="Raise no dust."
    )
    out["washaid"], _new = chemistry.keep_recipe(
        code="washaid", name="Washing aid", makes_pl=PL_PER_L, parts=[water, powder, mark], lives={"tray": 86_400},
        hazard_words=EYES, protection=WEAR, source=SHEET, now=since, by=cast.staff,
    )  # fmt: skip
    return out
