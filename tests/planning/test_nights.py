"""When forecasts are made: once a local night, after a filling, twelve weeks back on the first night; and once only."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from studiodesk import tasks
from studiodesk.chemistry.actions import log_sheets, record_past_entries, take_back_entry
from studiodesk.chemistry.models import Bath, BathEntry
from studiodesk.chemistry.rules.past import PastEntry
from studiodesk.journal.models import Entry
from studiodesk.planning.actions import forecast_tonight, keep_forecasts, score_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import latest
from studiodesk.stations import actions as stations
from tests import makers
from tests.planning.evenings import AMSTERDAM, SHEET_MM2, Past, local, refill

DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)
BATHS = 3
WEDNESDAY = date(2026, 11, 25)


def nights() -> list[tuple[date, int]]:
    """Local day → how many baths were foretold in its night."""
    return sorted(Counter(KeptForecast.objects.filter(why="nightly").values_list("day", flat=True)).items())


def tick_over(first: datetime, last: datetime, step: timedelta) -> int:
    kept, at = 0, first
    while at <= last:
        kept += forecast_tonight(now=at)
        at += step
    return kept


def move_to(zone: str) -> ZoneInfo:
    stations.describe_studio(name="Ostermill Darkroom", time_zone=zone, currency="EUR", grid_minutes=15)
    return ZoneInfo(zone)


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        ("Pacific/Kiritimati", date(2026, 11, 23)),
        ("Europe/Amsterdam", date(2026, 10, 23)),  # the clock goes back in the night to the 25th
        ("Europe/Amsterdam", date(2026, 3, 27)),  # and forward in the night to the 29th
        ("America/Los_Angeles", date(2026, 10, 30)),  # back on 1 November
        ("America/Los_Angeles", date(2026, 3, 6)),  # forward on 8 March
        ("Australia/Lord_Howe", date(2026, 10, 2)),  # forward by half an hour on the 4th
    ],
)
def test_each_local_night_has_one_forecast_of_each_bath_however_often_the_timer_ticks(
    house: Any, zone: str, first: date
) -> None:
    there = move_to(zone)
    kept = tick_over(local(first, 12, there), local(first + 4 * DAY, 12, there), timedelta(minutes=53))
    days = [first + n * DAY for n in range(5)]
    assert nights() == [(day, BATHS) for day in days]  # the first is made up for at once, the others at 3
    assert kept == BATHS * len(days)
    for day in days[1:]:
        at = KeptForecast.objects.filter(day=day).earliest("at").at
        assert local(day, 3, there) <= at < local(day, 3, there) + timedelta(minutes=53)


@pytest.mark.parametrize("zone", ["Europe/Amsterdam", "America/St_Johns"])
def test_the_night_begins_at_three_by_the_clock_of_the_house(house: Any, zone: str) -> None:
    there = move_to(zone)
    three = local(WEDNESDAY, 3, there)
    assert forecast_tonight(now=three - DAY) == BATHS
    assert forecast_tonight(now=three - MINUTE) == 0
    assert forecast_tonight(now=three) == BATHS
    assert forecast_tonight(now=three + MINUTE) == 0
    assert nights() == [(WEDNESDAY - DAY, BATHS), (WEDNESDAY, BATHS)]


def test_on_both_nights_of_a_clock_change_three_o_clock_comes_once(house: Any) -> None:
    for sunday in (date(2026, 3, 29), date(2026, 10, 25)):
        before = local(sunday - DAY, 12)
        forecast_tonight(now=before)
        made = [minute for minute in range(12 * 60, 17 * 60, 4) if forecast_tonight(now=before + minute * MINUTE)]
        assert [(before + minute * MINUTE).astimezone(AMSTERDAM).strftime("%a %H:%M") for minute in made] == [
            "Sun 03:00"
        ]


def test_a_night_that_was_missed_is_made_up_for_in_the_morning_and_older_ones_are_not(house: Any) -> None:
    forecast_tonight(now=local(WEDNESDAY - 5 * DAY, 3))
    assert forecast_tonight(now=local(WEDNESDAY, 9.5)) == BATHS
    assert forecast_tonight(now=local(WEDNESDAY, 9.6)) == 0
    assert nights() == [(WEDNESDAY - 5 * DAY, BATHS), (WEDNESDAY, BATHS)]
    # between midnight and three last night's is still owed, and counts for the day that has begun
    assert [forecast_tonight(now=local(WEDNESDAY + 2 * DAY, hour)) for hour in (1, 1.1, 2.9)] == [BATHS, 0, 0]
    assert forecast_tonight(now=local(WEDNESDAY + 2 * DAY, 3)) == 0
    assert forecast_tonight(now=local(WEDNESDAY + 3 * DAY, 3)) == BATHS


def test_a_filling_makes_a_new_forecast_within_the_next_tick_and_none_after_that(house: Any) -> None:
    night = local(WEDNESDAY, 3)
    forecast_tonight(now=night)
    assert forecast_tonight(now=night + 9 * 60 * MINUTE) == 0
    filled = night + 10 * 60 * MINUTE
    refill(house, filled, filled)
    assert forecast_tonight(now=filled + MINUTE) == BATHS
    bath = house.baths["P-CO", "dev"]
    row = latest([bath])[bath.pk]
    assert (row.why, row.tank_since, row.at) == ("bath change", filled, filled + MINUTE)
    assert row.p50 == date(2026, 12, 16)  # 21 days: what only the new tank can know
    assert [forecast_tonight(now=filled + n * MINUTE) for n in range(2, 6)] == [0] * 4
    # one that is written down late, and one that is taken back
    refill(house, filled - 30 * MINUTE, filled + 9 * MINUTE, ("P-RC", "fix"))
    assert [forecast_tonight(now=filled + n * MINUTE) for n in (10, 11)] == [BATHS, 0]
    take_back_entry(entry=BathEntry.objects.get(bath=bath), note="a slip", now=filled + 12 * MINUTE)
    assert [forecast_tonight(now=filled + n * MINUTE) for n in (13, 14)] == [BATHS, 0]
    assert latest([bath])[bath.pk].tank_since is None
    assert nights() == [(WEDNESDAY, BATHS)]


def test_a_bath_that_is_described_by_day_is_foretold_at_the_next_tick(house: Any) -> None:
    night = local(WEDNESDAY, 3)
    forecast_tonight(now=night)
    makers.bath(house, "P-CO", "blix", dosing="batch", volume_ml=3000, capacity="2.4", age_days=35)
    assert [forecast_tonight(now=night + n * MINUTE) for n in (700, 701)] == [BATHS + 1, 0]


def test_a_history_that_is_imported_by_day_makes_new_forecasts_at_the_next_tick_and_once(house: Any) -> None:
    night = local(WEDNESDAY, 3)
    forecast_tonight(now=night)
    before = latest()[house.baths["P-RC", "dev"].pk].history_sessions
    past = Past(house)
    past.weekly(makers.member("Adri"), WEDNESDAY - 70 * DAY, 10, 20)
    past.record(night + 600 * MINUTE)
    assert [forecast_tonight(now=night + n * MINUTE) for n in (601, 602, 603)] == [BATHS, 0, 0]
    row = latest()[house.baths["P-RC", "dev"].pk]
    assert (before, row.history_sessions, row.why) == (0, 10, "bath change")
    # sheets logged at the counter are the night's business
    log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=2, kind="print", who="walk-in",
        fed_at=night + 604 * MINUTE, now=night + 604 * MINUTE,
    )  # fmt: skip
    assert forecast_tonight(now=night + 605 * MINUTE) == 0


def test_a_filling_that_a_file_tells_of_tomorrow_makes_no_forecast_each_minute_until_then(house: Any) -> None:
    night, tomorrow = local(WEDNESDAY, 3), local(WEDNESDAY + DAY, 12)
    bath = house.baths["P-CO", "dev"]
    record_past_entries([PastEntry(tomorrow, bath.pk, "refill", None, None, "", "e1")], night - DAY)
    forecast_tonight(now=night)
    assert [forecast_tonight(now=night + n * MINUTE) for n in (1, 2, 3)] == [0, 0, 0]
    forecast_tonight(now=night + DAY)
    assert [forecast_tonight(now=tomorrow + n * MINUTE) for n in (-1, 1, 2)] == [0, BATHS, 0]


def history(house: Any, weeks: int) -> None:
    adri, past = makers.member("Adri"), Past(house)
    past.weekly(adri, WEDNESDAY - timedelta(weeks=weeks), weeks, 20)
    past.record(local(WEDNESDAY, 0))


@pytest.mark.parametrize(
    ("weeks", "looked_back", "a_day_later"), [(0, 0, 0), (4, 0, 1), (5, 1, 1), (9, 5, 1), (20, 12, 0)]
)
def test_the_first_night_looks_back_a_forecast_a_week_as_far_as_there_was_something_to_learn_from(
    house: Any, weeks: int, looked_back: int, a_day_later: int
) -> None:
    history(house, weeks)
    now = local(WEDNESDAY, 3)
    assert forecast_tonight(now=now) == BATHS * (looked_back + 1)
    days = [WEDNESDAY - timedelta(weeks=n) for n in range(looked_back, -1, -1)]
    assert nights() == [(day, BATHS) for day in days]
    rows = KeptForecast.objects.filter(day__lt=WEDNESDAY)
    assert all(row.at == local(row.day, 3) and row.reckoned_at == now for row in rows)
    # each knows the evenings before it, not those after
    by_week = list(
        rows.filter(bath=house.baths["P-RC", "dev"]).order_by("at").values_list("history_sessions", flat=True)
    )
    assert by_week == list(range(weeks - looked_back, weeks))
    # one week more has three weeks before it now; after that there is nothing to make up for
    assert forecast_tonight(now=now + DAY) == BATHS * (a_day_later + 1)
    assert forecast_tonight(now=now + 2 * DAY) == BATHS


def test_weeks_in_which_no_timer_ran_are_made_up_for_and_those_that_have_a_night_are_not(house: Any) -> None:
    history(house, 20)
    forecast_tonight(now=local(WEDNESDAY, 3))
    later = WEDNESDAY + 25 * DAY  # a Sunday
    assert forecast_tonight(now=local(later, 3)) == BATHS * 3
    behind, new = [later - 7 * n * DAY for n in (2, 1)], nights()[13:]  # the third week back has that first night
    assert new == [(day, BATHS) for day in (*behind, later)]
    rows = KeptForecast.objects.filter(day__in=behind)
    assert all(row.at == local(row.day, 3) and row.reckoned_at == local(later, 3) for row in rows)


def test_looking_back_it_knows_no_sheet_that_was_written_down_later(house: Any) -> None:
    history(house, 9)
    for days, written in ((15, 15), (15, 1)):
        log_sheets(
            processor=house.processors["P-CO"], sheet=house.sizes["203x254"], sheets=20, kind="print", who="walk-in",
            fed_at=local(WEDNESDAY - days * DAY, 18), now=local(WEDNESDAY - written * DAY, 19),
        )  # fmt: skip
    forecast_tonight(now=local(WEDNESDAY, 3))
    rooms = dict(KeptForecast.objects.filter(bath=house.baths["P-CO", "dev"]).values_list("day", "room_mm2"))
    whole, evening = 4_800_000, 20 * SHEET_MM2
    assert rooms[WEDNESDAY - 21 * DAY] == whole
    assert rooms[WEDNESDAY - 14 * DAY] == rooms[WEDNESDAY - 7 * DAY] == whole - evening
    assert rooms[WEDNESDAY] == whole - 2 * evening


def test_two_ticks_at_once_keep_one_row_a_bath(house: Any) -> None:
    """Both looked before either wrote: the second finds the night taken, and neither fails."""
    now = local(WEDNESDAY, 3)
    keep_forecasts(now=now, why="nightly")
    first = list(KeptForecast.objects.order_by("pk").values_list("pk", "at"))
    keep_forecasts(now=now + MINUTE, why="nightly")
    assert list(KeptForecast.objects.order_by("pk").values_list("pk", "at")) == first
    assert len(first) == BATHS
    assert kept_by_the_journal() == [(None, {"forecasts": BATHS})]  # the second kept nothing, and says nothing
    KeptForecast.objects.filter(bath=house.baths["P-CO", "dev"]).delete()
    keep_forecasts(now=now + 2 * MINUTE, why="nightly")
    assert nights() == [(WEDNESDAY, BATHS)]
    assert kept_by_the_journal()[1:] == [(None, {"forecasts": 1})]


def kept_by_the_journal() -> list[tuple[int | None, dict[str, int]]]:
    entries = Entry.objects.filter(code="planning.forecasts_kept").order_by("pk")
    return [(entry.actor_id, entry.facts) for entry in entries]


def test_asked_for_by_day_a_forecast_is_kept_beside_the_nights_and_the_journal_says_so(house: Any) -> None:
    sef = makers.member("Sef", is_staff=True)
    now = local(WEDNESDAY, 15)
    forecast_tonight(now=now)
    assert [keep_forecasts(now=now + n * MINUTE, by=sef) for n in (1, 2)] == [BATHS, BATHS]
    assert Counter(KeptForecast.objects.values_list("why", flat=True)) == {"nightly": BATHS, "asked": 2 * BATHS}
    assert kept_by_the_journal() == [
        (None, {"forecasts": BATHS}), (sef.pk, {"forecasts": BATHS}), (sef.pk, {"forecasts": BATHS}),
    ]  # fmt: skip
    assert {row.at for row in latest().values()} == {now + 2 * MINUTE}


def test_without_a_studio_or_without_a_bath_nothing_is_kept_and_nothing_fails(db: Any, now: datetime) -> None:
    assert forecast_tonight(now=now) == 0
    stations.describe_studio(name="Bare", time_zone="Europe/Amsterdam", currency="EUR")
    assert forecast_tonight(now=now) == 0
    assert score_forecasts(now=now) == 0
    assert keep_forecasts(now=now) == 0
    assert not KeptForecast.objects.exists()
    done = tasks.do_chores(now)
    assert (done.answers["forecasts"], done.failed) == (0, [])


def test_a_bath_without_figures_is_passed_over(house: Any) -> None:
    Bath.objects.create(processor=house.processors["P-RC"], code="stop", name="Stop", position=9)
    now = datetime(2026, 11, 25, 14, tzinfo=UTC)
    assert [forecast_tonight(now=now + n * MINUTE) for n in range(3)] == [BATHS, 0, 0]
