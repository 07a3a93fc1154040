"""``manage.py forecast``: what a program reads from it, and what it says when it cannot answer."""

from __future__ import annotations

import io
import json
import math
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import CommandError, call_command

from studiodesk.bookings.actions import close_processor
from studiodesk.chemistry.queries import standings as board
from studiodesk.desk.queries.ahead import ahead as ahead_of
from studiodesk.planning.actions import keep_forecasts
from studiodesk.planning.queries import Foretold, foretell
from studiodesk.stations import actions as stations
from studiodesk.stations.queries import zone as zone_of_the_studio
from studiodesk.timekeeping import Span
from studiodesk.upkeep.actions import load_studio
from tests import engines, makers
from tests.planning.evenings import refill
from tests.planning.histories import InAnotherDatabase, take_in
from tests.upkeep.files import NOW, example, manage, quarter
from tests.upkeep.invented import Invented

AT = "2026-10-01T18:30:00Z"
KEYS = ["processor", "bath", "p10", "p50", "p90", "first_limit", "expected_area_mm2_by_day", "history_sessions"]
MOMENTS = {
    AT: "in the quarter",
    "2026-08-12T09:00:00Z": "early",
    "2026-10-24T23:30:00Z": "the night of the clock change",
    "2026-07-01T12:00:00Z": "before everything",
    "2026-12-01T11:00:00+01:00": "after everything",
}
EARLY = ("2026-08-02T12:00:00Z", "2026-08-03T06:59:59Z", "2026-08-03T07:00:00Z")
AUCKLAND = "2026-10-02T07:30:00+13:00"
TO_COME = (NOW + timedelta(days=40)).isoformat()
ASKED = (*MOMENTS, *EARLY, AUCKLAND, TO_COME)
LATER = NOW + timedelta(days=10)
LIMITS = {"capacity", "turnovers", "age", "silver", "condemned"}


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(LATER, tick=False):
        yield


def run(*words: str) -> str:
    return both(*words)[0]


def both(*words: str) -> tuple[str, str]:
    """What it says, and what it says aside."""
    out, aside = io.StringIO(), io.StringIO()
    call_command("forecast", *words, stdout=out, stderr=aside)
    return out.getvalue(), aside.getvalue()


def lines(at: str = AT) -> list[dict[str, Any]]:
    answer: list[dict[str, Any]] = json.loads(run("--json", "--at", at))
    return answer


@dataclass(frozen=True)
class Answers:
    """What was printed of the quarter: by moment, as sentences, and the figures behind it at ``AT``."""

    at: dict[str, list[dict[str, Any]]]
    sentences: str
    behind: list[Foretold]


@pytest.fixture(scope="module")
def ostermill(_shared_copy: str) -> Answers:
    """Imported once for the whole file and gone again: nothing below writes into it."""
    if os.environ.get("DATABASE_URL") != _shared_copy:
        engines.use(_shared_copy)
    with time_machine.travel(LATER, tick=False), InAnotherDatabase():
        take_in(example("studio.toml"), quarter(), NOW)
        behind = foretell(datetime.fromisoformat(AT), live=False)
        return Answers({at: lines(at) for at in ASKED}, run("--at", AT), behind)


def check(line: dict[str, Any], at: datetime, zone: ZoneInfo) -> None:
    """One bath's line says everything it has to, in the right types, and agrees with itself."""
    assert list(line)[: len(KEYS)] == KEYS
    today = at.astimezone(zone).date()
    days = [today + timedelta(days=n) for n in range(121)]
    dates = [line[name] and date.fromisoformat(line[name]) for name in ("p10", "p50", "p90")]
    assert all(day is None or days[0] <= day <= days[-1] for day in dates)
    known = [day for day in dates if day is not None]
    assert known == sorted(known)
    assert dates == known + [None] * (3 - len(known)), "a later date is known and an earlier one is not"
    assert all(type(chance) is float and 0 < chance <= 1 for chance in line["first_limit"].values())
    assert set(line["first_limit"]) <= LIMITS
    total = sum(line["first_limit"].values())
    assert total <= 1 + 1e-6
    for name, share in (("p10", 0.1), ("p50", 0.5), ("p90", 0.9)):
        assert (line[name] is None) == (total < share - 1e-5), name  # what falls within the horizon has a date
    area = line["expected_area_mm2_by_day"]
    assert list(area) == [day.isoformat() for day in days]
    assert all(type(one) is int and one >= 0 for one in area.values())
    assert type(line["history_sessions"]) is int and line["history_sessions"] >= 0


