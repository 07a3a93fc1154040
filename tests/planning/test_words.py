"""What a forecast says, case by case: each of these sentences was read aloud."""

from datetime import UTC, date, datetime

import pytest

from studiodesk.planning import words
from studiodesk.planning.rules.values import HORIZON_DAYS
from studiodesk.planning.words.sentences import FOUR_WEEKS
from tests.planning.kept_rows import TODAY, march, row, said


def test_what_staff_read_first_is_one_sentence_with_one_date_and_one_range():
    assert said() == (
        "Colour developer will be spent about Thursday 12 March; 4 times in 5 between 6 and 21 March; "
        "by use, not by age; based on 62 booked hours and 41 past sessions."
    )
    assert words.short(row(), TODAY) == "about Thu 12 March (6 to 21 March), by use"
    assert words.dates(row(), TODAY) == "6 to 21 March"


@pytest.mark.parametrize(
    ("p10", "p50", "p90", "main", "short"),
    [
        (date(2026, 2, 28), march(6), march(12),
         "will be spent about Friday 6 March; 4 times in 5 between 28 February and 12 March",
         "about Fri 6 March (28 February to 12 March), by use"),
        (TODAY, date(2026, 2, 24), march(1), "will probably be spent today; 4 times in 5 between today and 1 March",
         "probably today (today to 1 March), by use"),
        (TODAY, date(2026, 2, 25), date(2026, 2, 25), "will probably be spent tomorrow; 4 times in 5 today or tomorrow",
         "probably tomorrow (today or tomorrow), by use"),
        (date(2026, 2, 25), march(2), march(9),
         "will be spent about Monday 2 March; 4 times in 5 between tomorrow and 9 March",
         "about Mon 2 March (tomorrow to 9 March), by use"),
        (TODAY, TODAY, TODAY, "will be spent today", "today, by use"),
        (march(6), march(6), march(6), "will be spent on Friday 6 March", "on Fri 6 March, by use"),
        (march(6), march(12), None,
         "will be spent about Thursday 12 March; 9 times in 10 not before 6 March, and perhaps not within the next "
         "17 weeks", "about Thu 12 March (6 March or later), by use"),
        (march(6), None, None,
         "will not be spent before 6 March, 9 times in 10; more likely not within the next 17 weeks than within them",
         "not before 6 March, probably not within 17 weeks"),
    ],
)  # fmt: skip
def test_each_kind_of_range_is_said(p10, p50, p90, main, short):
    text = said(p10=p10, p50=p50, p90=p90)
    assert text.startswith(f"Colour developer {main}; by use, not by age; based on")
    assert words.short(row(p10=p10, p50=p50, p90=p90), TODAY) == short


def test_a_range_over_new_year_says_both_years():
    today = date(2026, 12, 20)
    over = {"day": today, "p10": date(2026, 12, 28), "p50": date(2027, 1, 2), "p90": date(2027, 1, 9)}
    assert "about Saturday 2 January 2027; 4 times in 5 between 28 December 2026 and 9 January 2027" in said(
        today, **over
    )
    over["p10"] = date(2027, 1, 1)
    assert "4 times in 5 between 1 and 9 January 2027" in said(today, **over)


def test_what_will_outlast_the_horizon_is_said_to_last():
    never = {"p10": None, "p50": None, "p90": None, "first_limit": {"capacity": 0.04}}
    assert said(**never).startswith("Colour developer will last the next 17 weeks, at least 9 times in 10; based on")
    assert words.short(row(**never), TODAY) == "not within the next 17 weeks"
    assert words.HORIZON_WEEKS == HORIZON_DAYS // 7 and FOUR_WEEKS == 28


def test_a_bath_that_only_grows_old_has_one_day():
    old = {"p10": march(5), "p50": march(5), "p90": march(5), "first_limit": {"age": 1.0}}
    assert said(**old) == (
        "Colour developer will be too old on Thursday 5 March; by age, not by use; "
        "based on 62 booked hours and 41 past sessions."
    )
    assert words.short(row(**old), TODAY) == "on Thu 5 March, by age"
    assert "will be too old on Thursday 5 March; by age; based" in said(**old, nearest="", room_mm2=None)
    assert said(**(old | dict.fromkeys(("p10", "p50", "p90"), TODAY))).startswith(
        "Colour developer will be too old today;"
    )


