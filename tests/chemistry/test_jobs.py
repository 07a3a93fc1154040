"""Jobs that recur and the working day of a processor: each step by whom and when, nothing ready with a step open."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert, BathEntry, BathSetting
from studiodesk.stations import actions as stations
from studiodesk.stations import job_queries
from studiodesk.stations.models import Job, JobDone, ProcessorOpening
from studiodesk.stations.queries import zone
from studiodesk.stations.rules import jobs as rules
from studiodesk.units import PL_PER_ML
from tests import makers
from tests.desk.baths import log

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


@pytest.fixture
def listed(house: Any, now: datetime) -> dict[str, Job]:
    """A temperature and a rinse at opening, lids at closing, an eyewash each week."""
    machine = house.processors["P-RC"]
    made = {
        "temp": {"name": "Temperature", "occasion": rules.OPENING, "processor": machine, "asks": rules.NUMBER,
                 "unit": "°C", "at_least": Decimal("33"), "at_most": Decimal("35"), "position": 1},
        "water": {"name": "Water topped up", "occasion": rules.OPENING, "processor": machine, "position": 0},
        "lids": {"name": "Lids on", "occasion": rules.CLOSING, "processor": machine},
        "eyewash": {"name": "Eyewash run", "occasion": rules.DAYS, "every_days": 7, "asks": rules.WORDS},
    }  # fmt: skip
    return {code: stations.keep_job(code=code, now=now, **fields)[0] for code, fields in made.items()}


def code_of(act: Any, **given_: Any) -> str:
    with pytest.raises(Refused) as caught:
        act(**given_)
    return caught.value.refusal.code


# ---- the pure rules -------------------------------------------------------------------------------------------------

DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))


@given(every=st.integers(1, 400), first=DAYS, last=st.none() | DAYS)
def test_a_job_is_due_on_its_first_day_and_then_so_many_days_after_it_was_done(
    every: int, first: date, last: Any
) -> None:
    job = rules.JobFacts("j", "J", rules.DAYS, every_days=every, first_day=first)
    due = rules.due_on(job, last)
    assert due == (first if last is None else max(first, last + timedelta(days=every)))


@pytest.mark.parametrize(
    ("value", "inside"), [("33", True), ("35.000", True), ("32.999", False), ("35.001", False), (None, True)]
)
def test_a_reading_at_its_limit_has_not_passed_it(value: str | None, inside: bool) -> None:
    job = rules.JobFacts("j", "J", rules.OPENING, rules.NUMBER, at_least=Decimal("33"), at_most=Decimal("35"))
    assert rules.is_in_tolerance(job, None if value is None else Decimal(value)) is inside


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"name": " "}, "stations.job_needs_name"),
        ({"every_days": None}, "stations.job_days_needed"),
        ({"every_days": 0}, "stations.job_days_needed"),
        ({"occasion": rules.OPENING}, "stations.job_days_needed"),
        ({"occasion": rules.OPENING, "every_days": None}, "stations.job_needs_processor"),
        ({"asks": rules.NUMBER, "at_least": Decimal(3), "at_most": Decimal(2)}, "stations.job_tolerance_empty"),
        ({"unit": "°C"}, "stations.job_no_tolerance"),
    ],
)
def test_a_job_that_contradicts_itself_is_not_kept(
    house: Any, now: datetime, fields: dict[str, Any], code: str
) -> None:
    asked = {"code": "x", "name": "X", "occasion": rules.DAYS, "every_days": 7, "now": now} | fields
    assert code_of(stations.keep_job, **asked) == code and not Job.objects.exists()


# ---- writing down ---------------------------------------------------------------------------------------------------


def test_done_left_out_and_taken_back_are_lines_of_their_own(listed: Any, kim: Any, now: datetime) -> None:
    eyewash = listed["eyewash"]
    assert code_of(actions.do_job, job=eyewash, now=now, by=kim) == "stations.job_words_needed"
    assert code_of(actions.do_job, job=eyewash, now=now, by=kim, left_out=True) == "stations.job_reason_needed"
    done = actions.do_job(job=eyewash, now=now, by=kim, note="runs clear")
    line = job_queries.lines(kim, now, zone())[0]
    assert (line.due, line.is_due) == (now.date() + 7 * DAY, False) and line.last == done
    actions.take_back_job(done=done, now=now + HOUR, by=kim)
    assert job_queries.lines(kim, now, zone())[0].is_due and JobDone.objects.count() == 2
    assert code_of(actions.take_back_job, done=done, now=now + HOUR, by=kim) == "stations.job_taken_back"
    other = actions.do_job(job=eyewash, now=now, by=kim, note="x")
    assert code_of(actions.take_back_job, done=other, now=now + DAY, by=kim) == "stations.job_of_another_day"


@pytest.mark.parametrize(("who", "may"), [("is_keyholder", False), ("is_staff", True), ("is_tutor", False)])
def test_who_may_not_do_it_does_not(house: Any, now: datetime, who: str, may: bool) -> None:
    job, _new = stations.keep_job(
        code="pump", name="Pump", occasion=rules.DAYS, every_days=90, who=rules.STAFF, now=now
    )
    by = makers.member("Somebody", **{who: True})
    if may:
        assert actions.do_job(job=job, now=now, by=by).done_by == by
    else:
        assert code_of(actions.do_job, job=job, now=now, by=by) == "stations.job_not_yours"


def test_an_overdue_job_raises_one_alert_and_doing_it_clears_it(listed: Any, kim: Any, now: datetime) -> None:
    assert actions.review_jobs(now=now) == 0  # due today is not overdue
    assert actions.review_jobs(now=now + DAY) == 1 and actions.review_jobs(now=now + 2 * DAY) == 0
    alert = Alert.objects.get()
    assert (alert.kind, alert.job, alert.facts) == ("job overdue", listed["eyewash"], {"day": "2026-11-25"})
    actions.do_job(job=listed["eyewash"], now=now + 2 * DAY, by=kim, note="runs")
    alert.refresh_from_db()
    assert alert.cleared_at == now + 2 * DAY and alert.cleared_person == kim


def test_a_job_that_is_not_done_any_more_keeps_no_alert(listed: Any, now: datetime) -> None:
    actions.review_jobs(now=now + DAY)
    Job.objects.filter(code="eyewash").update(in_use=False)
    actions.review_jobs(now=now + DAY)
    assert not Alert.objects.filter(cleared_at=None).exists()


# ---- the working day ------------------------------------------------------------------------------------------------


def test_nothing_is_ready_while_a_step_is_open_or_out_of_tolerance(
    house: Any, listed: Any, kim: Any, now: datetime
) -> None:
    machine = house.processors["P-RC"]
    assert code_of(actions.do_job, job=listed["temp"], now=now, by=kim, value=Decimal(34)) == "stations.not_opening"
    opening = stations.begin_opening(processor=machine, now=now, by=kim)
    assert stations.begin_opening(processor=machine, now=now + HOUR, by=kim) == opening
    assert code_of(actions.make_ready, opening=opening, now=now, by=kim) == "stations.steps_open"
    actions.do_job(job=listed["water"], now=now, by=kim, opening=opening)
    actions.do_job(job=listed["temp"], now=now, by=kim, value=Decimal("31.5"), opening=opening)
    alert = Alert.objects.get(kind="out of tolerance")
    assert alert.facts == {"value": "31.5", "unit": "°C", "at_least": "33", "at_most": "35"}
    with pytest.raises(Refused) as caught:
        actions.make_ready(opening=opening, now=now, by=kim)
    assert caught.value.refusal.facts["steps"] == ["Temperature"]
    assert job_queries.not_opened([machine.pk], now, zone()) == {machine.pk}
    actions.do_job(job=listed["temp"], now=now + HOUR, by=kim, value=Decimal("33.8"), opening=opening)
    alert.refresh_from_db()
    assert alert.cleared_at == now + HOUR
    ready = actions.make_ready(opening=opening, now=now + HOUR, by=kim)
    assert (ready.ready_at, ready.ready_by) == (now + HOUR, kim)
    assert job_queries.not_opened([machine.pk], now + HOUR, zone()) == set()
    assert code_of(actions.close_processor, opening=opening, now=now + 2 * HOUR, by=kim) == "stations.steps_open"
    actions.do_job(job=listed["lids"], now=now + 2 * HOUR, by=kim, left_out=True, note="broken", opening=opening)
    closed = actions.close_processor(opening=opening, now=now + 2 * HOUR, by=kim)
    assert closed.closed_by == kim and job_queries.not_opened([machine.pk], now + 3 * HOUR, zone()) == {machine.pk}
    assert code_of(actions.make_ready, opening=opening, now=now + 3 * HOUR, by=kim) == "stations.closed_already"


def test_an_opening_asks_for_its_replenishment_once_and_closing_pours_away_what_is_dumped_each_day(
    house: Any, kim: Any, now: datetime
) -> None:
    machine = house.processors["P-RC"]
    BathSetting.objects.filter(bath=house.baths["P-RC", "fix"]).update(start_up_pl=120 * PL_PER_ML)
    BathSetting.objects.filter(bath=house.baths["P-RC", "dev"]).update(dumped_at_closing=True)
    log(house, now - HOUR)
    opening = stations.begin_opening(processor=machine, now=now, by=kim)
    for _ in range(2):
        actions.make_ready(opening=opening, now=now, by=kim)
    [asked] = BathEntry.objects.filter(event="start-up")
    assert (asked.bath.code, asked.amount_pl) == ("fix", 120 * PL_PER_ML)
    actions.close_processor(opening=opening, now=now + HOUR, by=kim)
    assert [one.bath.code for one in BathEntry.objects.filter(event="dumped")] == ["dev"]
    lines = {(one.processor, one.bath): one for one in queries.standings(now + HOUR)}
    assert lines["P-RC", "dev"].is_empty and lines["P-RC", "fix"].start_up_pl == 120 * PL_PER_ML


def test_what_an_earlier_day_left_open_is_said_and_has_to_be_closed_first(house: Any, kim: Any, now: datetime) -> None:
    machine = house.processors["P-RC"]
    opening = stations.begin_opening(processor=machine, now=now, by=kim)
    assert actions.review_jobs(now=now) == 0
    assert actions.review_jobs(now=now + DAY) == 1
    assert Alert.objects.get().kind == "not closed"
    assert code_of(stations.begin_opening, processor=machine, now=now + DAY, by=kim) == "stations.left_open"
    actions.close_processor(opening=opening, now=now + DAY, by=kim)
    assert not Alert.objects.filter(cleared_at=None).exists()
    assert stations.begin_opening(processor=machine, now=now + DAY, by=kim) != opening
    assert ProcessorOpening.objects.count() == 2


def test_a_member_opens_nothing(house: Any, now: datetime) -> None:
    adri = makers.member("Adri")
    assert (
        code_of(stations.begin_opening, processor=house.processors["P-RC"], now=now, by=adri) == "stations.house_only"
    )
