"""Mixing from stock into containers and baths: what is taken, what is refused, and taking it back."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import BathEntry, ContainerEntry, Mix, MixPart, Recipe, StockEntry, WasteStream
from studiodesk.chemistry.queries import mixing as reads
from studiodesk.chemistry.queries import sources
from studiodesk.chemistry.queries import stock as stock_reads
from studiodesk.journal.models import Entry
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests import makers
from tests.chemistry.shelf import Shelf, mixed, shelf

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


# ---- mixing ---------------------------------------------------------------------------------------------------------


def test_a_mix_takes_what_expires_first_from_two_lots_and_says_both_numbers(
    shelves: Shelf, kim: Any, now: datetime
) -> None:
    mix = mixed(shelves, now, 1503, "B5", by=kim, measured={2: D("302.5")})
    assert (mix.number, mix.made_by, mix.asked_pl) == (1, kim, 1503 * PL_PER_ML)
    parts = list(MixPart.objects.filter(mix=mix).values_list("position", "lot__code", "asked", "measured"))
    assert [part[:2] for part in parts] == [(1, None), (2, "A"), (2, "B"), (3, None)]
    assert sum(part[2] for part in parts if part[0] == 2) == D("300.6")  # exactly 1503/5
    assert [part[3] for part in parts] == [D(900), D(200), D("102.5"), D("300.5")]  # 901.8 is measured as 900
    assert sum(part[3] for part in parts) == 1503
    assert left(shelves) == {"A": D(0), "B": D("397.5")}
    assert level(shelves, "B5", now) == 1503
    assert mixed(shelves, now, 100).number == 2
    assert Entry.objects.filter(code="chemistry.mixed").count() == 2
    shelves.lots["A"].refresh_from_db()
    assert shelves.lots["A"].opened_on == now.date()


def test_too_little_stock_and_what_expired_are_said_and_nothing_is_written(shelves: Shelf, now: datetime) -> None:
    assert code_of(mixed, made=shelves, now=now, ml=3530, into="B5") == "chemistry.not_enough_stock"
    late = now + 31 * DAY  # lot A expired yesterday
    assert code_of(mixed, made=shelves, now=late, ml=2530, into="B5") == "chemistry.only_expired"
    assert not Mix.objects.exists() and not StockEntry.objects.exists() and not ContainerEntry.objects.exists()
    mixed(shelves, late, 2500, "B5")
    assert left(shelves) == {"A": D(200), "B": D(0)}
    mixed(shelves, late, 500, "B1", expired_too=True)
    assert left(shelves) == {"A": D(100), "B": D(0)}


def test_a_product_whose_stock_nobody_keeps_is_mixed_without_a_lot(shelves: Shelf, now: datetime) -> None:
    loose, _ = actions.keep_product(code="loose", name="Wetting agent", now=now)
    recipe, _ = actions.keep_recipe(
        code="rinse", name="Rinse", makes_pl=PL_PER_L, parts=[actions.PartOf(loose, D(5))], now=now
    )
    mix = actions.mix(recipe=recipe, asked_pl=2 * PL_PER_L, at=now, now=now)
    assert MixPart.objects.get(mix=mix).measured == 10 and MixPart.objects.get(mix=mix).lot is None
    assert not StockEntry.objects.exists()


def test_nothing_is_poured_onto_another_mix_another_stream_or_over_the_brim(
    house: Any, shelves: Shelf, now: datetime
) -> None:
    mixed(shelves, now, 600)
    developer, _ = actions.keep_product(code="dev", name="Developer", now=now)
    other, _ = actions.keep_recipe(
        code="dev", name="Developer", makes_pl=PL_PER_L, parts=[actions.PartOf(developer, D(100))], now=now
    )
    asked = {"recipe": other, "asked_pl": 300 * PL_PER_ML, "at": now, "now": now}
    assert code_of(actions.mix, container=shelves.containers["B1"], **asked) == "chemistry.other_mix"
    assert code_of(mixed, made=shelves, now=now, ml=300) == "chemistry.other_mix"  # the same recipe, another mix
    assert code_of(mixed, made=shelves, now=now, ml=1100, into="B1", made_pl=1001 * PL_PER_ML) == "chemistry.other_mix"
    actions.empty_container(container=shelves.containers["B1"], note="poured into the waste can", now=now)
    assert code_of(mixed, made=shelves, now=now, ml=1001) == "chemistry.over_capacity"
    stream = WasteStream.objects.create(code="dev", name="Developer waste")
    actions.keep_container(code="B1", name="Bottle", sort="bottle", capacity_pl=PL_PER_L, stream=stream, now=now)
    assert code_of(mixed, made=shelves, now=now, ml=300) == "chemistry.other_stream"
    assert Mix.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"asked_pl": 0}, "mix_amount"),
        ({"asked_pl": 1001 * PL_PER_L}, "mix_amount"),
        ({"made_pl": -1}, "mix_amount"),
        ({"measured": {2: D(-1)}}, "amount_needed"),
        ({"at": timedelta(minutes=1)}, "in_the_future"),
    ],
)
def test_a_mix_that_cannot_be_is_refused(shelves: Shelf, now: datetime, changed: dict[str, Any], code: str) -> None:
    asked = {"recipe": shelves.recipes["fixer-rc"], "asked_pl": PL_PER_L, "at": now, "now": now} | changed
    if isinstance(asked["at"], timedelta):
        asked["at"] += now
    assert code_of(actions.mix, **asked) == f"chemistry.{code}" and not Mix.objects.exists()


def test_a_recipe_out_of_use_is_not_mixed(shelves: Shelf, now: datetime) -> None:
    Recipe.objects.update(in_use=False)
    assert code_of(mixed, made=shelves, now=now, ml=100) == "chemistry.recipe_out_of_use"


# ---- taking back ----------------------------------------------------------------------------------------------------


def test_a_mix_of_today_is_taken_back_and_everything_is_as_it_was(shelves: Shelf, kim: Any, now: datetime) -> None:
    mix = mixed(shelves, now, 1000)
    actions.take_back_mix(mix=mix, now=now + HOUR, by=kim)
    assert left(shelves) == {"A": D(200), "B": D(500)} and level(shelves, "B1", now + HOUR) == 0
    shelves.lots["A"].refresh_from_db()
    assert shelves.lots["A"].opened_on is None
    assert code_of(actions.take_back_mix, mix=mix, now=now + HOUR) == "chemistry.mix_taken_back"
    assert mixed(shelves, now + HOUR, 1000).number == 2  # the number on a label is never given again


def test_a_mix_of_yesterday_or_one_that_was_used_stays(house: Any, shelves: Shelf, now: datetime) -> None:
    first = mixed(shelves, now, 500)
    assert code_of(actions.take_back_mix, mix=first, now=now + DAY) == "chemistry.mix_not_of_today"
    give = {"bath": house.baths["P-RC", "fix"], "event": "given", "amount_pl": 50 * PL_PER_ML, "at": now, "now": now}
    entry = actions.record_bath_entry(container=shelves.containers["B1"], **give)
    assert code_of(actions.take_back_mix, mix=first, now=now + HOUR) == "chemistry.mix_used"
    actions.take_back_entry(entry=entry, note="slip", now=now + HOUR)
    actions.take_back_mix(mix=first, now=now + HOUR)
    assert left(shelves) == {"A": D(200), "B": D(500)}
    tank = mixed(shelves, now + HOUR, 500, None)
    actions.record_bath_entry(**give | {"at": now + HOUR, "now": now + HOUR}, mix=tank)
    assert code_of(actions.take_back_mix, mix=tank, now=now + HOUR) == "chemistry.mix_used"


# ---- containers -----------------------------------------------------------------------------------------------------


def test_a_mix_is_poured_over_with_its_age(shelves: Shelf, now: datetime) -> None:
    mixed(shelves, now, 1000)
    later = now + 90 * DAY
    one, two = shelves.containers["B1"], shelves.containers["B5"]
    actions.move_mix(source=one, target=two, amount_pl=400 * PL_PER_ML, now=later)
    here, there = (reads.content_of(container, later) for container in (one, two))
    assert (here.level_pl, there.level_pl) == (600 * PL_PER_ML, 400 * PL_PER_ML)
    assert here.spent == there.spent == 0.5 and there.state == "part-full bottle"
    assert there.use_by == later + 15 * DAY and not there.is_past
    assert not reads.content_of(two, later + 15 * DAY).is_past  # on its last day
    over = reads.content_of(two, later + 99 * DAY)
    assert over.is_past and over.use_by == later + 15 * DAY
    asked = {"source": one, "now": later}
    assert code_of(actions.move_mix, target=one, amount_pl=1, **asked) == "chemistry.same_container"
    assert code_of(actions.move_mix, target=two, amount_pl=PL_PER_L, **asked) == "chemistry.container_less"
    assert code_of(actions.move_mix, source=shelves.containers["CAN"], target=two, amount_pl=1, now=later) == (
        "chemistry.container_empty"
    )


def test_a_level_that_was_read_counts_and_an_empty_one_takes_another_mix(shelves: Shelf, now: datetime) -> None:
    mixed(shelves, now, 1000)
    bottle = shelves.containers["B1"]
    actions.read_level(container=bottle, level_pl=300 * PL_PER_ML, now=now + HOUR)
    assert level(shelves, "B1", now + HOUR) == 300 and level(shelves, "B1", now) == 1000
    assert code_of(actions.read_level, container=bottle, level_pl=2 * PL_PER_L, now=now + HOUR) == (
        "chemistry.level_out_of_range"
    )
    assert code_of(actions.empty_container, container=bottle, note=" ", now=now + HOUR) == "chemistry.reason_needed"
    actions.read_level(container=bottle, level_pl=0, now=now + HOUR)
    assert code_of(actions.empty_container, container=bottle, note="x", now=now + HOUR) == "chemistry.container_empty"
    assert mixed(shelves, now + HOUR, 500).number == 2


def test_what_happened_earlier_is_not_written_into_a_container_later(shelves: Shelf, now: datetime) -> None:
    mixed(shelves, now, 500)
    asked = {"made": shelves, "now": now, "ml": 500, "at": now - HOUR}
    assert code_of(mixed, **asked) == "chemistry.container_later"
    second = now.replace(second=30)
    actions.read_level(container=shelves.containers["B1"], level_pl=0, now=second)
    mixed(shelves, second, 400, at=now)  # a form knows no seconds: the same minute passes
    assert level(shelves, "B1", second) == 400


def test_a_container_in_use_keeps_what_is_in_it(shelves: Shelf, now: datetime) -> None:
    mixed(shelves, now, 800)
    asked = {"code": "B1", "name": "Bottle", "sort": "bottle", "now": now}
    assert code_of(actions.keep_container, capacity_pl=799 * PL_PER_ML, **asked) == "chemistry.container_capacity"
    assert code_of(actions.keep_container, capacity_pl=PL_PER_L, in_use=False, **asked) == "chemistry.container_in_use"
    _row, changed = actions.keep_container(capacity_pl=800 * PL_PER_ML, **asked)
    assert changed and not actions.keep_container(capacity_pl=800 * PL_PER_ML, **asked)[1]


# ---- into baths -----------------------------------------------------------------------------------------------------


def test_what_is_given_leaves_the_container_it_came_from(house: Any, shelves: Shelf, now: datetime) -> None:
    mix, fix = mixed(shelves, now, 1000), house.baths["P-RC", "fix"]
    write = {"bath": fix, "event": "given", "at": now, "now": now, "container": shelves.containers["B1"]}
    entry = actions.record_bath_entry(amount_pl=150 * PL_PER_ML, **write)
    assert (entry.mix, entry.container.code, level(shelves, "B1", now)) == (mix, "B1", 850)
    right = actions.record_bath_entry(amount_pl=100 * PL_PER_ML, corrects=entry, **write)
    assert level(shelves, "B1", now) == 900
    assert right.mix == mix
    other = actions.record_bath_entry(amount_pl=10 * PL_PER_ML, **write)
    actions.take_back_entry(entry=other, note="slip", now=now + HOUR)
    assert level(shelves, "B1", now + HOUR) == 900
    actions.record_bath_entry(**write | {"at": now + HOUR, "now": now + HOUR}, amount_pl=3000 * PL_PER_ML)
    assert level(shelves, "B1", now + HOUR) == 0  # more was given than the book knew of
    assert code_of(actions.record_bath_entry, amount_pl=PL_PER_ML, **write | {"now": now + HOUR, "at": now + HOUR}) == (
        "chemistry.container_empty"
    )


def test_the_can_of_a_bath_is_offered_first_and_what_is_too_old_says_so(
    house: Any, shelves: Shelf, now: datetime
) -> None:
    mixed(shelves, now, 400, "B1")
    mixed(shelves, now, 1000, "CAN")
    fix = house.baths["P-RC", "fix"]
    found = sources.sources_for(fix, "given", now)
    assert [one.value for one in found] == ["container:CAN", "container:B1"]
    assert sources.usual(fix, "given", found) == "container:CAN" and sources.usual(fix, "refill", found) == ""
    actions.move_mix(source=shelves.containers["B1"], target=shelves.containers["B5"], amount_pl=PL_PER_ML, now=now)
    late = sources.sources_for(fix, "given", now + 31 * DAY)
    assert [str(one).startswith("Past its use by!") for one in late] == [False, True, True]
    assert sources.sources_for(fix, "strip", now) == []


def test_a_refill_takes_the_whole_tank_and_the_age_along(house: Any, shelves: Shelf, now: datetime) -> None:
    dev = house.baths["P-CO", "dev"]  # 3 L, 21 days
    mixed(shelves, now, 3500, "B5", expired_too=True)
    later = now + 10 * DAY  # a third of the 30 days of a part-full bottle
    entry = actions.record_bath_entry(bath=dev, event="refill", at=later, now=later, container=shelves.containers["B5"])
    assert level(shelves, "B5", later) == 500
    assert entry.age_from is not None and abs(entry.age_from - (later - 7 * DAY)) < timedelta(seconds=2)
    [line] = queries.standings(later, of=[dev])
    assert abs(line.used - 1 / 3) < 1e-5 and line.since == later


def test_a_mix_that_was_taken_back_went_into_no_bath(house: Any, shelves: Shelf, now: datetime) -> None:
    mix = mixed(shelves, now, 500, None)
    assert [one.pk for one in reads.loose_mixes(now)] == [mix.pk]
    entry = actions.record_bath_entry(bath=house.baths["P-RC", "fix"], event="refill", at=now, now=now, mix=mix)
    assert BathEntry.objects.get(pk=entry.pk).mix == mix and reads.loose_mixes(now) == []
    other = actions.take_back_mix(mix=mixed(shelves, now, 500, None), now=now)
    asked = {"bath": house.baths["P-RC", "fix"], "event": "note", "note": "x", "at": now, "now": now}
    assert code_of(actions.record_bath_entry, mix=other, **asked) == "chemistry.mix_of_no_bath"
