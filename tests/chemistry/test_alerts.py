"""Alerts: raised once by rule, taken, put off and cleared by people, and never rewritten by what is logged late."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.actions.alerts import key_of
from studiodesk.chemistry.models import Alert
from studiodesk.chemistry.rules import alerts as rules
from studiodesk.chemistry.rules.alerts_since import so_since
from studiodesk.chemistry.rules.events import Given, SheetsThrough
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.tank import Filling, looked_at
from studiodesk.journal.models import Entry
from studiodesk.units import PL_PER_ML
from tests import makers
from tests.desk.baths import log, write

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
ZONE = ZoneInfo("Europe/Amsterdam")


def history(alert):
    return [one.code.rpartition(".alert_")[2] for one in queries.history_of(alert)]


def raised(house, now, **more):
    processor = house.processors["P-RC"]
    given = {"kind": "processor held", "key": rules.key_of("processor held", "processor", processor.pk)}
    return actions.raise_alert(**(given | {"processor": processor, "now": now} | more))


def columns(alert):
    names = (
        "kind key raised_at since late limit taken_at taken_by_id snoozed_at snoozed_until snoozed_by_id snooze_reason"
    )
    return Alert.objects.filter(pk=alert.pk).values(*names.split()).get()


def refused(act, **given):
    with pytest.raises(Refused) as caught:
        act(**given)
    return caught.value.refusal.code


# ---- raised and cleared -------------------------------------------------------------------------------------------


def test_an_alert_is_never_raised_twice_for_one_thing_while_it_stands_open(house, now):
    first = raised(house, now)
    assert raised(house, now + HOUR, since=now - DAY, facts={"rule": "control"}).pk == first.pk
    assert columns(first)["since"] == now and Alert.objects.count() == 1
    assert actions.clear_alert(key=first.key, now=now + HOUR).pk == first.pk
    assert actions.clear_alert(key=first.key, now=now + HOUR) is None
    again = raised(house, now + 2 * HOUR)
    assert again.pk != first.pk and history(first) == ["raised", "cleared"]


def test_a_kind_that_there_is_not_is_a_fault_of_the_code(house, now):
    with pytest.raises(ValueError, match="no such kind"):
        raised(house, now, kind="hunger")


def test_two_things_of_one_kind_have_an_alert_each(house, now):
    for code in ("P-RC", "P-CO"):
        row = house.processors[code]
        actions.raise_alert(
            kind="not closed", key=rules.key_of("not closed", "processor", row.pk), processor=row, now=now
        )
    assert Alert.objects.filter(cleared_at=None).count() == 2


def test_what_a_person_writes_down_later_than_five_minutes_after_it_is_late_and_a_slow_timer_is_not(house, now):
    kim = makers.member("Kim", is_keyholder=True)
    for number, (since, by, late) in enumerate(
        [
            (now - 5 * timedelta(minutes=1), kim, False),
            (now - 6 * timedelta(minutes=1), kim, True),
            (now - DAY, None, False),
        ]
    ):
        alert = raised(house, now, key=f"x:{number}", since=since, by=by)
        assert (alert.late, alert.since, alert.raised_at) == (late, since, now)


# ---- since when it is so ------------------------------------------------------------------------------------------


def test_an_alert_says_since_when_it_is_so_and_that_it_was_written_down_late(house, now):
    earlier = now - 3 * HOUR
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=5, kind="print", who="walk-in",
        fed_at=earlier, now=now,
    )  # fmt: skip
    alert = Alert.objects.get()
    assert (alert.kind, alert.since, alert.raised_at, alert.late) == ("replenishment due", earlier, now, True)


def test_sheets_logged_late_that_only_with_later_ones_reach_the_limit_are_of_the_later_moment(house, now):
    """The colour developer takes 4.8 m²: 60 sheets at noon and 40 logged late for eleven pass it at noon."""
    noon = now - 3 * HOUR
    log(house, noon, "P-CO", 60)
    assert not Alert.objects.exists()
    actions.log_sheets(
        processor=house.processors["P-CO"], sheet=house.sizes["203x254"], sheets=40, kind="print", who="walk-in",
        fed_at=noon - HOUR, now=now,
    )  # fmt: skip
    alert = Alert.objects.get()
    assert (alert.kind, alert.limit, alert.since, alert.late) == ("at its end", "capacity", noon, True)


def test_what_was_logged_late_long_before_the_limit_was_reached_is_not_late(house, now):
    actions.log_sheets(
        processor=house.processors["P-CO"], sheet=house.sizes["203x254"], sheets=40, kind="print", who="walk-in",
        fed_at=now - 2 * DAY, now=now - DAY,
    )  # fmt: skip
    log(house, now, "P-CO", 60)
    alert = Alert.objects.get()
    assert (alert.since, alert.late) == (now, False)


def test_a_bath_that_grew_too_old_while_nobody_looked_did_so_at_its_own_hour(house, now):
    bath = house.baths["P-CO", "dev"]
    write(house, "refill", now, ("P-CO", "dev"))
    actions.review_baths(now=now + 21 * DAY + 3 * HOUR)
    alert = Alert.objects.get(bath=bath)
    assert (alert.limit, alert.since, alert.late) == ("age", now + 21 * DAY, False)
    assert alert.raised_at == now + 21 * DAY + 3 * HOUR


def settings(**more):
    given = {"volume_pl": 1000 * PL_PER_ML, "dosing": "hand", "rate_ul_per_m2": 1000, "unit_pl": 10 * PL_PER_ML}
    return SettingsHistory.always(BathSettings(**(given | more)))


def due(state, at, figures):
    return looked_at(state, at, figures, ZONE).outstanding_pl >= 10 * PL_PER_ML


def test_idle_days_make_it_so_at_the_midnight_that_ends_the_day(now):
    """5 mL an idle day, a measure of 10 mL: filled on Wednesday, Thursday and Friday are the first two whole days."""
    figures = settings(rate_ul_per_m2=None, idle_pl_per_day=5 * PL_PER_ML)
    at = now + 5 * DAY
    since = so_since(lambda state, moment: due(state, moment, figures), Filling(now), [], figures, at, ZONE)
    assert since.astimezone(ZONE).isoformat() == "2026-11-28T00:00:00+01:00"
    given = Given(at - HOUR, 50 * PL_PER_ML)
    assert so_since(lambda state, moment: due(state, moment, figures), Filling(now), [given], figures, at, ZONE) is None


def test_what_stopped_being_so_in_between_counts_from_when_it_came_back(now):
    figures = settings()
    sheets = [SheetsThrough(now + n * HOUR, 1_000_000, 10) for n in (1, 3)]  # 10 mL each time
    events = [sheets[0], Given(now + 2 * HOUR, 10 * PL_PER_ML), sheets[1]]
    asked = {"history": figures, "zone": ZONE, "so": lambda state, moment: due(state, moment, figures)}
    assert so_since(filling=Filling(now), events=events, at=now + 4 * HOUR, **asked) == now + 3 * HOUR
    assert so_since(filling=Filling(now), events=events[:1], at=now + 4 * HOUR, **asked) == now + HOUR
    assert so_since(filling=None, events=events[:2], at=now + 4 * HOUR, **asked) is None


# ---- what people do -----------------------------------------------------------------------------------------------


def test_an_alert_is_taken_given_back_and_taken_over_each_by_whom(house, now):
    alert, kim, sef = raised(house, now), makers.member("Kim", is_keyholder=True), makers.member("Sef", is_staff=True)
    lou = makers.member("Lou", is_keyholder=True)
    actions.take_alert(alert=alert, now=now, by=kim)
    actions.take_alert(alert=alert, now=now + HOUR, by=kim)  # pressed twice
    assert columns(alert)["taken_at"] == now
    assert refused(actions.take_alert, alert=alert, now=now, by=lou) == "chemistry.alert_taken"
    assert refused(actions.give_back_alert, alert=alert, now=now, by=lou) == "chemistry.alert_not_yours"
    actions.take_alert(alert=alert, now=now + HOUR, by=lou, over=True)
    assert columns(alert)["taken_by_id"] == lou.pk
    actions.give_back_alert(alert=alert, now=now + HOUR, by=sef)  # staff do it for them
    assert columns(alert)["taken_by_id"] is None
    actions.clear_alert(key=alert.key, now=now + HOUR, by=sef)
    assert refused(actions.take_alert, alert=alert, now=now + HOUR, by=kim) == "chemistry.alert_cleared"
    assert history(alert) == ["raised", "taken", "taken", "given_back", "cleared"]
    actors = list(Entry.objects.filter(about="alert").order_by("pk").values_list("actor", flat=True))
    assert actors == [None, kim.pk, lou.pk, sef.pk, sef.pk]


def test_an_alert_is_put_off_with_a_reason_and_comes_back_by_itself(house, now):
    alert, kim = raised(house, now), makers.member("Kim", is_keyholder=True)
    until = now + 2 * HOUR

    def put_off(**more):
        return {"alert": alert, "until": until, "reason": "the part comes at five", "now": now, "by": kim} | more

    assert refused(actions.put_off_alert, **put_off(reason="  ")) == "chemistry.alert_reason"
    assert refused(actions.put_off_alert, **put_off(until=now)) == "chemistry.alert_until_past"
    assert refused(actions.put_off_alert, **put_off(until=now + timedelta(days=14, seconds=1))) == (
        "chemistry.alert_until_far"
    )
    actions.put_off_alert(**put_off())
    for at, there in ((now, False), (until - timedelta(seconds=1), False), (until, True)):
        found = queries.open_alerts(at)
        assert (found.now != [], found.put_off != []) == (there, not there)
    # Put off, it stands open still: the same thing is not raised beside it.
    assert raised(house, now + HOUR).pk == alert.pk
    actions.put_off_alert(**put_off(now=until, until=until + DAY, reason="not yet"))
    row = Alert.objects.get()
    assert row.snooze_reason == "not yet"
    assert [one["reason"] for one in row.facts["put_off"]] == ["the part comes at five"]
    assert row.facts["put_off"][0]["by"] == kim.pk
    actions.bring_back_alert(alert=row, now=until + HOUR, by=kim)
    assert queries.open_alerts(until + HOUR).now == [row]
    assert history(row) == ["raised", "put_off", "put_off", "brought_back"]


def test_only_what_no_rule_can_see_is_cleared_by_hand_and_never_without_a_reason(house, now):
    kim, bath = makers.member("Kim", is_keyholder=True), house.baths["P-RC", "dev"]
    for kind in Alert.Kind.values:
        alert = actions.raise_alert(kind=kind, key=key_of(kind, bath), bath=bath, now=now)
        if kind in ("evaporation", "pump off", "unlogged"):
            assert refused(actions.clear_by_hand, alert=alert, reason=" ", now=now, by=kim) == "chemistry.alert_reason"
            actions.clear_by_hand(alert=alert, reason="a lid was off", now=now, by=kim)
            row = Alert.objects.get(pk=alert.pk)
            assert (row.cleared_person, row.facts["why_cleared"]) == (kim, "a lid was off")
        else:
            code = refused(actions.clear_by_hand, alert=alert, reason="done", now=now, by=kim)
            assert code == "chemistry.alert_by_rule", kind


def test_no_free_text_reaches_the_journal(house, now):
    kim, bath = makers.member("Kim", is_keyholder=True), house.baths["P-RC", "dev"]
    alert = actions.raise_alert(kind="unlogged", key="u", bath=bath, now=now, facts={"ml": "120"})
    actions.put_off_alert(alert=alert, until=now + HOUR, reason="Wim was here", now=now, by=kim)
    actions.clear_by_hand(alert=alert, reason="it was Wim", now=now, by=kim)
    assert "Wim" not in str(list(Entry.objects.values_list("facts", flat=True)))


# ---- a late log -----------------------------------------------------------------------------------------------------


def test_a_late_log_changes_no_alert_s_history(house, now):
    """Raised, taken and put off, and one cleared: after logs for earlier hours every column is what it was."""
    kim = makers.member("Kim", is_keyholder=True)
    log(house, now)  # 128.9 mL due
    alert = Alert.objects.get()
    actions.take_alert(alert=alert, now=now, by=kim)
    actions.put_off_alert(alert=alert, until=now + DAY, reason="in a minute", now=now, by=kim)
    before = columns(alert)
    later = now + HOUR
    for hours, sheets in ((30, 5), (2, 1)):
        actions.log_sheets(
            processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=sheets, kind="print",
            who="walk-in", fed_at=now - hours * HOUR, now=later,
        )  # fmt: skip
    assert columns(alert) == before and Alert.objects.count() == 1
    write(house, "given", later, amount_pl=450 * PL_PER_ML, by=kim)
    cleared = Alert.objects.get(pk=alert.pk)
    assert cleared.cleared_at == later and columns(alert) == before
    # What was given is logged once more for an hour ago: the cleared row stays, and nothing is raised.
    write(house, "given", now, amount_pl=50 * PL_PER_ML, now=later + HOUR)
    assert (Alert.objects.get().cleared_at, columns(alert)) == (later, before)


def test_giving_that_is_logged_late_clears_when_it_is_known(house, now):
    log(house, now)
    entry = write(house, "given", now + timedelta(minutes=5), amount_pl=150 * PL_PER_ML, now=now + 3 * HOUR)
    alert = Alert.objects.get()
    assert (alert.cleared_at, alert.cleared_by, alert.raised_at) == (now + 3 * HOUR, entry, now)
