"""A keyholder's afternoon at the desk, with JavaScript and without: let in, mend, call, close."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, FaultReport, Outage, Visit
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations import actions as house
from studiodesk.stations.models import Process, Shift, Station
from studiodesk.timekeeping import Span
from tests.statement import keeps

from .conftest import NOW, page_of
from .desk import Desk
from .people import log_in

EVENING = datetime(2026, 11, 26, 17, tzinfo=UTC)


def booked(who: str, station: str, starts: datetime, process: str = "rc") -> Booking:
    person = Member.objects.get(name=who)
    for note in SafetyNote.objects.all():
        safety.acknowledge(note=note, member=person, now=NOW - timedelta(days=3))
    return bookings.book(
        member=person,
        by=person,
        station=Station.objects.get(code=station),
        process=Process.objects.get(code=process),
        starts=starts,
        ends=starts + timedelta(hours=2),
        now=NOW - timedelta(days=2),
    )


#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "desk"),
    [("sqlite", False), ("postgres", True)],
    ids=["sqlite-without-javascript", "postgres-with-javascript"],
    indirect=True,
)


@pytest.fixture
def desk(request: pytest.FixtureRequest, site: Any, browser: Any) -> Any:
    keyholder = Member.objects.get(name="Keyholder")
    span = Span(NOW, NOW + timedelta(hours=4))
    shift = house.add_shift(span=span, now=NOW, by=Member.objects.get(name="Staff"))
    house.take_shift(shift=shift, now=NOW, by=keyholder)
    page = page_of(browser, javascript=request.param)
    log_in(page, site, "keyholder")
    yield Desk(page, site)
    assert page.faults == []


@keeps("plain")
def test_begin_the_shift_let_people_in_call_the_roll_and_hand_over(desk: Any, clock: Any) -> None:
    stay = booked("Friend", "E4", NOW + timedelta(minutes=15))
    desk.go("/shifts/")
    desk.press("Begin")
    desk.go()
    desk.says("Friend", "Booth 4", "14:15")
    desk.press("Sign .*in|In.*Friend|Friend.*in")
    desk.says("In: 1")
    stay.refresh_from_db()
    assert stay.arrived_at is not None

    # A walk-in is somebody too: on the desk, and on the roll-call with whom to call.
    desk.page.locator("main summary", has_text="Let in a walk-in").click()
    form = desk.page.locator("form[action*='walk-in']")
    form.get_by_label(re.compile("Name|Who")).first.fill("Wout de Vries")
    form.get_by_label(re.compile("[Pp]hone|call")).first.fill("+31 6 5550 0123")
    with desk.page.expect_navigation():
        form.get_by_role("button", name="Let in").click()
    visit = Visit.objects.get(kind="walk-in")
    desk.go("/roll/")
    rows = desk.page.locator("main tbody tr").all_inner_texts()
    assert len(rows) >= 2
    assert any("Friend" in row and "Booth 4" in row for row in rows)
    assert any("Wout de Vries" in row and "5550 0123" in row for row in rows)
    desk.press("Door sheet of today", "link")
    desk.says("Friend", "Booth 4", "Ready", "shred it|rescues nobody")

    clock.shift(timedelta(hours=2))
    desk.go()
    desk.press("Has left")
    visit.refresh_from_db()
    assert visit.left_at is not None
    desk.press("Sign .*out|Out.*Friend|Friend.*out")
    desk.says("logged nothing in", "Left today")
    desk.press("Do not know")
    assert "logged nothing in" not in desk.words()

    desk.go("/shifts/")
    desk.press("End it and hand over")
    desk.page.get_by_label("For whoever comes next").fill("Fixer for film runs out.\nThe tap of the sink drips.")
    desk.press("Keep the note")
    desk.says("Fixer for film runs out")
    shift = Shift.objects.get(person__name="Keyholder")
    assert shift.ended_at is not None
    desk.go("/roll/")
    assert "Wout" not in desk.words() and "Friend" not in desk.words()


def test_a_reported_fault_is_taken_out_of_service_and_everybody_gets_another_place(desk: Any, outbox: Any) -> None:
    hit = [booked("Friend", "E3", EVENING), booked("Tutor", "E3", EVENING - timedelta(hours=3))]
    bookings.report_fault(
        resource=Station.objects.get(code="E3").resource, kind="no light", now=NOW, by=Member.objects.get(name="Friend")
    )
    desk.go()
    desk.says("Booth 3")
    desk.page.locator("main a[href^='/fault/']").first.click()
    desk.press("Take it out of service", "link")
    form = desk.page.locator("main form[action='/desk/close/']")
    form.locator("[name=first_day]").fill("2026-11-26")
    form.locator("[name=first_time]").fill("09:00")
    form.locator("[name=last_day]").fill("2026-11-27")
    form.locator("[name=last_time]").fill("22:00")
    form.locator("[name=reason]").fill("The lamp is broken")
    desk.press("^Take it out of service")
    desk.says("2 bookings stand there", "Nobody is pushed out", "Friend", "Tutor", "The lamp is broken")
    assert not Outage.objects.exists()
    desk.press("Take it out of service and tell them")
    desk.says("2 bookings cannot stay", "Tutor.*nearest day.*Friend.*nearest day")
    assert Outage.objects.count() == 1

    # Seen from the desk too until it is settled; then in one go.
    desk.go()
    desk.says("Booth 3")
    desk.page.locator("main a[href^='/out/']").first.click()
    desk.page.wait_for_url(re.compile("/out/"))
    desk.press("Move all 2 as chosen")
    desk.says(
        "No booking stands in that time", "Settled", "Friend: now .*Booth 3", "Tutor: now Saturday 28 November 2026"
    )
    for booking in hit:
        was = booking.starts
        booking.refresh_from_db()
        assert booking.cancelled_at is None and booking.starts >= was + timedelta(days=2)
    call_command("tick", stdout=StringIO())
    told = {mail.to[0] for mail in outbox if "Booth 3" in mail.body}
    assert {"friend@example.org", "tutor@example.org"} <= told

    desk.press("The desk", "link")
    fault = FaultReport.objects.get()
    desk.go(f"/fault/{fault.pk}/")
    desk.press("It works: settled")
    desk.go(f"/fault/{fault.pk}/")
    desk.says("Settled Wednesday 25 November 2026")
    desk.go(f"/out/{Outage.objects.get().pk}/")
    desk.press("All of it from now on")
    desk.says("Everything is in service|over|Back|in service")
    assert bookings_free("E3")


def bookings_free(code: str) -> bool:
    """Whether that station can be booked again tomorrow evening."""
    return booked("Member", code, EVENING).cancelled_at is None
