"""Night by night: which forecasts are held against what came, when, and what of it is written down."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from studiodesk.chemistry.actions import record_bath_entry
from studiodesk.chemistry.models import BathSetting
from studiodesk.planning.actions import forecast_tonight, keep_forecasts, score_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import score
from studiodesk.planning.rules.score import share_of
from studiodesk.stations.models import Studio
from tests import makers
from tests.planning.evenings import SHEET_MM2, Past, local, refill, told

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = date(2026, 11, 25)  # a Wednesday
COLOUR = ("P-CO", "dev")  # a batch of 4.8 m², 21 days: 94 sheets of 8×10 in


def nights(first: date, last: date) -> None:
    while first <= last:
        forecast_tonight(now=local(first, 3))
        first += DAY


def rows(house: Any, bath: tuple[str, str] = COLOUR, **more: Any) -> list[KeptForecast]:
    return list(KeptForecast.objects.filter(bath=house.baths[bath], **more).order_by("at", "pk"))


def feed(house: Any, day: date, many: int, machine: str = "P-CO") -> None:
    past = Past(house)
    past.loose(local(day, 18), many, machine)
    past.record(local(day, 18))


@pytest.fixture
def filled(house: Any) -> Any:
    refill(house, local(TODAY, 0), local(TODAY, 0), COLOUR)
    forecast_tonight(now=local(TODAY, 3))
    return house


def test_a_tank_that_use_ends_is_scored_in_the_night_after(filled: Any) -> None:
    feed(filled, TODAY + 2 * DAY, 50)
    nights(TODAY + DAY, TODAY + 4 * DAY)
    feed(filled, TODAY + 4 * DAY, 50)
    score_forecasts(now=local(TODAY + 4 * DAY, 23))
    assert [row.scored_at for row in rows(filled)] == [None] * 5
    later = local(TODAY + 5 * DAY, 3)
    # every night so far, the other baths have no limit in reach
    assert score_forecasts(now=later) == 5
    assert {(row.scored_at, row.passed_on) for row in rows(filled)} == {(later, TODAY + 4 * DAY)}
    assert score_forecasts(now=later + DAY) == 0
    assert not rows(filled, ("P-RC", "dev"), scored_at__isnull=False)


def test_what_an_idle_day_takes_of_a_tank_is_kept_and_ends_it_although_nothing_went_through(house: Any) -> None:
    """A turnover limit of 10.8 L; a day without sheets asks 1.2 L of it, as 5 m² would at 240 mL a square metre."""
    bath = ("P-RC", "extra")
    row = makers.bath(house, *bath, dosing="hand", volume_ml=9000, rate=240, unit_ml=50, idle_ml_per_day=1200)
    BathSetting.objects.filter(bath=row).update(turnover_limit="1.2")
    refill(house, local(TODAY, 0), local(TODAY, 0), bath)
    forecast_tonight(now=local(TODAY, 3))
    kept = rows(house, bath)[0]
    assert (kept.room_mm2, kept.idle_mm2, kept.nearest) == (45_000_000, 5_000_000, "turnovers")
    score_forecasts(now=local(TODAY + 9 * DAY, 3))
    assert rows(house, bath)[0].passed_on == TODAY + 8 * DAY


def test_a_tank_that_age_ends_is_scored_on_that_day_although_nothing_went_through(filled: Any) -> None:
    nights(TODAY + 20 * DAY, TODAY + 21 * DAY)
    assert [row.passed_on for row in rows(filled, day=TODAY)] == [None]
    nights(TODAY + 22 * DAY, TODAY + 22 * DAY)
    row = rows(filled, day=TODAY)[0]
    assert (row.p90, row.passed_on, row.was_inside) == (TODAY + 21 * DAY, TODAY + 21 * DAY, True)


def test_a_filling_in_between_does_not_stop_the_count_of_what_was_foretold(filled: Any) -> None:
    feed(filled, TODAY + DAY, 50)
    refill(filled, local(TODAY + 2 * DAY, 12), local(TODAY + 2 * DAY, 12), COLOUR)
    feed(filled, TODAY + 3 * DAY, 50)
    score_forecasts(now=local(TODAY + 4 * DAY, 3))
    assert rows(filled)[0].passed_on == TODAY + 3 * DAY


def test_beyond_the_horizon_no_day_is_written_down(house: Any) -> None:
    past = Past(house)
    for week in range(1, 18):  # so few that the tank may or may not last four months; afterwards none
        past.loose(local(TODAY - week * WEEK, 18), 2 + week % 3, "P-CO")
    past.record(local(TODAY, 0))
    forecast_tonight(now=local(TODAY, 3))  # never filled: it has no age
    score_forecasts(now=local(TODAY + 120 * DAY, 3))
    row = rows(house, day=TODAY)[0]
    assert (row.p10 is not None, row.p90, row.scored_at) == (True, None, None)
    score_forecasts(now=local(TODAY + 121 * DAY, 3))
    row = rows(house, day=TODAY)[0]
    assert (row.passed_on, row.was_inside) == (None, True)
    # a bath without any limit in reach has nothing that could be inside
    beside = rows(house, ("P-RC", "dev"), day=TODAY)[0]
    assert (beside.scored_at, beside.was_inside) == (row.scored_at, None)


def test_of_the_forecasts_of_one_bath_and_week_the_first_with_a_range_counts(filled: Any) -> None:
    for day in range(10):  # Wednesday to the Friday after next Monday: two weeks by the calendar
        feed(filled, TODAY + day * DAY, 4)
        nights(TODAY + (day + 1) * DAY, TODAY + (day + 1) * DAY)
    # what names one day only is not what counts
    KeptForecast.objects.filter(bath=filled.baths[COLOUR], day=TODAY).update(p90=F("p10"), p50=F("p10"))
    feed(filled, TODAY + 10 * DAY, 100)
    score_forecasts(now=local(TODAY + 11 * DAY, 3))
    counted = [row.day for row in rows(filled, was_inside__isnull=False)]
    assert counted == [TODAY + DAY, TODAY + 5 * DAY]
    assert all(row.passed_on == TODAY + 10 * DAY for row in rows(filled))
    found = score()
    assert found.of == 2 and found.inside == sum(bool(row.was_inside) for row in rows(filled))
    score_forecasts(now=local(TODAY + 12 * DAY, 3))
    assert score() == found


def test_what_was_asked_for_by_day_is_not_scored(filled: Any) -> None:
    keep_forecasts(now=local(TODAY, 15))
    feed(filled, TODAY + DAY, 100)
    score_forecasts(now=local(TODAY + 2 * DAY, 3))
    assert [(row.why, row.passed_on) for row in rows(filled)] == [("nightly", TODAY + DAY), ("asked", None)]


@pytest.mark.parametrize("how", ["use", "age", "a person"])
def test_a_tank_past_its_limit_already_foretells_nothing_that_could_be_right(house: Any, how: str) -> None:
    long_ago = local(TODAY - (22 if how == "age" else 2) * DAY, 12)
    refill(house, long_ago, long_ago, COLOUR)
    if how == "use":
        feed(house, TODAY - DAY, 100)
    if how == "a person":
        at = local(TODAY - DAY, 12)
        record_bath_entry(bath=house.baths[COLOUR], event="condemned", at=at, now=at, note="smells")
    forecast_tonight(now=local(TODAY, 3))
    feed(house, TODAY + DAY, 100)
    for days in (2, 30, 121):
        score_forecasts(now=local(TODAY + days * DAY, 3))
        row = rows(house, day=TODAY)[0]
        assert (row.passed_on, row.was_inside) == (None, None)
    assert (row.p10, row.p90, row.room_mm2, row.age_ends_at) == (TODAY, TODAY, None, None)
    assert row.shares  # the area through it was foretold all the same
    assert score().of == 0


def test_the_course_is_dropped_once_all_that_it_was_kept_for_is_known(filled: Any) -> None:
    feed(filled, TODAY + 4 * DAY, 100)
    seen = {}
    for days in (3, 8, 15, 29):
        score_forecasts(now=local(TODAY + days * DAY, 3))
        row = rows(filled)[0]
        seen[days] = (len(row.course), sorted(row.shares, key=int), row.passed_on is not None)
    assert seen == {
        3: (121, [], False), 8: (121, ["7"], True), 15: (121, ["7", "14"], True), 29: (0, ["7", "14", "28"], True),
    }  # fmt: skip
    kept = rows(filled)[0]
    score_forecasts(now=local(TODAY + 40 * DAY, 3))
    again = rows(filled)[0]
    assert (again.shares, again.passed_on, again.scored_at) == (kept.shares, kept.passed_on, kept.scored_at)
    # the bath beside it has no limit in reach: its course is needed until the horizon is behind
    assert len(rows(filled, ("P-RC", "dev"))[0].course) == 121


def test_a_share_is_written_once_by_what_was_known_in_the_night_after_its_span(filled: Any) -> None:
    feed(filled, TODAY + 3 * DAY, 10)
    score_forecasts(now=local(TODAY + 8 * DAY, 3))
    first = rows(filled)[0].shares
    assert set(first) == {"7"}
    feed(filled, TODAY + 5 * DAY, 30)  # written down late: what went through since counts for the longer spans
    score_forecasts(now=local(TODAY + 15 * DAY, 3))
    then = rows(filled)[0].shares
    assert set(then) == {"7", "14"} and then["7"] == first["7"]
    mean, variance = rows(filled)[0].course[14]
    assert then["14"] == pytest.approx(share_of(mean, variance, 40 * SHEET_MM2))


def written(now: datetime) -> list[str]:
    """The statements that write forecasts while they are scored."""
    with CaptureQueriesContext(connection) as asked:
        score_forecasts(now=now)
    table = KeptForecast._meta.db_table
    return [one["sql"] for one in asked if one["sql"].startswith("UPDATE") and table in one["sql"]]


def test_where_nothing_has_come_due_nothing_is_written(filled: Any) -> None:
    nights(TODAY + DAY, TODAY + 3 * DAY)
    assert written(local(TODAY + 4 * DAY, 3)) == []
    feed(filled, TODAY + 4 * DAY, 100)
    due = written(local(TODAY + 5 * DAY, 3))
    # the four nights of the one bath whose limit was met, each by its own key, and no other bath's
    keys = {str(row.pk) for row in rows(filled)}
    others = set(map(str, KeptForecast.objects.exclude(bath=filled.baths[COLOUR]).values_list("pk", flat=True)))
    told_of = {word for sql in due for word in re.findall(r"\d+", sql.rpartition(" IN ")[2])}
    assert len(keys) == 4 and keys <= told_of and not told_of & others
    assert written(local(TODAY + 5 * DAY, 4)) == []


def test_while_forecasts_are_scored_the_studio_s_row_is_held(filled: Any) -> None:
    """Two workers that score at once would both count one week; PostgreSQL shows the lock, SQLite has one writer."""
    with CaptureQueriesContext(connection) as asked:
        score_forecasts(now=local(TODAY + 5 * DAY, 3))
    said = [one["sql"] for one in asked]
    studio = next(n for n, sql in enumerate(said) if f'FROM "{Studio._meta.db_table}"' in sql)
    kept = next(n for n, sql in enumerate(said) if f'FROM "{KeptForecast._meta.db_table}"' in sql)
    assert studio < kept
    if connection.vendor == "postgresql":
        assert "FOR UPDATE" in said[studio] or "FOR NO KEY UPDATE" in said[studio]


def test_weeks_that_bring_six_times_what_they_brought_widen_that_processor_alone(house: Any) -> None:
    adri, past = makers.member("Adri"), Past(house)
    past.weekly(adri, TODAY - timedelta(weeks=13), 13, 10, machine="P-CO", process="ra4", station="E3")
    past.weekly(adri, TODAY - timedelta(weeks=13), 13, 10, hour=12)
    past.weekly(adri, TODAY, 4, 60, machine="P-CO", process="ra4", station="E3")
    past.weekly(adri, TODAY, 4, 10, hour=12)
    past.record(local(TODAY - DAY, 0))
    for week in range(5):
        nights(TODAY + 7 * week * DAY, TODAY + (7 * week + 1) * DAY)
    now = local(TODAY + 30 * DAY, 12)
    assert told(now, COLOUR).widened > 1.3
    assert told(now, ("P-RC", "dev")).widened < 1.05
    first, *_rest, last = rows(house, day__gte=TODAY)
    assert last.widened > 1.3 > first.widened
