"""Water that left while nobody worked, and water that did not."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry import actions
from studiodesk.chemistry.models import Alert, BathEntry
from studiodesk.chemistry.rules.evaporating import is_alarm, learned, times_usual
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, write

DAY = timedelta(days=1)
DEV = ("P-RC", "dev")


def test_three_times_as_much_as_usual_is_an_alarm() -> None:
    assert times_usual(60, 2, 10) == 3 and is_alarm(Fraction(3)) and not is_alarm(Fraction(299, 100))
    assert times_usual(60, 0, 10) == 6  # on the same day: as of one day
    assert times_usual(60, 2, None) is None and times_usual(60, 2, 0) is None and not is_alarm(None)


def test_what_is_usual_is_learned_from_three_toppings_up() -> None:
    assert learned([(1, 40), (2, 100)]) is None
    assert learned([(1, 40), (2, 100), (1, 900)]) == 50  # one mishap is not the custom


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 10**12)), min_size=3, max_size=20))
def test_what_is_learned_lies_among_what_was_seen(toppings: list[tuple[int, int]]) -> None:
    rates = [pl / max(1, days) for days, pl in toppings]
    found = learned(toppings)
    assert found is not None and min(rates) - 1 <= found <= max(rates) + 1


def water(house: Any, at: Any, ml: int) -> Any:
    return write(house, "water", at, bath=DEV, amount_pl=ml * PL_PER_ML)


def test_a_loss_out_of_the_ordinary_is_said_and_an_ordinary_one_ends_it(house: Any, now: Any) -> None:
    figures = {"evaporation_pl_per_day": 20 * PL_PER_ML}
    actions.put_figures_in_force(bath=house.baths[DEV], figures=figures, since=now - 9 * DAY, now=now - 9 * DAY)
    write(house, "refill", now - 8 * DAY, bath=DEV)
    water(house, now - 5 * DAY, 179)  # three days: 60 mL are usual
    assert not Alert.objects.filter(kind="evaporation").exists()
    water(house, now - 4 * DAY, 60)
    [alert] = Alert.objects.filter(kind="evaporation", cleared_at=None)
    assert alert.facts == {"times": 3.0}
    water(house, now - 2 * DAY, 40)
    assert not Alert.objects.filter(kind="evaporation", cleared_at=None).exists()


def test_without_a_setting_the_log_says_what_is_usual(house: Any, now: Any, people: Any) -> None:
    write(house, "refill", now - 20 * DAY, bath=DEV)
    for ago in (19, 18, 17):
        water(house, now - ago * DAY, 30)
    assert not Alert.objects.filter(kind="evaporation").exists()
    said = soup_of(client_of(people["staff"]).get("/baths/P-RC/dev/figures/")).main.get_text(" ")
    assert "By the log it loses about 30 mL of water a day" in said
    water(house, now - 16 * DAY, 120)
    assert Alert.objects.get(kind="evaporation", cleared_at=None).facts == {"times": 4.0}


def test_after_a_days_work_water_is_asked_about_once(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["keyholder"])
    page = "/baths/P-RC/dev/water/"
    sent = {"at": "2026-11-25T14:59", "amount": "150", "key": "w"}
    log(house, now - timedelta(hours=1))
    answer = client.post(page, sent)
    asked = soup_of(answer).main
    assert answer.status_code == 422 and "Water takes the place of water only" in asked.get_text(" ")
    assert not BathEntry.objects.filter(event="water").exists()
    sure = asked.find("input", {"name": "sure"})["value"]
    client.post(page, sent | {"sure": sure})
    assert BathEntry.objects.get(event="water").amount_pl == 150 * PL_PER_ML
    # before anything went through nothing is asked
    yesterday = sent | {"at": "2026-11-24T14:00", "key": "y"}
    assert client.post(page, yesterday).status_code == 302


def test_a_class_of_paper_has_its_rate_in_the_unit_that_was_chosen(house: Any, now: Any, people: Any) -> None:
    from studiodesk.chemistry.models import BathSetting

    actions.keep_paper(code="baryta", name="Baryta", processes=[house.processes["rc"]], now=now)
    client = client_of(people["staff"])
    page = "/baths/P-RC/dev/figures/"
    sent = {"dosing": "machine", "volume": "9", "rate": "15", "rate_unit": "mL/ft²", "rate:baryta": "30", "unit": "12",
            "has_weir": "on", "source": "Sheet", "since": "2026-11-25T15:00", "key": "k", "deed": "keep"}  # fmt: skip
    client.post(page, sent)
    row = BathSetting.objects.filter(bath=house.baths[DEV]).latest("in_force_from")
    assert row.by_paper == {"baryta": {"rate_ul_per_m2": 322_917}} and row.rate_ul_per_m2 == 161_459
    form = soup_of(client.get(page)).main
    assert [form.find(attrs={"name": name})["value"] for name in ("rate", "rate:baryta")] == ["15", "30"]
