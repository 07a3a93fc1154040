"""The forecast where there is little, nothing, too much or something odd to go by: baths, people and sheets."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from studiodesk.bookings import actions as bookings
from studiodesk.chemistry.actions import record_bath_entry
from studiodesk.chemistry.models import BathSetting
from studiodesk.people.actions import set_standing
from studiodesk.planning.actions import keep_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import Foretold, as_json, foretell
from studiodesk.planning.rules.usage import GUESS_MM2_PER_H, usages
from studiodesk.planning.rules.values import HORIZON_DAYS
from studiodesk.stations import actions as stations
from tests import makers
from tests.planning.evenings import SHEET_MM2, Past, expected, facts, local, refill, told
from tests.planning.histories import InAnotherDatabase

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = date(2026, 11, 25)  # a Wednesday
NOW = local(TODAY, 9)
COLOUR, RC = ("P-CO", "dev"), ("P-RC", "dev")
END = TODAY + HORIZON_DAYS * DAY


@pytest.fixture
def people(house: Any) -> list[Any]:
    return [makers.member(name) for name in ("Adri", "Bente", "Cato", "Dirk", "Els", "Finn")]


def evenings(house: Any, people: list[Any], weeks: int, sheets: Callable[[int], int], **more: Any) -> None:
    """Each week every one of ``people`` has an evening of their own, from Tuesday to Sunday, until yesterday."""
    past = Past(house)
    for n, who in enumerate(people):
        first = TODAY - weeks * WEEK + (n - 1 if n else 6) * DAY
        past.weekly(who, first, weeks, sheets(n), **more)
    past.record(NOW - 9 * timedelta(hours=1))


def in_colour() -> dict[str, Any]:
    return {"process": "ra4", "machine": "P-CO", "station": "E3"}


def days_wide(found: Foretold) -> int:
    low, high = found.passage.p10 or END, found.passage.p90 or END
    return (high - low).days


def booked_ahead(house: Any, who: Any, day: date, hour: float = 18, process: str = "ra4", station: str = "E3") -> Any:
    return bookings.book(
        member=who, station=house.stations[station], process=house.processes[process], by=who, now=NOW,
        starts=local(day, hour), ends=local(day, hour + 3),
    )  # fmt: skip


# --- little to go by -------------------------------------------------------------------------------------------------


def test_without_any_history_the_range_is_wide_and_says_that_it_rests_on_nothing(house: Any) -> None:
    for found in foretell(NOW, live=True):
        line = as_json(found)
        assert (line["history_sessions"], line["booked_hours"]) == (0, 0)
        assert sum(line["expected_area_mm2_by_day"].values()) > 0
    colour = told(NOW, COLOUR)
    assert colour.passage.p10 is not None and days_wide(colour) > 60
    evenings(house, [makers.member(f"M{n}") for n in range(6)], 10, lambda n: 3, **in_colour())
    known = told(NOW, COLOUR)
    assert known.course.sessions == 60 and days_wide(known) < days_wide(colour) / 2


def test_a_new_process_takes_the_others_mean_and_is_wide(house: Any, people: list[Any]) -> None:
    evenings(house, people, 16, lambda n: 20)
    refill(house, NOW - 3 * DAY, NOW - 3 * DAY)  # three days ago colour began
    use = usages(facts(NOW).stays, [house.processes["rc"].pk, house.processes["ra4"].pk], NOW)
    rc, colour = (use[house.processes[code].pk] for code in ("rc", "ra4"))
    assert rc.mu == pytest.approx(10 * SHEET_MM2, rel=0.1) != GUESS_MM2_PER_H
    assert colour.mu == pytest.approx(10 * SHEET_MM2) and colour.cv2 > 0.3 > rc.cv2
    found, beside = told(NOW, COLOUR), told(NOW, RC)
    assert found.course.sessions == 0
    spread = {one.of.processor: one.course.variance[28] ** 0.5 / one.course.mean[28] for one in (found, beside)}
    assert spread["P-CO"] > 0.5 and spread["P-CO"] > 1.8 * spread["P-RC"]


def test_a_processor_that_is_described_later_is_new_although_the_house_is_old(house: Any, people: list[Any]) -> None:
    evenings(house, people, 16, lambda n: 20)
    process, _ = stations.describe_process(code="fb", name="Fibre", light="safelight")
    house.processors["T-FB"], _ = stations.describe_processor(
        code="T-FB", name="Trays", process=process, feed_width_mm=508, booths_at_once=2, now=NOW - 2 * DAY
    )
    row = makers.bath(house, "T-FB", "dev", dosing="batch", volume_ml=2000, capacity="2.5")
    idle = told(NOW, ("T-FB", "dev")).course.mean[28]
    BathSetting.objects.filter(bath=row).update(entered_at=NOW - 2 * DAY)
    assert told(NOW, ("T-FB", "dev")).course.mean[28] > 5 * idle


@pytest.mark.parametrize("filled", [True, False])
def test_of_a_process_that_stood_idle_for_sixteen_weeks_nothing_is_foretold(
    house: Any, people: list[Any], filled: bool
) -> None:
    if filled:
        refill(house, NOW - 16 * WEEK, NOW - 16 * WEEK)
    BathSetting.objects.filter(bath=house.baths[COLOUR]).update(age_limit_s=None)
    evenings(house, people, 16, lambda n: 20)
    found = told(NOW, COLOUR)
    assert (found.passage.p50, found.passage.p90) == (None, None)
    # less than half an evening in four weeks: that it never comes back is not known
    assert found.course.mean[28] < 10 * SHEET_MM2 < told(NOW, RC).course.mean[28] / 30


def test_a_horizon_without_bookings_still_expects_what_will_be_booked(house: Any, people: list[Any]) -> None:
    """People here book the evening before, so that an empty calendar is no sign of anything."""
    evenings(house, people, 12, lambda n: 10, made_days=1, **in_colour())
    found = told(NOW, COLOUR)
    assert found.course.booked_h == 0
    came = 24 * 10 * SHEET_MM2  # four weeks of six evenings
    assert 0.75 * came < expected(found, TODAY + DAY, TODAY + 28 * DAY) < 1.25 * came
    assert found.passage.p50 is not None


def test_with_walk_ins_only_what_came_is_what_is_expected(house: Any) -> None:
    past = Past(house)
    for back in range(1, 71):
        day = TODAY - back * DAY
        if day.weekday():
            past.loose(local(day, 15), 4, "P-CO", who="walk-in")
    past.record(NOW)
    found = told(NOW, COLOUR)
    assert (found.course.sessions, found.course.booked_h) == (0, 0)
    ahead = expected(found, TODAY + DAY, TODAY + 28 * DAY)
    assert 0.95 * 24 * 4 * SHEET_MM2 < ahead < 1.3 * 24 * 4 * SHEET_MM2
    mondays = [TODAY + n * DAY for n in range(28) if (TODAY + n * DAY).weekday() == 0]
    assert sum(expected(found, day, day) for day in mondays) == 0
    assert found.passage.first_limit == {"capacity": 1.0}


# --- limits ----------------------------------------------------------------------------------------------------------


def test_a_bath_without_a_limit_in_reach_has_no_date_and_no_limit(house: Any, people: list[Any]) -> None:
    """The fixer's silver settles at 1.9 g/L, under its limit of 2; the developer was never filled."""
    evenings(house, people, 12, lambda n: 60)
    silver = ("0.95", "2.0")
    makers.bath(house, "P-RC", "fix1", dosing="machine", volume_ml=9000, rate=500, unit_ml=12, silver=silver)
    makers.bath(house, "P-RC", "wash", dosing="running water", volume_ml=9000, capacity="0.1", age_days=1)
    for bath in ("dev", "fix1", "wash"):
        line = as_json(told(NOW, ("P-RC", bath)))
        assert (line["p10"], line["p50"], line["p90"], line["first_limit"]) == (None, None, None, {}), bath
        assert sum(line["expected_area_mm2_by_day"].values()) > 0