@pytest.mark.parametrize(
    ("limits", "cause"),
    [
        ({"capacity": 0.68, "age": 0.32}, "by use 7 times in 10, else by age"),
        ({"capacity": 0.3, "silver": 0.4, "age": 0.3}, "by use 7 times in 10, else by age"),
        ({"capacity": 0.2, "age": 0.8}, "by age 4 times in 5, else by use"),
        ({"capacity": 0.52, "age": 0.48}, "as likely by use as by age"),
        ({"capacity": 0.35, "age": 0.15}, "by use 7 times in 10, else by age"),  # half of it beyond the horizon
    ],
)
def test_mixed_causes_are_said_as_frequencies(limits, cause):
    assert f"; {cause}; based on" in said(first_limit=limits)


def test_a_bath_without_an_age_limit_is_spent_by_use_alone():
    assert "; by use; based on" in said(first_limit={"capacity": 1.0}, age_ends_at=None)


def test_a_limit_that_is_passed_is_said_plainly_whether_the_night_or_the_day_found_it():
    passed = {"p10": TODAY, "p50": TODAY, "p90": TODAY, "first_limit": {"silver": 1.0}, "nearest": "silver"}
    assert said(**passed, room_mm2=None, age_ends_at=None) == "Colour developer has reached its limit."
    assert said(spent=True) == "Colour developer has reached its limit."
    assert words.short(row(), TODAY, spent=True) == "has reached its limit"
    assert words.dates(row(), TODAY, spent=True) == "reached"


def test_a_bath_without_a_limit_says_what_will_go_through():
    none = {"p10": None, "p50": None, "p90": None, "first_limit": {}, "nearest": "", "room_mm2": None,
            "age_ends_at": None}  # fmt: skip
    assert said(**none) == (
        "No limit is set for Colour developer; about 3.2 m² will go through in the next four weeks; "
        "based on 62 booked hours and 41 past sessions."
    )
    assert words.short(row(**none), TODAY) == "no limit is set"
    assert said(undated=True, **none).startswith(
        "Nobody wrote down when Colour developer was filled, so its age is not known; about 3.2 m² will go through"
    )
    # One is set, and no use will ever reach it: silver that settles below, say.
    assert said(limited=True, **none).startswith("Colour developer will last the next 17 weeks")


def test_without_any_history_it_is_called_a_guess():
    new = {"history_sessions": 0, "watched_days": 27}
    assert said(**new).endswith("by use, not by age; a wide guess: no past session tells yet how it is used.")
    assert words.short(row(**new), TODAY).endswith("by use; a wide guess")


def test_what_stood_idle_for_weeks_is_known_and_no_guess():
    idle = {"history_sessions": 0, "watched_days": 114}
    assert said(**idle).endswith("by use, not by age; no session in the last 16 weeks.")
    assert said(**idle | {"watched_days": 29}).endswith("no session in the last 4 weeks.")
    assert words.short(row(**idle), TODAY).endswith("by use")


def test_sheets_without_a_booking_are_something_to_go_by():
    walked = {"history_sessions": 0, "watched_days": 20, "loose_days": 12, "booked_s": 3 * 3600}
    assert said(**walked).endswith("based on 3 booked hours and the sheets of 12 days without a booking.")
    assert said(**walked | {"loose_days": 1}).endswith("and the sheets of 1 day without a booking.")
    assert words.short(row(**walked), TODAY).endswith("by use")


def test_a_forecast_of_another_day_names_its_dates():
    assert words.dates(row(p10=TODAY, p90=date(2026, 2, 25)), TODAY) == "today or tomorrow"
    assert words.dates(row(p10=TODAY, p90=date(2026, 2, 25)), TODAY, near=False) == "24 to 25 February"


@pytest.mark.parametrize(
    ("seconds", "sessions", "basis"),
    [
        (0, 41, "based on no booked hours and 41 past sessions"),
        (900, 1, "based on 1 booked hour and 1 past session"),
        (5_400_000, 1234, "based on 1,500 booked hours and 1,234 past sessions"),
    ],
)
def test_what_it_rests_on_is_counted(seconds, sessions, basis):
    assert said(booked_s=seconds, history_sessions=sessions).endswith(f"{basis}.")


def test_a_forecast_that_nobody_renewed_says_how_old_it_is():
    assert "reckoned on" not in said(today=date(2026, 2, 25))
    assert said(today=date(2026, 2, 27)).endswith("past sessions; reckoned on 24 February.")
    # Its early end lies behind and the bath still stands.
    assert "4 times in 5 between today and 21 March" in said(today=march(10))
    assert said(today=march(22)).startswith("Colour developer was to be spent by 21 March and is not: reckon again;")
    assert words.short(row(), march(22)) == "was to be spent by 21 March; reckon again"


