"""What the desk has to do, in order: no database."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

from studiodesk.desk import rules

T = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


def bath(name, used=0.1, word="in use", due=False, alerts=(), change_by=None, nears_its_end=True, days=None):
    return SimpleNamespace(
        name=name,
        used=used,
        word=word,
        replenishment_due=due,
        alerts=alerts,
        at=T,
        change_by=change_by,
        change_in_days=days,
        of=SimpleNamespace(pk=name),
        nears_its_end=nears_its_end,
    )


def test_a_bath_that_is_tired_by_silver_which_settles_below_its_limit_asks_for_no_change():
    assert [task.what for task in rules.bath_tasks([bath("fix", 0.94, "tired")])] == ["tired"]
    assert rules.bath_tasks([bath("fix", 0.94, "tired", nears_its_end=False)]) == []


def test_spent_comes_before_a_late_warm_up_before_giving_before_a_warm_up_soon_before_tired_before_later():
    tasks = rules.bath_tasks(
        [bath("tired", 0.85, "tired"), bath("give", due=True), bath("spent", 1.0, "spent"), bath("well", 0.79)]
    )
    tasks += [
        rules.warm_up_task(T + timedelta(hours=3), "later", T),
        rules.warm_up_task(T + timedelta(minutes=60), "soon", T),
        rules.warm_up_task(T, "late", T),
    ]
    names = [getattr(task.thing, "name", task.thing) for task in rules.in_order(tasks)]
    assert names == ["spent", "late", "give", "soon", "tired", "later"]


def test_a_bath_can_be_spent_and_wait_for_replenishment_but_is_not_both_spent_and_tired():
    whats = [task.what for task in rules.bath_tasks([bath("x", 1.2, "spent", due=True)])]
    assert sorted(whats) == ["give", "spent"]


def test_an_alert_stands_until_it_is_cleared_even_if_the_figure_has_fallen():
    assert [t.what for t in rules.bath_tasks([bath("x", 0.9, "tired", alerts=("at its end",))])] == ["spent"]
    assert [t.what for t in rules.bath_tasks([bath("x", alerts=("replenishment due",))])] == ["give"]


def test_a_warm_up_is_late_at_its_very_moment_and_soon_in_the_hour_before():
    urgencies = [rules.warm_up_task(T + timedelta(seconds=s), "x", T).urgency for s in (0, 1, 3600, 3601)]
    assert urgencies == [rules.OVERDUE_WARM_UP, rules.WARM_UP_SOON, rules.WARM_UP_SOON, rules.WARM_UP]


def test_of_equal_urgency_the_earlier_comes_first():
    tasks = [rules.warm_up_task(T + timedelta(hours=h), h, T) for h in (5, 3, 4)]
    assert [task.thing for task in rules.in_order(tasks)] == [3, 4, 5]


def test_a_tired_bath_names_the_hour_only_in_its_last_two_days_and_those_with_an_hour_come_first():
    hours = [timedelta(hours=48), timedelta(hours=47, minutes=59), None]
    tasks = rules.bath_tasks([bath(h, 0.9, "tired", change_by=None if h is None else T + h) for h in hours])
    assert [task.by for task in tasks] == [None, T + timedelta(hours=47, minutes=59), None]
    assert [task.thing.name for task in rules.in_order(tasks)] == [hours[1], hours[0], None]


def test_of_tired_baths_the_one_comes_first_that_reaches_a_limit_first_by_its_age_or_as_it_is_foretold():
    baths = [
        bath("in a week", 0.81, "tired", days=8),
        bath("unknown", 0.99, "tired"),
        bath("monday", 0.95, "tired", days=3),
    ]
    baths += [bath("today", 0.89, "tired"), bath("foretold sooner", 0.85, "tired", days=9)]
    ahead = {"today": SimpleNamespace(in_days=0), "foretold sooner": SimpleNamespace(in_days=2)}
    ahead |= {"in a week": SimpleNamespace(in_days=None), "monday": SimpleNamespace(in_days=3)}
    order = [task.thing.name for task in rules.in_order(rules.bath_tasks(baths, ahead))]
    assert order == ["today", "foretold sooner", "monday", "in a week", "unknown"]
