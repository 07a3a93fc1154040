"""Figures answered with what they lead to, and put in force from a moment on."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import BathSetting
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log

HOUR = timedelta(hours=1)
DEV = ("P-RC", "dev")
SHEET = 203 * 254


def refused(act: Any, **given: Any) -> str:
    with pytest.raises(Refused) as found:
        act(**given)
    return found.value.refusal.code


def words(response: Any) -> str:
    return " ".join(soup_of(response).main.get_text(" ").split())


def figures(**changed: str) -> dict[str, str]:
    return {
        "dosing": "machine", "volume": "9", "rate": "240", "rate_unit": "mL/m²", "unit": "12", "age_days": "42",
        "has_weir": "on", "source": "Data sheet, edition 3", "since": "2026-11-25T15:00", "key": "k",
    } | changed  # fmt: skip


def test_figures_are_answered_with_what_they_lead_to_and_then_put_in_force(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["staff"])
    page = "/baths/P-RC/dev/figures/"
    log(house, now - HOUR, count=20)
    [before] = queries.standings(now, of=[house.baths[DEV]])
    assert "What the figures in force lead to" in words(client.get(page))
    new = figures(rate="15", rate_unit="mL/ft²", silver="0.95", silver_limit="2.0")
    said = words(client.post(page, new | {"deed": "look"}))
    assert "your limit of 2.00 g/L is passed after about" in said and "Nothing is changed yet" in said
    assert BathSetting.objects.filter(bath=house.baths[DEV]).count() == 1
    answer = client.post(page, new | {"deed": "keep"}, follow=True)
    assert "The new figures are in force" in soup_of(answer).get_text(" ")
    row = BathSetting.objects.filter(bath=house.baths[DEV]).latest("in_force_from")
    assert row.rate_ul_per_m2 == 161_459 and row.source == "Data sheet, edition 3" and row.entered_by == people["staff"]
    # what went through before keeps its rate
    [after] = queries.standings(now, of=[house.baths[DEV]])
    assert after.due_pl == before.due_pl == 20 * SHEET * 240_000
    form = soup_of(client.get(page)).main
    assert form.find(id="id_rate")["value"] == "15"  # as it was entered
    assert form.find(id="id_rate_unit").find("option", selected=True)["value"] == "mL/ft²"


def test_figures_that_contradict_themselves_are_shown_again(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["staff"])
    page = "/baths/P-RC/dev/figures/"
    for change, said in (
        ({"unit": ""}, "A pump has a stroke"),
        ({"rate": ""}, "What is replenished has a rate"),
        ({"rate_unit": "mL/sheet"}, "Choose the size that the figure speaks of"),
        ({"rate_unit": "mL/ft of a width"}, "Write the width that the figure speaks of"),
        ({"volume": "0"}, "at least 0.001"),
        ({"source": ""}, "this is missing"),
    ):
        answer = client.post(page, figures(**change, deed="keep"))
        assert answer.status_code == 422 and said in words(answer), said
    answer = client.post(page, figures(since="2025-01-01T00:00", deed="keep"))
    assert answer.status_code == 302  # later than the first version, which holds from the beginning
    answer = client.post(page, figures(since="2024-01-01T00:00", deed="keep", key="l"))
    assert "Other figures are in force since" in words(answer)


def test_a_file_that_is_loaded_again_keeps_what_it_does_not_speak_of(house: Any, now: Any) -> None:
    from studiodesk.chemistry.actions.figures import carried_over

    dev = house.baths[DEV]
    kept = actions.put_figures_in_force(bath=dev, figures={"has_weir": False, "start_up_pl": 5}, since=now, now=now)
    values = carried_over(kept, {"rate_ul_per_m2": 1})
    assert values["has_weir"] is False and values["start_up_pl"] == 5 and values["rate_ul_per_m2"] == 1
    assert values["unit_pl"] == 12 * PL_PER_ML and values["dosing"] == "machine"


def test_figures_dated_back_count_again_what_went_through_since(house: Any, now: Any) -> None:
    dev = house.baths[DEV]
    log(house, now - 3 * HOUR, count=10)
    log(house, now - HOUR, count=10)
    double = {"rate_ul_per_m2": 480_000}
    actions.put_figures_in_force(bath=dev, figures=double, since=now - 2 * HOUR, now=now)
    [line] = queries.standings(now, of=[dev])
    assert line.due_pl == 10 * SHEET * (240_000 + 480_000)
    assert [line] == queries.standings(now, of=[dev], recount=True)
    assert refused(actions.put_figures_in_force, bath=dev, figures=double, since=now + HOUR, now=now) == (
        "chemistry.figures_in_the_future"
    )


def test_figures_stand_in_the_form_as_people_write_them(house: Any, people: Any) -> None:
    form = soup_of(client_of(people["staff"]).get("/baths/P-RC/dev/figures/")).main
    shown = {name: form.find(id=f"id_{name}").get("value", "") for name in ("volume", "rate", "unit", "age_days")}
    assert shown == {"volume": "9", "rate": "240", "unit": "12", "age_days": "42"}
    labels = [form.find("label", attrs={"for": f"id_{name}"}) for name in ("refill_cost", "replenisher_cost")]
    costs = [label.contents[0].strip() for label in labels]
    assert costs == ["A refill costs, in EUR", "A litre of replenisher costs, in EUR"]
