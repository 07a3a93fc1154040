"""Somebody says that something does not work: who is told, and until when the desk is asked; on both databases."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import FaultReport
from studiodesk.bookings.rules import faults
from studiodesk.journal.models import Notice
from studiodesk.letters import render
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW
from tests.bookings.test_outages import shut


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


@pytest.mark.parametrize("kind", faults.KINDS)
def test_what_was_said_is_read_back_as_it_was_written(kind: str) -> None:
    assert faults.read(faults.written(kind, "")) == (kind, "")
    assert faults.read(faults.written(kind, " at  14:05: twice ")) == (kind, "at 14:05: twice")
    assert len(faults.written(kind, "x" * 300)) == faults.LONGEST
    assert faults.read("the old words") == ("other", "the old words")


def test_the_letter_says_what_and_where_and_is_not_sent_once_it_is_settled(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    report = actions.report_fault(resource=house.stations["E1"].resource, kind="fumes", more="sharp", now=now, by=adri)
    notice = Notice.objects.get(code="bookings.fault_reported")
    letter = render(notice, again=False)
    assert letter is not None
    assert letter.subject == "Fault: Booth 1, Smell or fumes: sharp"
    assert f"/fault/{report.pk}/" in letter.body
    assert "local emergency number" in letter.body and "safety data sheet" in letter.body
    actions.settle_fault(report=report, now=now, by=kim)
    assert render(notice, again=False) is None


def test_a_fault_is_told_once_an_hour_and_a_danger_at_once(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    sef = makers.member("Sef", is_staff=True)
    booth, told = house.stations["E1"].resource, Notice.objects.filter(code="bookings.fault_reported")

    def report(minutes: int, kind: str, **more: Any) -> FaultReport:
        who = more or {"by": adri}
        return actions.report_fault(resource=booth, kind=kind, now=now + timedelta(minutes=minutes), **who)

    first = report(0, "lamp")
    assert {one.person for one in told.all()} == {kim, sef}
    report(59, "jam")
    assert told.count() == 2
    report(59, "fumes")
    assert told.count() == 4
    report(60, "leak")
    assert told.count() == 4
    report(119, "timer", by=kim)
    assert told.count() == 5  # whoever reports it knows
    actions.report_fault(resource=house.stations["E2"].resource, kind="lamp", now=now, by=adri, more=" it   flickers ")
    assert told.count() == 7
    assert FaultReport.objects.latest("pk").what == "lamp: it flickers"
    actions.settle_fault(report=first, now=now, by=kim)
    actions.settle_fault(report=first, now=now + HOUR, by=sef)
    first.refresh_from_db()
    assert (first.settled_at, first.settled_by) == (now, kim)
    with pytest.raises(Refused):
        actions.settle_fault(report=report(300, "lamp"), now=now, by=adri)
    with pytest.raises(Refused):
        actions.report_fault(resource=booth, kind="lamp", now=now)


def test_a_report_whose_outage_is_over_asks_again_whether_it_works(house: Any, kim: Any, now: datetime) -> None:
    station = house.stations["S1"]
    report = actions.report_fault(resource=station.resource, kind="lamp", now=now, by=kim)
    assert [one.pk for one in queries.open_faults(now)] == [report.pk]
    shut([station], 0, 4, now, kim, report=report)
    assert [one.pk for one in queries.open_faults(TOMORROW + 3 * HOUR)] == []
    assert [one.pk for one in queries.open_faults(TOMORROW + 4 * HOUR)] == [report.pk]


def test_who_sees_a_report_is_whoever_made_it_and_the_house(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    report = actions.report_fault(resource=house.stations["E1"].resource, kind="lamp", now=now, by=adri)
    assert queries.access_fault(adri, report.pk) == queries.access_fault(kim, report.pk) == report
    with pytest.raises(FaultReport.DoesNotExist):
        queries.access_fault(makers.member("Bente"), report.pk)
