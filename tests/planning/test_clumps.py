"""Sheets of nobody's stay: weeks that lie further apart than unlike days would put them are told apart from chance."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.planning.rules.clumps import CLUMPED, loose_days, loose_sheets
from studiodesk.planning.rules.usage import TUNING
from studiodesk.planning.rules.values import Known, Loose, Machine

ZONE = ZoneInfo("Europe/Amsterdam")
AT = datetime(2026, 11, 25, 2, tzinfo=UTC)
WEEKS = 12


def foretold(by_day):
    """(mm² in an open hour, scatter, cv² of the level) after 12 weeks of 8 hours a day; ``by_day``: days back → mm²."""
    today = date(2026, 11, 25)
    days = [today - timedelta(days=back) for back in range(7 * WEEKS, 0, -1)]
    machine = Machine(1, 1, 2, AT - timedelta(weeks=WEEKS))
    loose = [Loose(1, AT - timedelta(days=back, hours=-12), by_day(back)) for back in range(1, 7 * WEEKS + 1)]
    known = Known(AT, ZONE, {**dict.fromkeys(days, 8.0), today: 8.0}, 0.0, [machine], loose=loose)
    return loose_sheets(known, machine, loose_days(known, machine), TUNING)


def test_what_comes_alike_every_day_is_sure():
    per_hour, scatter, level = foretold(lambda back: 400_000)
    assert per_hour == pytest.approx(50_000)
    assert (scatter, level) == (0.0, 0.0)


def test_days_that_change_by_chance_scatter_and_weeks_that_go_together_scatter_more():
    """The same days, once turn and turn about and once whole weeks of them together."""
    _, by_turns, level_by_turns = foretold(lambda back: 800_000 * (back % 2))
    _, by_weeks, level_by_weeks = foretold(lambda back: 800_000 * ((back - 1) // 7 % 2))
    # One day of them brings 800,000²/4 over 400,000; turn about is evener than chance, and less is believed of it.
    assert 0.75 * 400_000 < by_turns < 400_000
    assert by_weeks > 2 * by_turns
    assert level_by_weeks > 2 * level_by_turns


def test_without_two_weeks_it_is_guessed():
    machine = Machine(1, 1, 2, AT - timedelta(days=6))
    days = {date(2026, 11, 25) - timedelta(days=back): 8.0 for back in range(7)}
    loose = [Loose(1, AT - timedelta(days=back, hours=-12), 100_000 * back) for back in range(1, 7)]
    known = Known(AT, ZONE, days, 0.0, [machine], loose=loose)
    per_hour, scatter, _ = loose_sheets(known, machine, loose_days(known, machine), TUNING)
    assert per_hour > 0
    assert scatter > CLUMPED * 1_000