@pytest.mark.parametrize("limit", ["capacity", "age", "condemned"])
def test_a_limit_that_is_passed_already_is_passed_today(house: Any, people: list[Any], limit: str) -> None:
    filled = NOW - (22 if limit == "age" else 5) * DAY
    refill(house, filled, filled)
    if limit == "condemned":
        record_bath_entry(bath=house.baths[COLOUR], event="condemned", at=NOW, now=NOW, note="smells")
    past = Past(house)
    past.loose(NOW - DAY, 100 if limit == "capacity" else 3, "P-CO")
    past.record(NOW)
    passage = told(NOW, COLOUR).passage
    assert (passage.p10, passage.p50, passage.p90) == (TODAY, TODAY, TODAY)
    assert passage.first_limit == {limit: 1.0}
    assert set(passage.reached) == {1.0}


@pytest.mark.parametrize(("capacity", "room"), [("3333333333", 9_999_999_999_000_000), ("3333333334", None)])
def test_a_tank_that_takes_more_than_any_house_prints_is_kept_as_one_without_room(
    house: Any, people: list[Any], capacity: str, room: int | None
) -> None:
    """10¹⁶ mm² are a square of a hundred kilometres; a column holds not a thousand times as much."""
    makers.bath(house, "P-RC", "stop", dosing="batch", volume_ml=3000, capacity=capacity)
    assert keep_forecasts(now=NOW) == 4
    row = KeptForecast.objects.get(bath=house.baths["P-RC", "stop"])
    assert (row.room_mm2, row.p10) == (room, None)
    assert as_json(told(NOW, ("P-RC", "stop")))["room_mm2"] == {"capacity": int(capacity) * 3 * 10**6}


