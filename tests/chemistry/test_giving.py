"""How what is due is given by hand: drawn off first, in whole measures, in steps the tank bears."""

from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry.models import BathSetting
from studiodesk.chemistry.rules.giving import giving
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

FIX = "/baths/P-RC/fix/"
AMOUNTS = st.integers(1, 10**13)


@given(st.integers(0, 500), AMOUNTS, st.integers(0, 10**13), st.booleans(), st.none() | AMOUNTS)
def test_the_steps_are_all_that_is_due_and_none_is_more_than_the_tank_bears(units, unit, short, weir, most):
    found = giving(units, unit, short_pl=short, has_weir=weir, most_at_once_pl=most)
    assert sum(found.steps) == units and all(step >= 1 for step in found.steps)
    assert found.steps == tuple(sorted(found.steps, reverse=True))
    if most is not None and most >= unit:
        assert all(step * unit <= most for step in found.steps)
        assert len(found.steps) == -(-units // (most // unit))  # no step more than is needed
    assert found.draw_off_pl == (0 if weir else max(0, found.pl - short))


def test_the_bath_says_what_to_draw_off_and_in_how_many_steps_and_the_form_has_it_filled_in(house, people, now):
    BathSetting.objects.filter(bath=house.baths["P-RC", "fix"]).update(has_weir=False, most_at_once_pl=110 * PL_PER_ML)
    log(house, now, count=10)  # 0.51562 m² × 500 mL/m² = 257.8 mL: five measures of 50 mL
    client = client_of(people["keyholder"])
    said = text_of(client, FIX)
    assert "5 measures of 50 mL" in said
    assert "Draw off 250 mL first. In 3 steps of at most 2, with time to mix in between." in said
    form = soup_of(client.get(f"{FIX}replenishment/")).main.form
    assert (form.find(id="id_amount")["value"], form.find(id="id_drawn")["value"]) == ("250", "250")


def test_with_a_weir_nothing_is_drawn_off_and_nothing_is_asked_about_it(house, people, now):
    log(house, now, count=10)
    client = client_of(people["keyholder"])
    assert "Draw off" not in text_of(client, FIX).split("By hand")[0]
    assert soup_of(client.get(f"{FIX}replenishment/")).main.form.find(id="id_drawn") is None


def test_what_was_lost_makes_room(house, people, now):
    BathSetting.objects.filter(bath=house.baths["P-RC", "fix"]).update(has_weir=False)
    log(house, now, count=10)
    write(house, "lost", now, amount_pl=180 * PL_PER_ML)
    assert "Draw off 70 mL first." in text_of(client_of(people["keyholder"]), FIX)