def test_every_bath_has_its_line_with_all_it_has_to_say(ostermill: Answers) -> None:
    for at in MOMENTS:
        found = ostermill.at[at]
        assert [(line["processor"], line["bath"]) for line in found] == [
            ("P-CO", "dev"), ("P-CO", "blix"), ("P-CO", "wash"), ("P-RC", "dev"), ("P-RC", "fix"), ("T-FB", "dev"),
            ("T-FB", "fix1"),
        ]  # fmt: skip
        for line in found:
            check(line, datetime.fromisoformat(at), ZoneInfo("Europe/Amsterdam"))


@pytest.mark.parametrize("seed", [2, 5])
def test_other_studios_say_it_in_the_same_way(db: Any, tmp_path: Path, seed: int) -> None:
    studio = Invented(seed)
    studio.write(tmp_path)
    take_in(
        (tmp_path / "studio.toml").read_bytes(),
        {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")},
        NOW,
    )
    for at in (studio.start + timedelta(days=15), studio.end + timedelta(days=4)):
        found = lines(at.isoformat())
        assert found and any(sum(line["expected_area_mm2_by_day"].values()) for line in found)
        for line in found:
            check(line, at, zone_of_the_studio())


def test_the_days_add_up_to_the_course_and_belong_to_the_processor(ostermill: Answers) -> None:
    printed = ostermill.at[AT]
    for line, told in zip(printed, ostermill.behind, strict=True):
        # each of 121 days is rounded to whole mm²
        assert sum(line["expected_area_mm2_by_day"].values()) == pytest.approx(told.course.mean[-1], abs=61)
        assert line["history_sessions"] == told.course.sessions
    by_processor: dict[str, set[str]] = {}
    for line in printed:
        by_processor.setdefault(line["processor"], set()).add(json.dumps(line["expected_area_mm2_by_day"]))
    assert {processor: len(ways) for processor, ways in by_processor.items()} == dict.fromkeys(by_processor, 1)


def test_no_sheet_is_expected_on_a_day_on_which_the_house_is_closed(ostermill: Answers) -> None:
    line = next(line for line in ostermill.at[AT] if line["processor"] == "P-RC")
    by_weekday = {day: date.fromisoformat(day).weekday() for day in line["expected_area_mm2_by_day"]}
    mondays = [area for day, area in line["expected_area_mm2_by_day"].items() if by_weekday[day] == 0]
    others = [area for day, area in line["expected_area_mm2_by_day"].items() if by_weekday[day] != 0]
    assert len(mondays) == 17 and set(mondays) == {0}
    assert min(others[1:]) > 0


def test_the_expected_area_is_about_what_a_week_brought_so_far(ostermill: Answers) -> None:
    """Against the files themselves: the six weeks before the moment, and six weeks ahead."""
    import csv

    sizes = {"127x178": 127 * 178, "203x254": 203 * 254}
    rows = list(csv.DictReader(io.StringIO(quarter()["feeds.csv"].decode())))
    at = datetime.fromisoformat(AT)
    sizes |= {code: math.prod(map(int, code.split("x"))) for code in {row["sheet"] for row in rows}}
    back = at - timedelta(weeks=6)
    came = sum(
        sizes[row["sheet"]] * int(row["sheets"])
        for row in rows
        if row["processor"] == "P-RC"
        and row["kind"] != "cleaning"
        and back < datetime.fromisoformat(row["fed_at"]) <= at
    )
    line = next(line for line in ostermill.at[AT] if line["processor"] == "P-RC")
    ahead = sum(list(line["expected_area_mm2_by_day"].values())[:43])
    assert 0.75 * came < ahead < 1.33 * came


def test_before_the_first_filling_no_age_is_known_and_nothing_fails(ostermill: Answers) -> None:
    for at in EARLY[:2]:
        found = {(line["processor"], line["bath"]): line for line in ostermill.at[at]}
        assert all("age" not in line["first_limit"] for line in found.values())
        assert all(line["history_sessions"] == 0 for line in found.values())
    filled = {(line["processor"], line["bath"]): line for line in ostermill.at[EARLY[2]]}
    # 42 days on: the one thing that is known of the RC developer
    assert filled["P-RC", "dev"]["p50"] == "2026-09-14"
    assert filled["P-RC", "dev"]["first_limit"] == {"age": 1.0}


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("yesterday", "'yesterday' is not an ISO 8601 time"),
        ("2026-10-01", "does not say its offset"),
        ("2026-10-01T18:30:00", "does not say its offset"),
        ("2026-02-30T10:00:00Z", "is not an ISO 8601 time"),
    ],
)
def test_a_moment_in_wrong_form_is_refused_with_a_sentence(db: Any, word: str, said: str) -> None:
    with pytest.raises(CommandError, match=said):
        run("--json", "--at", word)


