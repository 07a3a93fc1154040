"""The rules of the house: set from a day on, for everybody or one plan; never changed, and told in sentences."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import HouseRule
from studiodesk.bookings.rules import setting
from studiodesk.bookings.rules.house import BY_CODE, KINDS, Row, in_force
from studiodesk.bookings.words.rule_sentences import RULES, rule_words, sentences
from studiodesk.bookings.words.rules import amount_words, weekday_words
from studiodesk.journal.models import Entry
from studiodesk.people import actions as people
from studiodesk.words import say
from tests import makers

TODAY = date(2026, 11, 25)
TOMORROW = TODAY + timedelta(days=1)


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


@pytest.fixture
def month(manager, now):
    return people.make_plan(code="month", name="Monthly", now=now, by=manager)


@pytest.fixture
def put(manager, now):
    """Set one rule as the manager; ``by=None`` is the house itself."""

    def put(code, value, day=TODAY, plan=None, **other):
        wish = {"code": code, "plan": plan, "value": value, "in_force_from": day, "now": now, "by": manager, **other}
        return actions.set_house_rule(**wish)

    return put


def refusal_of(act, *args, **kwargs):
    with pytest.raises(Refused) as refused:
        act(*args, **kwargs)
    return refused.value.refusal


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.code)
def test_each_rule_that_is_set_holds_from_its_day_on_and_not_before(put, kind):
    before = queries.rules_on(TODAY).limit(kind.code)
    other = kind.least if before != kind.least else kind.most
    put(kind.code, other, day=TOMORROW)
    assert queries.rules_on(TODAY).limit(kind.code) == before
    assert queries.rules_on(TOMORROW).limit(kind.code) == other
    rest = {code: value for code, value in queries.rules_on(TOMORROW).values.items() if code != kind.code}
    assert rest == {code: value for code, value in queries.rules_on(TODAY).values.items() if code != kind.code}


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.by_plan], ids=lambda kind: kind.code)
def test_a_plan_s_own_number_holds_for_it_and_for_nobody_else(put, month, kind):
    put(kind.code, kind.most)
    put(kind.code, kind.least, plan=month)
    assert queries.rules_on(TODAY).limit(kind.code) == kind.most
    assert queries.rules_on(TODAY, month.pk).limit(kind.code) == kind.least
    assert queries.rules_on(TODAY, month).limit(kind.code) == kind.least


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.by_plan], ids=lambda kind: kind.code)
def test_a_plan_follows_everybody_until_it_has_a_number_of_its_own(put, month, kind):
    put(kind.code, kind.most)
    assert queries.rules_on(TODAY, month).limit(kind.code) == kind.most
    put(kind.code, kind.most, plan=month)  # the same number, but from now on its own
    put(kind.code, kind.least)
    assert queries.rules_on(TODAY, month).limit(kind.code) == kind.most
    assert queries.rules_on(TODAY).limit(kind.code) == kind.least


@pytest.mark.parametrize(
    ("code", "value", "other", "refused"),
    [
        ("days_in_a_row", 3, {}, "bookings.rule_unknown"),
        ("month_hours", 745, {}, "bookings.rule_out_of_range"),
        ("month_hours", -1, {}, "bookings.rule_out_of_range"),
        ("longest_stay_minutes", None, {}, "bookings.rule_needs_a_number"),
        ("peak_from", 1441, {}, "bookings.rule_out_of_range"),
        ("month_hours", 5, {"day": TODAY - timedelta(days=1)}, "bookings.rule_in_the_past"),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_nothing_is_written(put, code, value, other, refused):
    refusal = refusal_of(put, code, value, **other)
    assert refusal.code == refused and "%" not in str(say(refusal))
    assert not HouseRule.objects.exists() and not Entry.objects.filter(code="bookings.rule_set").exists()


def test_a_refusal_names_the_numbers_as_people_say_them(put):
    assert "from 0 to 744" in str(say(refusal_of(put, "month_hours", 745)))
    assert "from 15 min to 12 h" in str(say(refusal_of(put, "longest_stay_minutes", 5)))
    assert "from 00:00 to 24:00" in str(say(refusal_of(put, "peak_until", 1500)))


def test_a_rule_that_is_the_same_for_everybody_cannot_be_a_plan_s(put, month):
    assert refusal_of(put, "membership_needed", 1, plan=month).code == "bookings.rule_for_everybody"


def test_only_a_manager_sets_rules(put):
    staff = makers.member("Sam", is_staff=True)
    refusal = refusal_of(put, "guests", 2, by=staff)
    assert (refusal.code, refusal.facts["status"]) == ("bookings.rules_are_the_managers", 403)


def test_the_number_that_holds_already_writes_nothing(put, month):
    assert put("guests", 0) is None and put("month_hours", None) is None  # as nobody said anything
    assert put("guests", 2) is not None and put("guests", 2) is None
    assert put("guests", 2, day=TOMORROW) is None
    assert put("guests", 3, plan=month) is not None and put("guests", 3, plan=month) is None
    assert HouseRule.objects.count() == 2 == Entry.objects.filter(code="bookings.rule_set").count()


def test_of_two_numbers_of_one_day_the_later_holds_and_both_stay_in_the_history(put, manager):
    put("guests", 2, day=TOMORROW)
    put("guests", 4, day=TOMORROW)
    put("guests", 1)
    assert queries.rules_on(TOMORROW).limit("guests") == 4
    assert [(row.value, row.set_by) for row in queries.rule_history("guests")] == [
        (4, manager),
        (2, manager),
        (1, manager),
    ]


def test_what_was_to_come_is_put_off_by_setting_the_old_number_from_that_day(put):
    put("guests", 2, day=TOMORROW)
    put("guests", 0, day=TOMORROW)
    assert queries.rules_on(TOMORROW).limit("guests") == 0
    lines = {line.kind.code: line for line in queries.rule_lines(TODAY, [])}
    assert lines["guests"].everybody.coming == ()


def test_the_house_itself_may_say_since_when_it_has_been_so(put):
    put("guests", 2, day=date(2020, 1, 1), by=None)
    assert queries.rules_on(date(2019, 12, 31)).limit("guests") == 0
    assert queries.rules_on(date(2020, 1, 1)).limit("guests") == 2


def test_the_journal_keeps_what_was_set_by_whom(put, month, manager):
    row = put("month_hours", None, plan=month) or put("month_hours", 9, plan=month)
    entry = Entry.objects.filter(code="bookings.rule_set").latest("pk")
    assert entry.actor == manager and entry.about_id == row.pk
    assert entry.facts == {"code": "month_hours", "plan": month.pk, "value": row.value, "day": "2026-11-25"}


ROWS = st.lists(
    st.builds(
        Row,
        code=st.just("month_hours"),
        plan=st.sampled_from([None, 1, 2]),
        value=st.sampled_from([None, 3, 5, 8]),
        in_force_from=st.integers(0, 12).map(lambda n: TODAY + timedelta(days=n)),
    ),
    max_size=8,
)


@given(rows=ROWS, plan=st.sampled_from([None, 1, 2]), day=st.integers(0, 12))
@settings(max_examples=300)
def test_what_is_shown_now_and_as_coming_is_what_holds_on_each_day(rows, plan, day):
    """Oracle: ``in_force``, asked for every single day."""
    rows, kind = sorted(rows, key=lambda row: row.in_force_from), BY_CODE["month_hours"]
    on = TODAY + timedelta(days=day)
    shown = setting.standing(rows, kind, plan, on)
    assert shown.value == in_force(rows, on, plan).limit("month_hours")
    value, changes = shown.value, {change.day: change.value for change in shown.coming}
    for ahead in range(1, 15):
        at = on + timedelta(days=ahead)
        if at in changes:
            assert changes[at] != value  # what comes is a change
        value = changes.get(at, value)
        assert in_force(rows, at, plan).limit("month_hours") == value
    assert shown.since is None or in_force(rows, shown.since, plan).limit("month_hours") == shown.value


def test_every_rule_has_words_for_every_number_it_may_have():
    assert set(RULES) == set(BY_CODE)
    for kind in KINDS:
        few = {kind.least, kind.least + 1, kind.most, kind.least or 1}
        values = [*sorted(few & set(range(kind.least, kind.most + 1))), *([None] if kind.may_be_none else [])]
        said = [rule_words(kind.code, value) for value in values]
        assert len(set(said)) == len(said), said  # another number, another sentence
        assert all(sentence.endswith(".") and "%" not in sentence for sentence in said)
        assert all(amount_words(kind.code, kind.unit, value) for value in values)
        assert str(RULES[kind.code].name) and str(RULES[kind.code].asks).endswith(".")


def test_rules_without_effect_are_not_told():
    free = in_force([], TODAY).values
    assert not any("pause" in said or "Busy hours" in said or "miss or" in said for said in sentences(free))
    strict = {**free, "strikes": 3, "peak_days": 48, "month_hours": 12}
    assert len(sentences(strict)) == len(KINDS) == len(sentences(free)) + 6


def test_weekdays_clock_and_lengths_are_said_as_people_say_them():
    assert [weekday_words(bits) for bits in (0, 1, 48, 7, 127)] == [
        "no day",
        "Monday",
        "Friday and Saturday",
        "Monday, Tuesday and Wednesday",
        "every day",
    ]
    assert amount_words("peak_until", "clock", 1440) == "24:00"
    assert amount_words("longest_stay_minutes", "minutes", 195) == "3 h 15 min"
    assert amount_words("month_hours", "hours", 1) == "1 hour"
    assert amount_words("month_hours", "hours", None) == "no limit"
    assert rule_words("month_hours", 12) == "You can book 12 hours in a month."
