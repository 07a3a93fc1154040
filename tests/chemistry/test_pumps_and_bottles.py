"""Pumps measured, and the replenisher bottle read against the book."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert, ContainerEntry, Feed, PumpCalibration
from studiodesk.chemistry.queries.mixing import content_of
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, write

HOUR, WEEK = timedelta(hours=1), timedelta(weeks=1)
DEV, FIX = ("P-RC", "dev"), ("P-RC", "fix")
SHEET = 203 * 254


def ml(*amounts: int) -> list[int]:
    return [one * PL_PER_ML for one in amounts]


def refused(act: Any, **given: Any) -> str:
    with pytest.raises(Refused) as found:
        act(**given)
    return found.value.refusal.code


def local(moment: Any) -> str:
    """As a form of the studio in Amsterdam has it."""
    return moment.astimezone(ZoneInfo("Europe/Amsterdam")).strftime("%Y-%m-%dT%H:%M")


def words(response: Any) -> str:
    return " ".join(soup_of(response).main.get_text(" ").split())


# --- pumps --------------------------------------------------------------------------------------------------------


def test_a_measured_stroke_counts_from_its_moment_on(house: Any, now: Any) -> None:
    """Nothing is lost: outstanding = due − given before and after, and what was given keeps the old stroke."""
    dev = house.baths[DEV]
    log(house, now - 2 * HOUR, count=10)
    [before] = queries.standings(now - HOUR, of=[dev])
    due = 10 * SHEET * 240_000
    assert before.due_pl == due and before.given_pl == due // (12 * PL_PER_ML) * 12 * PL_PER_ML
    kept = actions.calibrate_pump(bath=dev, strokes_each=2, caught_pl=ml(20, 21, 22), at=now - HOUR, now=now)
    assert (kept.mean_pl, kept.was_pl) == (10_500_000_000, 12 * PL_PER_ML)
    log(house, now, count=10)
    [after] = queries.standings(now, of=[dev])
    assert after.due_pl == 2 * due and after.outstanding_pl == 2 * due - after.given_pl
    assert 0 <= after.outstanding_pl < kept.mean_pl
    given_since = after.given_pl - before.given_pl
    assert given_since % kept.mean_pl == 0 and given_since > 0
    assert [after] == queries.standings(now, of=[dev], recount=True)


def test_a_measured_stroke_written_down_late_is_counted_from_then(house: Any, now: Any) -> None:
    dev = house.baths[DEV]
    log(house, now - HOUR, count=10)
    actions.calibrate_pump(bath=dev, strokes_each=1, caught_pl=ml(6, 6, 6), at=now - 2 * HOUR, now=now)
    [line] = queries.standings(now, of=[dev])
    assert line.given_pl == 10 * SHEET * 240_000 // (6 * PL_PER_ML) * 6 * PL_PER_ML
    assert [line] == queries.standings(now, of=[dev], recount=True)


def test_what_is_refused_of_a_pump(house: Any, now: Any) -> None:
    good = {"strokes_each": 1, "caught_pl": ml(12, 12, 12), "at": now, "now": now}
    assert refused(actions.calibrate_pump, bath=house.baths[FIX], **good) == "chemistry.no_pump"
    dev = {"bath": house.baths[DEV]}
    for change, said in (
        ({"caught_pl": ml(12, 12)}, "chemistry.too_few_catches"),
        ({"strokes_each": 0}, "chemistry.too_few_catches"),
        ({"caught_pl": ml(12, 12, 0)}, "chemistry.catch_absurd"),
        ({"caught_pl": ml(12, 12, 9001)}, "chemistry.catch_absurd"),
        ({"at": now + HOUR}, "chemistry.in_the_future"),
    ):
        assert refused(actions.calibrate_pump, **dev, **good | change) == said
    actions.calibrate_pump(**dev, **good)
    assert refused(actions.calibrate_pump, **dev, **good | {"at": now - HOUR}) == "chemistry.figures_before_others"
    assert PumpCalibration.objects.count() == 1


def test_the_page_of_a_pump_says_what_moved(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["keyholder"])
    page = "/baths/P-RC/dev/pump/"
    assert "One stroke counts as 12 mL" in words(client.get(page))
    sent = {"at": local(now), "strokes_each": "1", "catch_1": "12.6", "catch_2": "12.6", "key": "a"}
    answer = client.post(page, sent)
    assert answer.status_code == 422 and "Catch 3 in mL" in words(answer)
    answer = client.post(page, sent | {"catch_3": "12.6"}, follow=True)
    assert "A stroke gives 12.6 mL from now on" in soup_of(answer).get_text(" ")  # exactly 5 % is not flagged
    again = {"catch_3": "15", "catch_1": "15", "catch_2": "15", "key": "b"}
    import time_machine

    with time_machine.travel(now + HOUR, tick=False):
        later = {"at": local(now + HOUR)}
        answer = client.post(page, sent | again | later, follow=True)
    said = " ".join(soup_of(answer).get_text(" ").split())
    assert "19.0 % away from before: look at the pump" in said and "before 12.6 mL" in said
    assert client.get("/baths/P-RC/fix/pump/").status_code == 302


# --- the bottle ---------------------------------------------------------------------------------------------------


@pytest.fixture
def bottle(house: Any, now: Any) -> Any:
    return actions.keep_bottle(
        bath=house.baths[DEV], code="R-1", name="Developer replenisher", capacity_pl=10 * PL_PER_L,
        floating_lid=True, now=now - 2 * WEEK,
    )  # fmt: skip


def read(container: Any, at: Any, level: int, poured: int = 0) -> Any:
    return actions.read_bottle(
        container=container, at=at, level_pl=level * PL_PER_ML, poured_in_pl=poured * PL_PER_ML, now=at
    )


def test_the_fall_is_held_against_the_book(house: Any, now: Any, bottle: Any) -> None:
    assert read(bottle, now - WEEK, 3000, 2000) is None
    log(house, now - 2 * HOUR, count=40)  # 495 mL due: 41 strokes of 12 mL
    seen = read(bottle, now, 4300)
    assert (seen.fell_pl, seen.given_pl) == (700 * PL_PER_ML, 492 * PL_PER_ML)
    assert seen.share == Fraction(208, 700)
    [alert] = Alert.objects.filter(cleared_at=None, kind="unlogged")
    assert alert.facts == {"ml": 208, "percent": 30} and alert.bath == house.baths[DEV]
    feed = actions.book_unseen(bath=house.baths[DEV], at=now, now=now)
    assert feed is not None and (feed.sheets, feed.who, feed.sheet.code) == (17, "unknown", "203x254")
    assert not Alert.objects.filter(cleared_at=None, kind="unlogged").exists()
    [stretch] = queries.falls(bottle)
    assert abs(stretch.fall.unseen_pl) <= 12 * PL_PER_ML  # to a stroke
    assert refused(actions.book_unseen, bath=house.baths[DEV], at=now, now=now) == "chemistry.nothing_unseen"
    assert queries.standings(now) == queries.standings(now, recount=True)


def test_the_book_goes_on_over_a_bath_change_in_between(house: Any, now: Any, bottle: Any) -> None:
    read(bottle, now - WEEK, 5000)
    log(house, now - 30 * HOUR, count=40)
    write(house, "refill", now - 20 * HOUR, bath=DEV)
    log(house, now - 2 * HOUR, count=40)
    seen = read(bottle, now, 4016)
    assert seen.given_pl == 984 * PL_PER_ML and seen.unseen_pl == 0


def test_a_bottle_that_falls_too_little_asks_for_the_pump(house: Any, now: Any, bottle: Any) -> None:
    read(bottle, now - WEEK, 5000)
    log(house, now - 2 * HOUR, count=40)
    seen = read(bottle, now, 4700)
    assert seen.gives_short
    assert Alert.objects.get(cleared_at=None, kind="pump off").facts == {"percent": 39}
    actions.calibrate_pump(bath=house.baths[DEV], strokes_each=1, caught_pl=ml(7, 7, 7), at=now, now=now)
    assert not Alert.objects.filter(cleared_at=None, kind="pump off").exists()


def test_by_hand_what_went_unseen_is_booked_as_given(house: Any, now: Any) -> None:
    fix = house.baths[FIX]
    container = actions.keep_bottle(
        bath=fix,
        code="R-2",
        name="Fixer replenisher",
        capacity_pl=10 * PL_PER_L,
        floating_lid=False,
        now=now - 2 * WEEK,
    )
    read(container, now - WEEK, 5000)
    log(house, now - 3 * HOUR, count=20)
    write(house, "given", now - 2 * HOUR, amount_pl=200 * PL_PER_ML)
    seen = read(container, now, 4500)
    assert seen.unseen_pl == 300 * PL_PER_ML
    assert actions.book_unseen(bath=fix, at=now, now=now) is None
    [line] = queries.standings(now, of=[fix])
    assert line.given_pl == 500 * PL_PER_ML
    assert queries.falls(container)[-1].fall.unseen_pl == 0


def test_what_is_refused_of_a_bottle(house: Any, now: Any, bottle: Any) -> None:
    read(bottle, now - WEEK, 3000)
    good = {"container": bottle, "level_pl": PL_PER_L, "poured_in_pl": 0, "at": now, "now": now}
    for change, said in (
        ({"at": now + HOUR}, "chemistry.in_the_future"),
        ({"at": now - WEEK}, "chemistry.bottle_read_before"),
        ({"level_pl": 11 * PL_PER_L}, "chemistry.bottle_level_absurd"),
        ({"poured_in_pl": 10 * PL_PER_L}, "chemistry.bottle_level_absurd"),
        ({"level_pl": -1}, "chemistry.bottle_level_absurd"),
    ):
        assert refused(actions.read_bottle, **good | change) == said
    new = {"name": "x", "capacity_pl": 1, "floating_lid": False, "now": now}
    assert refused(actions.keep_bottle, bath=house.baths[DEV], code="R-3", **new) == "chemistry.bottle_there"
    assert refused(actions.keep_bottle, bath=house.baths[FIX], code="R-1", **new) == "chemistry.bottle_code_taken"
    assert ContainerEntry.objects.count() == 1


def test_the_page_of_a_bottle_from_naming_it_to_booking(house: Any, now: Any, people: Any) -> None:
    import time_machine

    client = client_of(people["keyholder"])
    page = "/baths/P-RC/dev/bottle/"
    assert "Name the bottle" in words(client.get(page))
    client.post(page, {"deed": "name", "name": "Dev replenisher", "code": "R-1", "litres": "10", "key": "a"})
    stamp = local(now)
    answer = client.post(page, {"deed": "read", "at": stamp, "level": "5000", "key": "b"}, follow=True)
    assert "From the next reading on" in soup_of(answer).get_text(" ")
    log(house, now, count=1)
    with time_machine.travel(now + WEEK, tick=False):
        log(house, now + WEEK, count=40)
        client = client_of(people["keyholder"])
        later = local(now + WEEK)
        answer = client.post(page, {"deed": "read", "at": later, "level": "11000", "key": "c"})
        assert answer.status_code == 422 and "holds 10000 mL at most" in words(answer)
        answer = client.post(page, {"deed": "read", "at": later, "level": "4300", "key": "d"}, follow=True)
        said = words(answer)
        assert "208 mL went unseen" in said and "about 17 sheets of 8×10 in" in said
        assert "4,300 mL when it was read last, of no mix" in words(client.get("/mixing/"))
        stands = content_of(queries.bottle_of(house.baths[DEV]), now + WEEK)
        assert str(stands) == "Dev replenisher: 4300 mL of no mix that is known"
        answer = client.post(page, {"deed": "book", "key": "e"}, follow=True)
        assert "agree again" in soup_of(answer).get_text(" ")
        answer = client.post(page, {"deed": "book", "key": "e"}, follow=True)  # sent twice: written once
        assert Feed.objects.filter(who="unknown").count() == 1
        assert "nothing to book" in soup_of(client.post(page, {"deed": "book", "key": "f"}, follow=True)).get_text(" ")
    assert client.get("/baths/P-CO/dev/bottle/").status_code == 302


def test_litres_for_millilitres_are_asked_about_once(house: Any, now: Any, people: Any, bottle: Any) -> None:
    client = client_of(people["keyholder"])
    page = "/baths/P-RC/dev/bottle/"
    sent = {"deed": "read", "at": local(now), "level": "9", "key": "l"}
    answer = client.post(page, sent)
    asked = soup_of(answer).main
    assert answer.status_code == 422 and "Was it 9.0 litres?" in asked.get_text(" ")
    assert not ContainerEntry.objects.exists()
    client.post(page, sent | {"sure": asked.find("input", {"name": "sure"})["value"]})
    assert ContainerEntry.objects.get().amount_pl == 9 * PL_PER_ML