def test_without_a_studio_it_says_so(db: Any) -> None:
    with pytest.raises(CommandError) as refused:
        run("--json")
    assert "studio" in str(refused.value) and "load" in str(refused.value).lower()


def test_a_studio_without_baths_has_an_empty_list_and_a_sentence(db: Any) -> None:
    stations.describe_studio(name="Bare", time_zone="Europe/Amsterdam", currency="EUR")
    assert json.loads(run("--json")) == []
    assert "load_studio" in run()


def test_a_fault_ends_with_code_1_and_no_traceback(fresh_db: str) -> None:
    done = manage("forecast", "--json", fails=True)
    assert done.returncode == 1 and done.stdout == "" and "Traceback" not in done.stderr
    load_studio(data=example("studio.toml"), now=NOW)
    done = manage("forecast", "--at", "half past six", fails=True)
    assert done.returncode == 1 and "ISO 8601" in done.stderr and "Traceback" not in done.stderr
    done = manage("forecast", "--json")
    assert len(json.loads(done.stdout)) == 7


def test_without_json_each_bath_has_its_sentence(ostermill: Answers) -> None:
    said = ostermill.sentences.splitlines()
    assert len([line for line in said if line.strip()]) >= 7
    assert any("Colour developer" in line and "2026" not in line.split(":")[0] for line in said)


def test_the_same_moment_written_with_another_offset_is_the_same_forecast(ostermill: Answers) -> None:
    assert ostermill.at[AT] == ostermill.at[AUCKLAND]
    assert next(iter(ostermill.at[AT][0]["expected_area_mm2_by_day"])) == "2026-10-01"


def test_a_moment_still_to_come_is_foretold_from_what_is_known_now(ostermill: Answers) -> None:
    for line in ostermill.at[TO_COME]:
        check(line, datetime.fromisoformat(TO_COME), ZoneInfo("Europe/Amsterdam"))


def test_of_a_moment_still_to_come_it_says_aside_that_it_lies_ahead_and_knows_no_more_than_now(house: Any) -> None:
    """Not as if that moment were here: the processor that is out of service then is in service, as looking back."""
    sef = makers.member("Sef", is_staff=True)
    later, at = LATER + timedelta(hours=1), LATER + timedelta(days=2)
    close_processor(
        processor=house.processors["P-CO"], span=Span(at, at + timedelta(days=30)), reason="pump", now=LATER, by=sef
    )
    for words in ((), ("--json",)):
        said, aside = both(*words, "--at", later.isoformat())
        assert said and aside.strip().count("\n") == 0 and "lies ahead" in aside and "lies ahead" not in said
        for past in (("--at", LATER.isoformat()), ()):
            assert both(*words, *past)[1] == ""
    ahead, now = (json.loads(run("--json", *more)) for more in (("--at", later.isoformat()), ()))
    area = [
        next(line["expected_area_mm2_by_day"] for line in one if line["processor"] == "P-CO") for one in (ahead, now)
    ]
    days = [(at + timedelta(days=n)).date().isoformat() for n in range(2, 28)]
    assert sum(area[0][day] for day in days) > 0 == sum(area[1][day] for day in days)


def test_without_json_it_says_what_the_board_says(house: Any) -> None:
    """Word for word, a spent bath, one to be spent and one without a date among them."""
    filled = LATER - timedelta(days=30)  # colour lasts 21
    refill(house, filled, filled)
    refill(house, LATER - timedelta(days=2), LATER - timedelta(days=2), ("P-RC", "dev"))
    keep_forecasts(now=LATER)
    lines = board(LATER, zone=zone_of_the_studio())
    rows = ahead_of(lines, LATER, zone_of_the_studio())[0]
    expected = [f"{line.of.processor_name}: {rows[line.of.pk].sentence}" for line in lines]
    assert run().splitlines() == expected and len(set(expected)) == 3