def test_a_tank_begun_in_mid_history_counts_from_then_and_what_is_expected_counts_from_the_first(
    house: Any, people: list[Any]
) -> None:
    evenings(house, people, 12, lambda n: 2, **in_colour())
    before = told(NOW, COLOUR)
    refill(house, NOW - 8 * DAY, NOW)
    after = told(NOW, COLOUR)
    assert after.course.mean == before.course.mean and after.course.sessions == before.course.sessions == 72
    week = sum(feed.area_mm2 for feed in facts(NOW).stays if feed.ends > NOW - 8 * DAY)
    assert 0 < week < 16 * SHEET_MM2
    assert after.tank.rooms["capacity"].mm2 == 4_800_000 - week
    assert before.tank.passed == "capacity" and after.tank.passed is None
    assert after.passage.age_day == TODAY + 13 * DAY


# --- people ----------------------------------------------------------------------------------------------------------


def test_a_member_with_two_thirds_of_the_area_moves_the_date_more_than_another(house: Any, people: list[Any]) -> None:
    big, small = people[0], people[1]
    evenings(house, people, 10, lambda n: 20 if n == 0 else 2, **in_colour())
    refill(house, NOW - DAY, NOW - DAY)
    BathSetting.objects.filter(bath=house.baths[COLOUR]).update(age_limit_s=None)
    day = TODAY + 6 * DAY
    seen = {}
    for who in (None, big, small):
        with InAnotherDatabase():
            if who:
                booked_ahead(house, who, day)
            found = told(NOW, COLOUR)
            seen[who] = (expected(found, day, day), found.passage.p50, found.passage.reached[10])
    brought = {who: seen[who][0] - seen[None][0] for who in (big, small)}
    assert brought[big] > 4 * brought[small] > 0
    assert brought[big] == pytest.approx(3 / 2 * 20 * SHEET_MM2, rel=0.35)
    assert seen[big][1] <= seen[small][1] <= seen[None][1] and seen[big][1] < seen[None][1]
    assert seen[big][2] - seen[None][2] > 3 * (seen[small][2] - seen[None][2])


