"""The pages of mixing, containers and stock: with nothing but the page, as a keyholder with wet gloves has it."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiodesk.chemistry.models import (
    Alert,
    BathEntry,
    Container,
    ContainerEntry,
    Lot,
    Mix,
    Product,
    Recipe,
    StockEntry,
)
from studiodesk.chemistry.queries import mixing as reads
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.chemistry.shelf import Shelf, mixed, shelf

D, DAY = Decimal, timedelta(days=1)


@pytest.fixture
def shelves(house: Any, now: datetime) -> Shelf:
    return shelf(now, feeds_bath=house.baths["P-RC", "fix"])


@pytest.fixture
def kim(people: dict[str, Any]) -> Any:
    return client_of(people["keyholder"])


@pytest.fixture
def sef(people: dict[str, Any]) -> Any:
    return client_of(people["staff"])


def words(response: Any) -> str:
    return " ".join(soup_of(response).main.get_text(" ").split())


def form_of(response: Any, button: str) -> tuple[str, dict[str, str]]:
    """(where it goes, what stands in it) of the form with this button."""
    main = soup_of(response).main
    [found] = [one for one in main.find_all("button") if " ".join(one.get_text(" ").split()) == button]
    form = found.find_parent("form")
    sent = {}
    for one in form.find_all(["input", "textarea", "select"]):
        if one.get("type") == "checkbox" and not one.has_attr("checked"):
            continue
        if one.name == "select":
            picked = one.find("option", selected=True) or one.find("option")
            sent[one["name"]] = picked.get("value", "")
        else:
            sent[one["name"]] = one.get("value") or (one.get_text() if one.name == "textarea" else "")
    if found.get("name"):
        sent[found["name"]] = found["value"]
    return form.get("action") or "", sent


def press(client: Any, address: str, button: str, **written: str) -> Any:
    """The button of this page, with what stands in its form and what is ``written`` over it."""
    action, sent = form_of(client.get(address), button)
    return client.post(action or address, sent | written)


RECIPE = "/mixing/fixer-rc/"


def test_the_steps_say_both_numbers_the_lots_and_the_caution_of_each(shelves: Shelf, kim: Any) -> None:
    page = soup_of(kim.get(f"{RECIPE}?amount=1.503&unit=L")).main
    steps = [" ".join(one.get_text(" ").split()) for one in page.find("ol").find_all("li")]
    assert steps[0].startswith("Water 900 mL Exactly it would be 901.8 mL. About 20 °C.")
    assert "Rapid fixer 300 mL Exactly it would be 300.6 mL." in steps[1]
    assert "Splashes: eye protection. Irritates the eyes. Lot A: 200 mL, use by Friday 25 December 2026" in steps[1]
    assert "Lot B: 100 mL" in steps[1] and "Splashes" not in steps[0]
    assert steps[2].startswith("Water up to 1,503 mL About 303 mL of water: go by the mark")
    assert "acid goes into water, never water into acid" in page.get_text()


def test_a_mix_is_written_down_once_and_its_label_says_what_by_whom_and_until_when(
    shelves: Shelf, kim: Any, now: datetime
) -> None:
    action, sent = form_of(kim.get(f"{RECIPE}?amount=1&unit=L"), "It is mixed")
    sent |= {"part2": "205", "container": "B1"}
    first, second = kim.post(action, sent), kim.post(action, sent)
    assert first.status_code == 302 and first["Location"] == second["Location"] == "/mixing/mix/1/"
    mix = Mix.objects.get()
    assert [part.measured for part in mix.parts.all()] == [D(600), D(200), D(5), D(195)]
    page = words(kim.get("/mixing/mix/1/"))
    assert "Mix 1 Fixer for RC 1+4 Mixed Wednesday 25 November 2026, 15:00: 1,000 mL, Kim" in page
    assert "1. Water 600 mL 600 mL" in page  # asked and measured
    assert "Use by Monday 24 May 2027" in page and "Irritates the eyes." in page
    assert press(kim, "/mixing/mix/1/", "Take it back: it was not mixed").status_code == 302
    assert "it was not mixed" in words(kim.get("/mixing/mix/1/")) and not reads.where_is(mix, now)


def test_what_is_refused_is_shown_again_as_it_was_written(shelves: Shelf, kim: Any, now: datetime) -> None:
    mixed(shelves, now, 500)
    answer = press(kim, f"{RECIPE}?amount=2&unit=L", "It is mixed", part2="x", note="slow tap")
    assert answer.status_code == 422 and "Rapid fixer measured, in mL: write a number." in words(answer)
    assert form_of(answer, "It is mixed")[1]["note"] == "slow tap"
    answer = press(kim, f"{RECIPE}?amount=300&unit=mL", "It is mixed", container="B1")
    assert "Container B1 still has mix 1 in it." in words(answer) and Mix.objects.count() == 1
    answer = press(kim, f"{RECIPE}?amount=4&unit=L", "It is mixed")
    assert "Rapid fixer: 800 mL are needed and 600 mL are in stock." in words(answer)
    for wrong in ("amount=0&unit=L", "amount=x&unit=L", "amount=1&unit=oz", "amount=2000&unit=L"):
        assert kim.get(f"{RECIPE}?{wrong}").status_code == 422


def test_a_far_amount_and_an_expired_lot_are_asked_about_once(shelves: Shelf, kim: Any) -> None:
    address = f"{RECIPE}?amount=40&unit=mL"
    answer = press(kim, address, "It is mixed")
    assert answer.status_code == 422 and "25 times less than the recipe is given for" in words(answer)
    action, sent = form_of(answer, "It is mixed")
    assert kim.post(action, sent).status_code == 302 and Mix.objects.get().made_pl == 40 * PL_PER_ML
    Lot.objects.update(expires_on="2026-11-01")
    answer = press(kim, f"{RECIPE}?amount=1&unit=L", "It is mixed")
    assert "what is good is not enough. Expired: A, B." in words(answer)
    action, sent = form_of(answer, "It is mixed")
    assert kim.post(action, sent | {"part2": "201"}).status_code == 422  # another amount: asked again
    assert kim.post(action, sent).status_code == 302 and Mix.objects.count() == 2


def test_too_little_concentrate_for_a_roll_is_said(shelves: Shelf, kim: Any) -> None:
    Recipe.objects.update(use="one-shot", least_per_unit_pl=6 * PL_PER_ML)
    page = words(kim.get(f"{RECIPE}?amount=29&unit=mL&units=1"))
    assert "This has 5.8 mL of concentrate, and one roll or sheet asks at least 6 mL" in page
    assert "of concentrate, and" not in words(kim.get(f"{RECIPE}?amount=30&unit=mL&units=1"))
    assert "each of 2 rolls or sheets asks at least 6 mL" in words(kim.get(f"{RECIPE}?amount=30&unit=mL&units=2"))


def test_a_container_is_poured_over_read_and_emptied(shelves: Shelf, kim: Any, now: datetime) -> None:
    mixed(shelves, now, 1000)
    address = "/mixing/container/B1/"
    press(kim, address, "Poured over", **{"move-container": "B5", "move-amount": "400"})
    press(kim, address, "That is in it", **{"level-amount": "580"})
    page = words(kim.get("/mixing/"))
    assert "Fixer for RC, mix 1 , 580 mL. Use by Friday 25 December 2026." in page and "mix 1 , 400 mL" in page
    answer = press(kim, address, "It is empty")
    assert answer.status_code == 422 and "Why, and into which waste container: this is missing." in words(answer)
    press(kim, address, "It is empty", **{"empty-note": "old, fixer waste"})
    page = words(kim.get(address))
    assert page.startswith("Mixing Container B1 Empty, takes 1,000 mL.") and "old, fixer waste" in page
    assert kim.post(address, {"deed": "burn"}).status_code == 302 and ContainerEntry.objects.count() == 5
    assert kim.get("/mixing/container/none/").status_code == 404


def test_what_is_given_to_a_bath_is_taken_from_its_can(shelves: Shelf, kim: Any, now: datetime) -> None:
    mixed(shelves, now, 1000, "CAN")
    address = "/baths/P-RC/fix/replenishment/"
    answer = press(kim, address, "Log what was given", amount="150")
    assert answer.status_code == 302
    entry = BathEntry.objects.get(event="given")
    assert (entry.container.code, entry.mix.number) == ("CAN", 1)  # it was chosen beforehand
    assert reads.content_of(shelves.containers["CAN"], now).level_pl == 850 * PL_PER_ML
    assert "mix 1 · Container CAN" in words(kim.get("/baths/P-RC/fix/book/?kind=any"))
    answer = press(kim, "/baths/P-RC/fix/change/", "The bath was changed", source="container:CAN")
    assert answer.status_code == 422 and "By the book only 850 mL are in Container CAN." in words(answer)
    _way, sent = form_of(answer, "The bath was changed")
    assert kim.post("/baths/P-RC/fix/change/", sent).status_code == 302
    assert reads.content_of(shelves.containers["CAN"], now).mix is None


def test_a_delivery_is_written_down_and_counted(shelves: Shelf, kim: Any, now: datetime) -> None:
    lot = {"product1": "fixer", "code1": "C7", "expires1": "2027-03-01", "price1": "12.50"}
    answer = press(kim, "/stock/delivery/", "It came", delivery="N-7", **lot)
    assert answer.status_code == 302
    row = Lot.objects.get(code="C7")
    assert (row.amount, row.price_minor, row.delivery) == (D(500), 1250, "N-7")
    answer = press(kim, "/stock/delivery/", "It came", code1="C8")
    assert answer.status_code == 422 and "Say which product came." in words(answer)
    answer = press(kim, "/stock/delivery/", "It came")
    assert answer.status_code == 422 and "Nothing is written that came." in words(answer)
    answer = press(kim, "/stock/count/", "That was found", **{f"lot{row.pk}": "480"})
    assert answer.status_code == 302 and StockEntry.objects.get().change == -20
    answer = press(kim, "/stock/count/", "That was found", **{f"lot{row.pk}": "501"})
    assert answer.status_code == 422 and "cannot have more left" in words(answer)
    assert "Rapid fixer 1180 mL 25 Dec 2026" in words(kim.get("/stock/"))


def test_a_lot_is_opened_and_thrown_away(shelves: Shelf, kim: Any, now: datetime) -> None:
    mixed(shelves, now, 3000, "B5")
    page = words(kim.get("/stock/fixer/"))
    assert "100 mL left. Order it again." in page and "Used · -400 mL · B · mix 1" in page.replace("−", "-")
    assert "Used up: A" in page and "opened Wed 25 Nov" in page
    assert Alert.objects.get(cleared_at=None, kind="reorder").product.code == "fixer"
    lot = shelves.lots["B"]
    assert kim.post(f"/stock/lot/{lot.pk}/open/").status_code == 302
    fresh = Lot.objects.create(
        product=shelves.products["fixer"], code="F", amount=5, received_on=now.date(), recorded_at=now
    )
    kim.post(f"/stock/lot/{fresh.pk}/open/")
    fresh.refresh_from_db()
    assert fresh.opened_on == now.date()
    assert press(kim, "/stock/fixer/", "It is gone : B").status_code == 422
    answer = press(kim, "/stock/fixer/", "It is gone : B", **{f"lot-{lot.pk}-note": "leaked"})
    assert answer.status_code == 302 and StockEntry.objects.get(event="thrown away").change == -100


def test_staff_keep_a_recipe_and_a_colon_is_asked_about(shelves: Shelf, sef: Any) -> None:
    part = {"name": "Stop bath", "makes": "2", "what1": "-water", "amount1": "1500", "what2": "fixer",
            "what3": "-mark", "life_tray": "3", "caution2": "Into the water."}  # fmt: skip
    answer = press(sef, "/mixing/new/", "Keep the recipe", ratio="1:19", **part)
    assert answer.status_code == 422 and "“1:19” is read in two ways. Write 1+19 if" in words(answer)
    _way, sent = form_of(answer, "Keep the recipe")
    assert sent["caution2"] == "Into the water." and sent["what3"] == "-mark"
    assert sef.post("/mixing/new/", sent | {"ratio": "1+19"})["Location"] == "/mixing/stop-bath/"
    recipe = Recipe.objects.get(code="stop-bath")
    assert [one.amount for one in recipe.parts.all()] == [D(1500), D(100), None]
    assert recipe.makes_pl == 2 * PL_PER_L and recipe.lives.get().life_s == 3 * 86400
    assert press(sef, "/mixing/stop-bath/edit/", "Keep the recipe", name="Stop").status_code == 302
    again = Recipe.objects.get(code="stop-bath")
    assert again.name == "Stop" and again.parts.count() == 3


def test_staff_keep_products_and_containers(shelves: Shelf, sef: Any) -> None:
    press(sef, "/stock/new/", "Keep the product", name="New", pack_amount="250", price="9.95", opened_days="60")
    made = Product.objects.get(name="New")
    assert (made.code, made.price_minor, made.opened_life_s) == ("new-2", 995, 60 * 86400)
    assert press(sef, "/stock/new-2/edit/", "Keep the product", unit="g").status_code == 302
    answer = press(sef, "/stock/fixer/edit/", "Keep the product", unit="g")
    assert answer.status_code == 422 and "The unit of Rapid fixer cannot change" in words(answer)
    press(sef, "/mixing/container/new/", "Keep the container", name="Can 2", capacity="2.5", bath="P-RC/dev")
    can = Container.objects.get(code="can-2")
    assert can.capacity_pl == 2500 * PL_PER_ML and can.feeds_bath.code == "dev"
    answer = press(sef, "/mixing/container/can-2/edit/", "Keep the container", capacity="0")
    assert answer.status_code == 422 and "It has to hold" not in words(answer)
