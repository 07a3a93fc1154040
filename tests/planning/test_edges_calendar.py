"""The forecast over changes of the clock, closures, machines out of service and houses that are always open."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from studiodesk.bookings.actions import book, close_processor, reopen
from studiodesk.planning.queries import Foretold, foretell
from studiodesk.stations import actions as stations
from studiodesk.stations.rules import Shut
from studiodesk.timekeeping import Span
from tests import makers
from tests.planning.evenings import SHEET_MM2, Past, expected, facts, local, refill, told
from tests.planning.histories import InAnotherDatabase

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = date(2026, 11, 25)  # a Wednesday
NOW = local(TODAY, 9)
COLOUR, RC = ("P-CO", "dev"), ("P-RC", "dev")
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)
CHANGES = {date(2025, 10, 26), SPRING, AUTUMN, date(2027, 3, 28)}


def evenings(house: Any, until: date, weeks: int, shut: tuple[date, date] | None = None) -> list[Any]:
    """Six people, each an evening a week, Tuesday to Sunday, ten sheets of colour; none while the house was shut."""
    people = [makers.member(name) for name in ("Adri", "Bente", "Cato", "Dirk", "Els", "Finn")]
    past = Past(house)
    for back in range(1, 7 * weeks + 1):
        day = until - back * DAY
        if day.weekday() and not (shut and shut[0] <= day <= shut[1]):
            past.stay(
                people[day.weekday() - 1], local(day, 18), sheets=10, process="ra4", machine="P-CO", station="E3",
                made_days=1,
            )  # fmt: skip
    past.record(local(until, 0))
    return people


def by_day(found: Foretold) -> dict[date, float]:
    return {found.course.day(n): area for n, area in enumerate(found.course.by_day)}


# --- clocks ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("sunday", "long"), [(SPRING, 23), (AUTUMN, 25)])
def test_a_day_on_which_the_clock_changes_is_as_long_as_it_is(house: Any, sunday: date, long: int) -> None:
    """A house open by day and night; the change lies ahead, behind, and on the day itself."""
    stations.set_opening(week={day: [(0, 1440)] for day in range(7)})
    for at in (local(sunday - 5 * DAY, 12), local(sunday + 5 * DAY, 12), local(sunday, 0)):
        known = facts(at)
        hours = dict(known.open_hours)
        hours[known.today] += known.today_gone
        assert hours[sunday] == long
        assert {length for day, length in hours.items() if day not in CHANGES} == {24}
        assert list(hours)[-1] == known.today + 120 * DAY
    before, after = local(sunday, 1), local(sunday, 5)
    assert (facts(before).today_gone, facts(after).today_gone) == (1, 5 + long - 24)
    assert facts(after).open_hours[sunday] == 19


@pytest.mark.parametrize("sunday", [SPRING, AUTUMN])
def test_over_a_change_of_the_clock_evenings_stay_on_their_days(house: Any, sunday: date) -> None:
    people = evenings(house, sunday - 4 * DAY, 10)
    refill(house, local(sunday - 6 * DAY, 12), local(sunday - 6 * DAY, 12))
    now = local(sunday - 4 * DAY, 9)
    without = told(now, COLOUR)
    booked = {}
    for day, hour in ((sunday, 17), (sunday + 2 * DAY, 11)):
        with InAnotherDatabase():
            book(
                member=people[0], station=house.stations["E3"], process=house.processes["ra4"], by=people[0], now=now,
                starts=local(day, hour + 1), ends=local(day, hour + 4),
            )  # fmt: skip
            found = told(now, COLOUR)
        assert found.course.booked_h == 3
        changed = {one for one, area in by_day(found).items() if abs(area - by_day(without)[one]) > SHEET_MM2 / 10}
        booked[day] = changed
    assert booked == {sunday: {sunday}, sunday + 2 * DAY: {sunday + 2 * DAY}}
    assert without.passage.age_day == sunday + 15 * DAY  # 21 times 24 hours, an hour off by the clock, the same day


@pytest.mark.parametrize("sunday", [SPRING, AUTUMN])
@pytest.mark.parametrize("hour", [0, 1.5, 2.5, 3, 23.9])
def test_made_on_the_day_of_the_change_it_begins_with_that_day_and_has_121(
    house: Any, sunday: date, hour: float
) -> None:
    evenings(house, sunday, 6)
    for found in foretell(local(sunday, hour), live=True):
        days = list(by_day(found))
        assert days == [sunday + n * DAY for n in range(121)]
    assert (by_day(told(local(sunday, hour), COLOUR))[sunday] > 0) == (hour < 22)


def test_far_from_greenwich_a_day_is_the_house_s_own(house: Any) -> None:
    for name, day in (("Pacific/Kiritimati", date(2026, 11, 26)), ("Pacific/Pago_Pago", date(2026, 11, 25))):
        stations.describe_studio(name="Ostermill Darkroom", time_zone=name, currency="EUR", grid_minutes=15)
        at = datetime(2026, 11, 25, 23, tzinfo=ZoneInfo("UTC"))
        assert at.astimezone(ZoneInfo(name)).date() == day
        assert next(iter(by_day(told(at, COLOUR)))) == day


# --- closures --------------------------------------------------------------------------------------------------------


def test_on_days_on_which_the_house_will_be_closed_no_sheet_is_expected(house: Any) -> None:
    evenings(house, TODAY, 10)
    open_then = by_day(told(NOW, COLOUR))
    first, last = date(2026, 12, 22), date(2027, 1, 3)
    stations.set_closures(closures=[Shut(first, last, "winter break")])
    found = by_day(told(NOW, COLOUR))
    assert {day for day, area in found.items() if area == 0} == {
        day for day in found if first <= day <= last or day.weekday() == 0
    }
    assert all(
        area == pytest.approx(open_then[day], rel=1e-9) for day, area in found.items() if not first <= day <= last
    )


def test_a_closure_behind_is_not_taken_for_weeks_in_which_nobody_cared_to_come(house: Any) -> None:
    shut = (TODAY - 28 * DAY, TODAY - 8 * DAY)
    evenings(house, TODAY, 12, shut)
    careless = told(NOW, COLOUR).course.mean[28]
    stations.set_closures(closures=[Shut(*shut, "works")])
    known = told(NOW, COLOUR).course.mean[28]
    usual = 24 * 10 * SHEET_MM2
    assert careless < 0.6 * usual < 0.8 * usual < known < 1.1 * usual


def test_a_stay_that_is_booked_into_a_closure_still_counts(house: Any) -> None:
    """It was there first; whether it is moved is for people to say."""
    people = evenings(house, TODAY, 10)
    day = TODAY + 9 * DAY
    book(
        member=people[0], station=house.stations["E3"], process=house.processes["ra4"], by=people[0], now=NOW,
        starts=local(day, 18), ends=local(day, 21),
    )  # fmt: skip
    stations.set_closures(closures=[Shut(day, day, "works")])
    found = told(NOW, COLOUR)
    assert found.course.booked_h == 3 and 10 * SHEET_MM2 < by_day(found)[day] < 16 * SHEET_MM2


# --- out of service --------------------------------------------------------------------------------------------------


@pytest.fixture
def sef(house: Any) -> Any:
    return makers.member("Sef", is_staff=True)


def out_of_service(house: Any, sef: Any, first: datetime, last: datetime, machine: str = "P-CO") -> None:
    close_processor(
        processor=house.processors[machine], span=Span(first, last), reason="pump", now=NOW, by=sef, cause="fault"
    )


def test_while_a_processor_is_out_of_service_nothing_is_expected_through_it_and_the_others_go_on(
    house: Any, sef: Any
) -> None:
    evenings(house, TODAY, 10)
    before, beside = by_day(told(NOW, COLOUR)), by_day(told(NOW, RC))
    out_of_service(house, sef, local(TODAY + 3 * DAY, 0), local(TODAY + 17 * DAY, 0))
    found = told(NOW, COLOUR)
    assert expected(found, TODAY + 3 * DAY, TODAY + 16 * DAY) == 0
    days = [*range(3), *range(17, 121)]
    assert [by_day(found)[TODAY + n * DAY] for n in days] == pytest.approx([before[TODAY + n * DAY] for n in days])
    assert by_day(told(NOW, RC)) == beside
    reopen(
        thing=house.processors["P-CO"],
        span=Span(local(TODAY + 10 * DAY, 0), local(TODAY + 17 * DAY, 0)),
        now=NOW,
        by=sef,
    )
    again = told(NOW, COLOUR)
    assert expected(again, TODAY + 10 * DAY, TODAY + 16 * DAY) == pytest.approx(
        sum(before[TODAY + n * DAY] for n in range(10, 17))
    )
    assert expected(again, TODAY + 3 * DAY, TODAY + 9 * DAY) == 0


def test_half_an_opening_day_out_of_service_leaves_half_of_what_nobody_has_booked_yet(house: Any, sef: Any) -> None:
    evenings(house, TODAY, 10)
    day = TODAY + 10 * DAY
    before = by_day(told(NOW, COLOUR))[day]
    out_of_service(house, sef, local(day, 4), local(day, 16))  # open from 10 to 22
    assert by_day(told(NOW, COLOUR))[day] == pytest.approx(before / 2)


def test_what_was_taken_out_of_service_later_is_not_known_before(house: Any, sef: Any) -> None:
    """Nobody writes down when: looking back, a processor counts as it was, in service."""
    evenings(house, TODAY, 10)
    before = told(NOW, COLOUR, live=False)
    out_of_service(house, sef, local(TODAY + 3 * DAY, 0), local(TODAY + 17 * DAY, 0))
    assert told(NOW, COLOUR, live=False).course == before.course


# --- always open -----------------------------------------------------------------------------------------------------


def test_a_house_that_never_said_when_it_is_open_is_expected_to_be_used_on_every_day(house: Any, sef: Any) -> None:
    evenings(house, TODAY, 10)
    stations.set_opening(week={})
    found = told(NOW, COLOUR)
    days = [TODAY + n * DAY for n in range(1, 121)]
    assert all(by_day(found)[day] > 0 for day in days)
    usual = 24 * 10 * SHEET_MM2
    assert 0.8 * usual < expected(found, TODAY + DAY, TODAY + 28 * DAY) < 1.15 * usual
    # a weekday on which nobody ever came is foretold less than the others
    week = [by_day(found)[TODAY + n * DAY] for n in range(110, 117)]
    assert sorted(week)[0] == next(by_day(found)[day] for day in days[109:116] if day.weekday() == 0)
    assert sorted(week)[0] < 0.6 * sorted(week)[1]
    out_of_service(house, sef, local(TODAY + 3 * DAY, 0), local(TODAY + 17 * DAY, 0))
    assert expected(told(NOW, COLOUR), TODAY + 3 * DAY, TODAY + 16 * DAY) == 0


def test_open_by_day_and_night_is_the_same_as_never_having_said(house: Any) -> None:
    evenings(house, TODAY, 10)
    seen = []
    for week in ({}, {day: [(0, 1440)] for day in range(7)}, {day: [(0, 600), (600, 1440)] for day in range(7)}):
        stations.set_opening(week=week)
        seen.append(told(NOW, COLOUR).course)
    assert seen[0] == seen[1] == seen[2]
