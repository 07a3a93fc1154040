"""What chemistry cost: refills and replenisher, each at the price in force then, and one evening's share."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry import actions
from studiodesk.chemistry.queries import cost as reads
from studiodesk.chemistry.rules.cost import (
    BathCost,
    ProcessCost,
    in_whole_coins,
    replenisher_cost,
    rounded,
    share_of_bath,
)
from studiodesk.units import MM2_PER_M2, PL_PER_L, PL_PER_ML
from tests.chemistry.pages import booked, client_of, soup_of
from tests.desk.baths import log, write

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
DEV, FIX, CO = ("P-RC", "dev"), ("P-RC", "fix"), ("P-CO", "dev")
SHEET = 203 * 254


def test_sums_of_a_process_by_hand() -> None:
    # worked by hand: 2 refills of 41.00 and 10 L of replenisher at 4.20 a litre over 25 m² are 124.00, 4.96 a m²
    bath = BathCost("Dev", refills=2, refills_minor=8200, given_pl=10 * PL_PER_L,
                    replenisher_minor=replenisher_cost(10 * PL_PER_L, 420_000))  # fmt: skip
    one = ProcessCost("RC", 25 * MM2_PER_M2, (bath,))
    assert one.minor == 12_400 and one.minor_per_m2 == 496
    # 8×10 in at 161 mL/m² and 4.20 a litre: 8.301 mL, 3.49 cents (rate from memory, sum by hand)
    asked = Fraction(SHEET * 161_000 * 420_000, 1000 * PL_PER_L)
    assert replenisher_cost(SHEET * 161_000, 420_000) == asked and round(float(asked), 3) == 3.487
    assert one.minor_for(SHEET) == Fraction(12_400 * SHEET, 25 * MM2_PER_M2)
    assert ProcessCost("RC", 0, (bath,)).minor_per_m2 is None


@given(st.lists(st.fractions(min_value=0, max_value=10**6), max_size=12))
def test_whole_coins_sum_to_the_rounded_sum(parts: list[Fraction]) -> None:
    coins = in_whole_coins(parts)
    assert sum(coins) == rounded(sum(parts, Fraction(0)))
    assert all(abs(coin - part) < 1 for coin, part in zip(coins, parts, strict=True))


def test_a_share_of_a_refill_goes_by_area_and_capacity() -> None:
    # 16 sheets a litre in 2 L at 24.00: a sheet uses up a thirty-second, 0.75
    share = share_of_bath(
        "Blix", [(SHEET, 0, 16 * SHEET)], volume_pl=2 * PL_PER_L, minor_per_kl=None, refill_minor=2400
    )
    assert (share.refill_minor, share.replenisher_minor, share.shares_refill) == (75, 0, True)
    plain = share_of_bath("Fix", [(SHEET, 500_000, None)], volume_pl=9, minor_per_kl=260_000, refill_minor=3300)
    assert (plain.refill_minor, plain.shares_refill) == (0, False)
    assert plain.minor == Fraction(SHEET * 500_000 * 260_000, 10**15)


def price(house: Any, key: Any, refill: int, litre: int, since: Any) -> None:
    figures = {"refill_cost_minor": refill, "replenisher_minor_per_kl": litre * 1000}
    actions.put_figures_in_force(bath=house.baths[key], figures=figures, since=since, now=since)


def test_each_refill_and_each_litre_at_the_price_of_its_time(house: Any, now: Any) -> None:
    start = now - 10 * DAY
    price(house, FIX, 3000, 200, start)
    write(house, "refill", start + HOUR)
    log(house, start + 2 * HOUR, count=40)
    write(house, "given", start + 3 * HOUR, amount_pl=1000 * PL_PER_ML)
    price(house, FIX, 3300, 300, now - 5 * DAY)
    write(house, "given", now - 4 * DAY, amount_pl=500 * PL_PER_ML)
    write(house, "refill", now - 3 * DAY)
    [rc] = [one for one in reads.process_costs(start, now) if one.name.endswith("RC")]
    assert rc.area_mm2 == 40 * SHEET
    dev, fix = rc.baths
    assert (fix.refills, fix.refills_minor) == (2, 6300)
    assert fix.replenisher_minor == 200 + 150 and fix.given_pl == 1500 * PL_PER_ML and not fix.unpriced
    assert dev.unpriced and dev.given_pl == 40 * SHEET * 240_000 // (12 * PL_PER_ML) * 12 * PL_PER_ML
    [half] = [one for one in reads.process_costs(now - 5 * DAY, now) if one.name.endswith("RC")]
    assert half.baths[1].replenisher_minor == 150 and half.baths[1].refills_minor == 3300
    assert half.area_mm2 == 0 and half.minor_per_m2 is None


def test_an_evening_costs_what_its_sheets_asked(house: Any, now: Any, people: Any) -> None:
    price(house, FIX, 3300, 260, now - DAY)
    price(house, CO, 3200, 0, now - DAY)
    mine = booked(house, people["member"], now)
    for sheets in (3, 2):
        actions.log_sheets(
            processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=sheets, kind="print",
            who="booking", booking=mine, fed_at=now, now=now,
        )  # fmt: skip
    log(house, now, count=30)  # somebody else's
    shares = {one.name: one for one in reads.booking_shares(mine)}
    assert shares["Fix"].due_pl == 5 * SHEET * 500_000
    assert shares["Fix"].minor == replenisher_cost(5 * SHEET * 500_000, 260_000)
    client = client_of(people["staff"])
    said = " ".join(soup_of(client.get(f"/cost/booking/{mine.pk}/")).main.get_text(" ").split())
    assert "5" not in said.split("Bath")[0] or "3 × 8×10 in" in said
    assert "128.9 mL 0.34 EUR" in said and "Nothing is charged by this page" in said
    assert client_of(people["keyholder"]).get(f"/cost/booking/{mine.pk}/").status_code == 403


def test_the_page_of_costs_for_chosen_days(house: Any, now: Any, people: Any) -> None:
    price(house, CO, 3200, 0, now - 20 * DAY)
    write(house, "refill", now - 10 * DAY, bath=CO)
    log(house, now - 9 * DAY, "P-CO", 40)
    client = client_of(people["staff"])
    said = " ".join(soup_of(client.get("/cost/")).main.get_text(" ").split())
    assert "32.00 EUR for 2.06 m² of paper: 15.52 EUR per m²" in said and "8×10 in 0.80 EUR" in said
    said = " ".join(soup_of(client.get("/cost/?from=2026-11-24&until=2026-11-25")).main.get_text(" ").split())
    assert "0.00 EUR ; no paper went through" in said
    wrong = client.get("/cost/?from=2026-11-24&until=2026-11-20")
    assert wrong.status_code == 422 and "The last day comes before the first" in soup_of(wrong).get_text(" ")
