"""What the board, a table and a bath's page say of a forecast in a few words."""

import re
from datetime import UTC, date, datetime

from studiodesk.planning import words
from tests.planning.kept_rows import TODAY, march, row


def test_the_board_s_line_begins_with_the_short_form_and_says_no_part_twice():
    assert words.lead(row(), TODAY) == "about Thu 12 March, by use"
    assert (
        words.rest(row(), TODAY)
        == "4 times in 5 between 6 and 21 March; based on 62 booked hours and 41 past sessions."
    )
    mixed = row(first_limit={"capacity": 0.68, "age": 0.32})
    assert words.lead(mixed, TODAY) == "about Thu 12 March, by use or age"
    assert "; by use 7 times in 10, else by age; based on" in words.rest(mixed, TODAY)
    never = row(p10=None, p50=None, p90=None, first_limit={})
    assert words.lead(never, TODAY) == "not within the next 17 weeks"
    assert words.rest(never, TODAY).startswith("at least 9 times in 10; based on")
    late = row(p50=None, p90=None)
    assert words.lead(late, TODAY) == "not before 6 March, probably not within 17 weeks"
    assert words.rest(late, TODAY).startswith("good until then 9 times in 10; based on")
    none = row(p10=None, p50=None, p90=None, first_limit={}, nearest="", age_ends_at=None)
    assert words.rest(none, TODAY).startswith("about 3.2 m² will go through in the next four weeks; based on")
    assert words.lead(none, TODAY, undated=True) == "its age is not known"
    assert words.rest(none, TODAY, undated=True).startswith("nobody wrote down when it was filled; about 3.2 m²")
    assert words.lead(row(), march(22)) == "was to be spent by 21 March; reckon again"
    assert words.rest(row(), march(22)).startswith("based on 62")


def test_a_table_has_the_middle_in_a_column_and_the_range_in_another():
    assert words.middle(row(), TODAY) == "Thu 12 March"
    assert words.middle(row(p50=None, p90=None), TODAY) == "not within 17 weeks"
    assert words.middle(row(), TODAY, spent=True) == "reached"
    assert words.middle(row(), march(22)) == "reckon again"
    assert (
        words.middle(row(p10=None, p50=None, p90=None, first_limit={}, nearest="", age_ends_at=None), TODAY)
        == "no limit"
    )


def test_until_when_it_is_good_is_the_day_before_each_date():
    assert words.good_words(row(), TODAY) == (
        "Good through Thursday 5 March at least 9 times in 10, through Wednesday 11 March at least 1 time in 2."
    )
    assert words.good_words(row(p50=None, p90=None), TODAY) == "Good through Thursday 5 March at least 9 times in 10."
    alone = {"p10": march(6), "p50": march(6), "p90": march(6)}
    assert words.good_words(row(**alone), TODAY) == "Good through Thursday 5 March at least 9 times in 10."
    assert words.good_words(row(p10=TODAY, p50=march(2)), TODAY) == "Good through Sunday 1 March at least 1 time in 2."
    assert words.good_words(row(p10=TODAY, p50=TODAY), TODAY) == ""
    assert words.good_words(row(), TODAY, spent=True) == words.good_words(row(p10=None, p50=None), TODAY) == ""


def test_since_when_a_limit_is_passed_is_said_to_the_hour_where_that_is_known():
    at = datetime(2026, 2, 24, 10, 2, tzinfo=UTC)
    assert re.fullmatch(
        r"It has been too old since today, \d\d:02: change it first\.",
        words.passed_words("age", at, TODAY, by_the_hour=True),
    )
    yesterday = words.passed_words("capacity", at, date(2026, 2, 26), by_the_hour=False)
    assert yesterday == "Its capacity has been used up since Tue 24 February: change it first."
    assert words.passed_words("capacity", None, TODAY, by_the_hour=True) == "Change it first."


def test_a_bath_s_own_score_is_said_beside_the_house_s():
    assert words.bath_score_words(6, 8) == "Of this bath's last 8 forecasts 6 came inside."
    assert words.bath_score_words(1, 1) == "Of this bath's last 1 forecast 1 came inside."
    assert words.bath_score_words(0, 0).startswith("None of this bath's own")