def test_who_has_left_is_counted_on_in_what_came_and_their_bookings_go_with_them_if_they_are_cancelled(
    house: Any, people: list[Any]
) -> None:
    evenings(house, people, 10, lambda n: 10, **in_colour())
    sef = makers.member("Sef", is_staff=True)
    booking = booked_ahead(house, people[0], TODAY + 6 * DAY)
    before = told(NOW, COLOUR)
    set_standing(person=people[0], is_active=False, now=NOW, by=sef)
    after = told(NOW, COLOUR)
    assert (after.course.mean, after.course.sessions) == (before.course.mean, before.course.sessions)
    bookings.cancel(booking=booking, now=NOW, by=sef)
    assert told(NOW, COLOUR).course.booked_h == before.course.booked_h - 3


def test_sheets_of_nobody_known_count_like_anybody_s(house: Any) -> None:
    """What is left of a person that was erased: sheets and no name."""
    seen = []
    for who in ("unknown", "walk-in", "house"):
        with InAnotherDatabase():
            past = Past(house)
            for week in range(8):
                past.loose(NOW - DAY - week * WEEK, 12, "P-CO", who=who)
            past.record(NOW)
            seen.append(told(NOW, COLOUR).course.mean)
    assert seen[0] == seen[1] == seen[2] and seen[0][28] > 24 * SHEET_MM2


# --- sheets and stays ------------------------------------------------------------------------------------------------


def test_cleaning_sheets_foretell_no_area(house: Any, people: list[Any]) -> None:
    evenings(house, people, 8, lambda n: 5, **in_colour())
    before = told(NOW, COLOUR).course
    past = Past(house)
    for back in range(1, 40):
        past.loose(NOW - back * DAY, 30, "P-CO", kind="cleaning", who="house")
    past.record(NOW)
    assert told(NOW, COLOUR).course == before


def test_of_a_booking_in_progress_only_the_hours_that_are_left_are_ahead(house: Any, people: list[Any]) -> None:
    evenings(house, people, 10, lambda n: 10, **in_colour())
    booked_ahead(house, people[0], TODAY, hour=18)

    def ahead(hour: float) -> tuple[float, float]:
        found = told(local(TODAY, hour), COLOUR)
        return found.course.booked_h, found.course.by_day[0]

    assert [ahead(hour)[0] for hour in (17, 18, 19, 20.5, 21)] == [3, 3, 2, 0.5, 0]
    areas = [ahead(hour)[1] for hour in (18, 19, 20.5, 21.5)]
    assert areas == sorted(areas, reverse=True) and areas[0] - areas[2] > 8 * SHEET_MM2
    assert told(local(TODAY, 20), COLOUR).course.sessions == told(local(TODAY, 17), COLOUR).course.sessions == 60
    assert told(local(TODAY, 21), COLOUR).course.sessions == 61


def test_where_sheets_go_through_another_processor_than_was_booked_that_one_is_expected_to_be_used(
    house: Any, people: list[Any]
) -> None:
    house.processors["P-R2"], _ = stations.describe_processor(
        code="P-R2", name="Second RC", process=house.processes["rc"], feed_width_mm=508, booths_at_once=2,
        now=datetime(2026, 1, 1, tzinfo=NOW.tzinfo),
    )  # fmt: skip
    makers.bath(house, "P-R2", "dev", dosing="batch", volume_ml=3000, capacity="1.6")
    evenings(house, people, 12, lambda n: 10, machine="P-R2", made_days=1)
    assert {stay.processor for stay in facts(NOW).stays} == {house.processors["P-RC"].pk}
    seen = {}
    for ahead in (False, True):
        with InAnotherDatabase():
            if ahead:
                booking = booked_ahead(house, people[0], TODAY + 6 * DAY, process="rc", station="E1")
                assert booking.processor == house.processors["P-RC"]
            seen[ahead] = [told(NOW, bath).course.mean[28] for bath in (RC, ("P-R2", "dev"))]
    assert seen[False][1] > 8 * seen[False][0] > 0
    assert seen[True][1] - seen[False][1] > 8 * (seen[True][0] - seen[False][0])
    # nothing is lost on the way, and nothing counted twice
    assert 0.75 * 240 * SHEET_MM2 < sum(seen[False]) < 1.3 * 240 * SHEET_MM2