def test_the_jug_for_four_weeks_is_said_in_one_unit():
    litre = 1_000_000_000_000
    jug = {"low": int(3.14 * litre), "middle": int(4.21 * litre), "high": int(5.58 * litre)}
    assert words.more(row(replenisher=jug), TODAY) == [
        "The next four weeks ask about 4.2 L of replenisher, 4 times in 5 between 3.1 and 5.6 L."
    ]
    small = {name: amount // 10 for name, amount in jug.items()}
    assert (
        "about 421 mL of replenisher, 4 times in 5 between 314 and 558 mL"
        in words.more(row(replenisher=small), TODAY)[0]
    )
    assert words.more(row(replenisher=dict.fromkeys(jug, 0)), TODAY) == ["The next four weeks ask no replenisher."]
    assert words.more(row(), TODAY) == []


def test_too_little_use_and_a_widened_range_are_said_beside_it():
    low = {"turnovers": "1.0", "probability": 0.62, "by": "2026-03-20"}
    assert words.more(row(low_use=low, widened=1.21), TODAY) == [
        "Too little use, under 1 turnover in four weeks, is to be expected 3 times in 5, more likely than not by "
        "Friday 20 March.",
        "The range is widened: earlier ones were too narrow.",
    ]
    seldom = {"turnovers": "0.500", "probability": 0.3, "by": None}
    assert words.more(row(low_use=seldom, widened=1.2), TODAY) == [
        "Too little use, under 0.5 turnovers in four weeks, is to be expected 3 times in 10."
    ]
    assert words.more(row(low_use={"turnovers": "1", "probability": 0.02, "by": None}), TODAY) == []


@pytest.mark.parametrize(
    ("chance", "words_"),
    [(0.0, "under 1 time in 20"), (0.06, "1 time in 20"), (0.0999, "1 time in 20"), (0.1, "1 time in 10"),
     (0.16, "3 times in 20"), (0.2, "1 time in 5"), (0.34, "3 times in 10"), (0.49, "9 times in 20"),
     (0.5, "1 time in 2"), (0.81, "4 times in 5"), (0.88, "17 times in 20"), (0.8999, "17 times in 20"),
     (0.9, "9 times in 10"), (0.94, "19 times in 20"), (0.97, "over 19 times in 20"), (1.0, "surely")],
)  # fmt: skip
def test_a_chance_is_a_frequency(chance, words_):
    assert words.times(chance) == words_


@pytest.mark.parametrize(("dated", "of"), [(0.1, 10), (0.5, 2), (0.9, 10)])
def test_no_rounding_passes_the_chances_that_dates_stand_for(dated, of):
    below = [words.times(dated - step / 1000) for step in range(1, 50)]
    assert f"{round(dated * of)} time{'s' if dated > 0.5 else ''} in {of}" == words.times(dated)
    assert words.times(dated) not in below


def test_where_age_ends_it_at_the_latest_the_day_is_said_so_and_use_as_what_may_come_before():
    wall = {"p10": date(2026, 2, 27), "p50": march(1), "p90": march(1), "first_limit": {"age": 0.8, "capacity": 0.2},
            "age_ends_at": datetime(2026, 3, 1, 10, tzinfo=UTC)}  # fmt: skip
    assert said(**wall) == (
        "Colour developer will be too old on Sunday 1 March at the latest; 1 time in 5 spent by use before; "
        "based on 62 booked hours and 41 past sessions."
    )
    assert words.short(row(**wall), TODAY) == words.lead(row(**wall), TODAY) == "Sun 1 March at the latest, by age"
    assert words.rest(row(**wall), TODAY).startswith("1 time in 5 spent by use before; based on 62")
    mostly_use = wall | {"first_limit": {"age": 0.3, "capacity": 0.7}}
    assert "will be spent about Sunday 1 March; 4 times in 5 between 27 February and 1 March" in said(**mostly_use)
    other_day = wall | {"p50": march(2), "p90": march(2)}
    assert "at the latest" not in said(**other_day)


def test_the_score_is_said_and_so_is_that_there_is_none_yet():
    assert words.score_words(15, 20) == "Of the last 20 forecasts 15 came inside their range."
    assert words.score_words(1, 1) == "The one forecast that came due came inside its range."
    assert words.score_words(0, 1) == "The one forecast that came due did not come inside its range."
    assert words.score_words(0, 0) == "No forecast has come due yet: how good they are shows once the first falls due."
