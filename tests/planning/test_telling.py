"""The newest forecast of each tank, and how good the last ones were."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.queries import standings
from studiodesk.planning import actions, queries
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import Score


@pytest.fixture
def kept(house, now):
    """Forecasts of the last three hours, one an hour, of every bath."""
    for hours in (3, 2, 1):
        actions.keep_forecasts(now=now - timedelta(hours=hours))
    return house


def came(house, now, answers, bath=("P-CO", "dev")):
    """Rows that came due one after the other, the first in ``answers`` first: what only months would bring."""
    for number, inside in enumerate(answers):
        at = now - timedelta(days=100 - number)
        KeptForecast.objects.create(
            bath=house.baths[bath], at=at, reckoned_at=at, day=at.date(), why="nightly",
            scored_at=None if inside is None else now - timedelta(days=50 - number), was_inside=inside,
        )  # fmt: skip


def test_the_newest_forecast_of_every_bath_is_found_in_one_question(kept, now):
    with CaptureQueriesContext(connection) as asked:
        found = queries.latest()
    assert len(asked) == 1
    assert found.keys() == {bath.pk for bath in kept.baths.values()}
    assert {row.at for row in found.values()} == {now - timedelta(hours=1)}
    fix = kept.baths["P-RC", "fix"]
    assert queries.latest([fix]).keys() == queries.latest([fix.pk]).keys() == {fix.pk}
    assert queries.latest([]) == {}


def test_the_four_weeks_are_read_without_the_course(kept):
    light = next(iter(queries.latest().values()))
    with CaptureQueriesContext(connection) as asked:
        expected = light.in_four_weeks_mm2
    assert len(asked) == 0 and light.get_deferred_fields() == {"course", "shares"}
    assert expected == pytest.approx(KeptForecast.objects.get(pk=light.pk).course[28][0]) and expected > 0


def test_a_forecast_of_a_tank_that_was_changed_since_tells_nothing_any_more(kept, now):
    colour = kept.baths["P-CO", "dev"]
    before, _score, changed = queries.told(standings(now))
    assert colour.pk in before and changed == set()
    chemistry.record_bath_entry(bath=colour, event="refill", at=now, now=now)
    after, _score, changed = queries.told(standings(now))
    assert before.keys() - after.keys() == {colour.pk} == changed
    actions.keep_forecasts(now=now, why="bath change")
    assert queries.told(standings(now))[0][colour.pk].tank_since == now


def test_the_score_counts_the_last_twenty_that_came_due(house, now):
    assert queries.score() == Score(0, 0)
    came(house, now, [False] * 10 + [True] * 15 + [False] * 5)
    assert queries.score() == Score(15, 20)
    assert queries.score(last=6) == Score(1, 6)


def test_what_has_not_come_due_or_counts_not_is_no_part_of_the_score(house, now):
    came(house, now, [True, None, None])
    KeptForecast.objects.filter(was_inside=None).order_by("at").update(scored_at=now)
    assert queries.score() == Score(1, 1)


def test_forecasts_and_score_come_in_one_question_together(kept, now):
    came(kept, now, [False] * 10 + [True] * 15 + [False] * 5, ("P-RC", "fix"))
    lines = standings(now)
    with CaptureQueriesContext(connection) as asked:
        found, score, _changed = queries.told(lines)
    assert len(asked) == 1 and score == queries.score() == Score(15, 20)
    assert found.keys() == queries.latest().keys()
    # Of one bath alone the score is still the house's.
    one, same, _changed = queries.told(lines[:1])
    assert len(one) == 1 and same == score


def test_a_newest_forecast_that_came_due_long_ago_does_not_push_out_one_of_the_twenty(house, now):
    """The newest of a bath is read for itself and may be an old one."""
    came(house, now, [False], ("P-RC", "dev"))
    came(house, now, [True] * 25)
    KeptForecast.objects.filter(bath=house.baths["P-RC", "dev"]).update(scored_at=now - timedelta(days=90))
    assert queries.told(standings(now))[1] == Score(20, 20)


def test_a_bath_has_a_score_of_its_own(house, now):
    came(house, now, [True, False, True])
    came(house, now, [False] * 5, ("P-RC", "fix"))
    assert queries.score(of=house.baths["P-CO", "dev"]) == Score(2, 3)
    assert queries.score(of=house.baths["P-RC", "dev"]) == Score(0, 0)


def test_of_a_bath_s_own_forecasts_the_newest_is_listed_and_the_first_of_each_week(house, now):
    """``now`` is Wednesday 25 November 2026."""
    bath = house.baths["P-CO", "dev"]
    for days in range(25):
        at = now - timedelta(days=days, hours=12)
        KeptForecast.objects.create(bath=bath, at=at, reckoned_at=at, day=at.date(), why="nightly", tank_since=at)
    actions.keep_forecasts(now=now - timedelta(hours=1), why="asked")
    actions.keep_forecasts(now=now, why="asked")
    listed = queries.earlier(bath)
    assert [(row.day.day, row.why) for row in listed] == [
        (25, "asked"), (23, "nightly"), (16, "nightly"), (9, "nightly"), (2, "nightly"), (1, "nightly"),
    ]  # fmt: skip
    assert [row.day.day for row in queries.earlier(bath, most=2)] == [25, 23]


def test_what_was_foretold_of_a_tank_that_nobody_knows_is_listed_only_with_a_date(house, now):
    bath = house.baths["P-RC", "fix"]
    rows = [
        KeptForecast.objects.create(
            bath=bath, at=now - timedelta(weeks=weeks), reckoned_at=now, day=now.date() - timedelta(weeks=weeks),
            why="nightly", p10=now.date() if dated else None,
        )
        for weeks, dated in enumerate([False, True, False])
    ]  # fmt: skip
    assert queries.earlier(bath) == [rows[1]]
    assert queries.earlier(house.baths["P-CO", "dev"]) == []
