"""Since when a processor counts, and what of the past was no open time: out of service, closed, never opened."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from studiodesk.bookings.actions import close_processor, reopen
from studiodesk.chemistry.models import BathSetting
from studiodesk.stations import actions as stations
from studiodesk.stations.rules import Shut
from studiodesk.timekeeping import Span
from tests import makers
from tests.planning.evenings import SHEET_MM2, Past, expected, facts, local, refill, told

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = date(2026, 11, 25)  # a Wednesday
NOW = local(TODAY, 9)
COLOUR = ("P-CO", "dev")
SIX_A_WEEK = 24 * 10 * SHEET_MM2  # in four weeks


def since(house: Any, code: str = "P-CO") -> Any:
    return next(one.since for one in facts(NOW).machines if one.pk == house.processors[code].pk)


def evenings(house: Any, days: range, **more: Any) -> None:
    """Ten sheets on each of these days back but Mondays, booked the evening before."""
    adri, past = makers.member("Adri"), Past(house)
    for back in days:
        day = TODAY - back * DAY
        if day.weekday():
            past.stay(adri, local(day, 18), sheets=10, made_days=1, **more)
    past.record(local(TODAY, 0))


def in_colour() -> dict[str, str]:
    return {"process": "ra4", "machine": "P-CO", "station": "E3"}


# --- since when ------------------------------------------------------------------------------------------------------


def test_a_stray_sheet_is_no_beginning_of_a_processor_described_with_the_first(house: Any) -> None:
    """It stood idle for sixteen weeks; one sheet of last week does not make these weeks unseen."""
    evenings(house, range(1, 113))
    first = since(house, "P-RC")
    past = Past(house)
    past.loose(NOW - 6 * DAY, 1, "P-CO")
    past.record(NOW)
    assert since(house) == first == local(TODAY - 112 * DAY, 18)
    assert expected(told(NOW, COLOUR), TODAY + DAY, TODAY + 28 * DAY) < SIX_A_WEEK / 10


@pytest.mark.parametrize("sign", ["a filling", "a stay"])
def test_a_filling_or_a_stay_is_a_beginning(house: Any, sign: str) -> None:
    evenings(house, range(1, 113))
    began = local(TODAY - 5 * DAY, 18)
    if sign == "a filling":
        refill(house, began, began)
    else:
        evenings(house, range(5, 6), **in_colour())
    assert since(house) == began


def test_a_processor_described_later_counts_from_then_or_from_its_first_sheets_before(house: Any) -> None:
    evenings(house, range(1, 113))
    entered = NOW - 20 * DAY
    BathSetting.objects.filter(bath__processor=house.processors["P-CO"]).update(entered_at=entered)
    assert since(house) == entered
    past = Past(house)
    past.loose(NOW - 30 * DAY, 1, "P-CO")
    past.record(NOW)
    assert since(house) == NOW - 30 * DAY


def test_in_a_house_that_never_said_when_it_is_open_a_closure_still_closes(house: Any) -> None:
    evenings(house, range(1, 71), **in_colour())
    stations.set_opening(week={})
    holidays = (TODAY + 7 * DAY, TODAY + 13 * DAY)
    stations.set_closures(closures=[Shut(*holidays, "holidays"), Shut(TODAY - 9 * DAY, TODAY - 8 * DAY, "works")])
    hours = facts(NOW).open_hours
    closed = {day for day, length in hours.items() if length == 0}
    assert closed == {TODAY + n * DAY for n in (*range(7, 14), -9, -8)}
    assert hours[TODAY + 14 * DAY] == 24
    assert expected(told(NOW, COLOUR), *holidays) == 0


# --- out of service --------------------------------------------------------------------------------------------------


def shut_for(house: Any, first: int, last: int) -> None:
    """P-CO out of service from ``first`` to ``last`` days back, and said when it began."""
    sef = makers.member("Sef", is_staff=True)
    span = Span(local(TODAY - first * DAY, 0), local(TODAY - last * DAY, 0))
    close_processor(processor=house.processors["P-CO"], span=span, reason="pump", now=span.starts, by=sef)


@pytest.mark.parametrize("live", [True, False])
def test_weeks_out_of_service_are_not_taken_for_weeks_in_which_nobody_cared_to_come(house: Any, live: bool) -> None:
    evenings(house, range(29, 85), **in_colour())
    past = Past(house)
    for back in (3, 10, 17, 24, 31, 38, 45, 52):
        past.loose(local(TODAY - back * DAY, 15), 20, "P-CO")
    past.record(NOW)
    idle = told(NOW, COLOUR, live=live).course.mean[28]
    shut_for(house, 28, 0)
    known = told(NOW, COLOUR, live=live).course.mean[28]
    assert idle < 0.75 * SIX_A_WEEK < 0.85 * SIX_A_WEEK < known
    assert expected(told(NOW, ("P-RC", "dev"), live=live), TODAY, TODAY + 28 * DAY) > 0


def test_hours_out_of_service_count_within_the_opening_hours_and_only_until_it_was_given_back(house: Any) -> None:
    evenings(house, range(29, 85), **in_colour())
    sef = makers.member("Sef", is_staff=True)
    day = TODAY - 8 * DAY  # a Tuesday, open from 10 to 22
    close_processor(
        processor=house.processors["P-CO"], span=Span(local(day, 8), local(day + DAY, 16)), reason="pump",
        now=local(day, 8), by=sef,
    )  # fmt: skip
    reopen(
        thing=house.processors["P-CO"],
        span=Span(local(day + DAY, 13), local(day + DAY, 16)),
        now=local(day + DAY, 13),
        by=sef,
    )
    found = facts(NOW)
    machines = {one.pk: one for one in found.machines}
    colour, rc = (machines[house.processors[code].pk] for code in ("P-CO", "P-RC"))
    assert [found.hours_behind(colour, day + n * DAY) for n in range(3)] == pytest.approx([0, 9, 12])
    assert [found.hours_behind(rc, day + n * DAY) for n in range(3)] == [12, 12, 12]
    assert (found.open_hours[TODAY], found.today_gone) == (12, 0)
