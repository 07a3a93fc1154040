"""A member's fortnight on a phone, with JavaScript and without: book by need, change, undo, wait, take, come, leave."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from icalendar import Calendar

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, BookingKit, FaultReport, Offer, Series
from studiodesk.journal.models import Notice
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Process, Station
from tests.statement import keeps

from .conftest import NOW, page_of
from .people import log_in
from .phone import PHONE, Phone


def somebody_has(who: str, station: str, process: str | None, starts: datetime, hours: int) -> Booking:
    """As if that person had done it on a phone of their own."""
    person = Member.objects.get(name=who)
    for note in SafetyNote.objects.all():
        safety.acknowledge(note=note, member=person, now=starts - timedelta(days=3))
    return bookings.book(
        member=person,
        by=person,
        station=Station.objects.get(code=station),
        process=Process.objects.get(code=process) if process else None,
        starts=starts,
        ends=starts + timedelta(hours=hours),
        now=NOW - timedelta(days=2),
    )


#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "phone"),
    [("sqlite", False), ("postgres", True)],
    ids=["sqlite-without-javascript", "postgres-with-javascript"],
    indirect=True,
)


@pytest.fixture
def phone(request: pytest.FixtureRequest, site: Any, browser: Any) -> Any:
    page = page_of(browser, javascript=request.param, **PHONE)
    log_in(page, site, "member")
    yield Phone(page, site)
    assert page.faults == []


def book_by_need(phone: Phone) -> Booking:
    """A fibre print of 4×5 on Friday evening, with what the house lends, after the note that has to be read."""
    phone.go("/")
    phone.tap("Find a time", "link")
    phone.fill(make="process:fb", negative="4×5 in", length="120", day="2026-11-27", after="18:00")
    phone.tap("Show free times")
    phone.says(r"\d+ good times", "Friday 27 November 2026", "18:00 to 20:00")
    phone.tap("Read the safety note and book.*Fri 27 Nov", "link")
    phone.tap("Read the safety note", "link")
    phone.says("safety data sheet")
    phone.tap("I have read this")
    phone.says("What you will get", "light-tight bag")
    phone.page.locator("main details summary", has_text="Take along").tap()
    lent = phone.page.locator("main details[open] input[type=number], main details[open] select").first
    lent.fill("1")
    phone.tap("^Book$")
    phone.page.wait_for_url(re.compile(r"/bookings/\d+/$"))
    made = Booking.objects.get()
    assert BookingKit.objects.filter(booking=made).count() == 1 and made.process.code == "fb"
    assert made.starts == datetime(2026, 11, 27, 17, tzinfo=UTC)
    return made


@keeps("plain")
def test_book_by_need_change_undo_and_put_it_into_the_calendar(phone: Phone) -> None:
    made = book_by_need(phone)

    phone.tap("Change this booking", "link")
    phone.fill(begins="19:00", until="21:00")
    phone.tap("Show what it will be")
    phone.says("As it is now", "18:00 to 20:00", "What it will be", "19:00 to 21:00")
    phone.tap("Change it to this")
    phone.says("19:00 to 21:00", "The last change can be taken back until")
    phone.tap("Undo the last change")
    phone.says("18:00 to 20:00")
    made.refresh_from_db()
    assert (made.starts, made.ends) == tuple(datetime(2026, 11, 27, hour, tzinfo=UTC) for hour in (17, 19))

    # What the calendar of the phone gets is this booking, moved twice and back where it was.
    answer = phone.page.request.get(phone.site.url(f"/bookings/{made.pk}/booking.ics"))
    if not answer.ok:
        link = phone.page.get_by_role("link", name="Add to calendar").get_attribute("href")
        answer = phone.page.request.get(phone.site.url(link))
    event = next(iter(Calendar.from_ical(answer.body()).walk("VEVENT")))
    assert event.decoded("DTSTART") == made.starts and int(event["SEQUENCE"]) == made.sequence > 0

    phone.tap("Cancel this booking")
    phone.says("Cancelled on", "The cancellation can be taken back until")
    phone.tap("Undo the cancellation")
    phone.says("18:00 to 20:00")
    made.refresh_from_db()
    assert made.cancelled_at is None
    letters = Notice.objects.filter(person__name="Member").exclude(code="bookings.reminder").order_by("pk")
    said = [code.removeprefix("bookings.") for code in letters.values_list("code", flat=True)]
    assert said == ["booked", "changed", "changed", "cancelled", "changed"]


def test_a_series_shows_all_its_clashes_and_one_is_moved_one_left_out(phone: Phone) -> None:
    for day in (10, 17):
        somebody_has("Friend", "S1", None, datetime(2026, 12, day, 14, tzinfo=UTC), 2)
    phone.go("/find/?make=kind:scanning+station&day=2026-12-03&length=120&after=15:00")
    phone.says("Thursday 3 December 2026")
    phone.tap(r"^Book\s*: Thu 3 Dec, 15:00 to 17:00")
    phone.page.wait_for_url(re.compile(r"/bookings/\d+/$"))
    phone.tap("Book this time every week, from Thu 10 Dec", "link")
    phone.fill(last_day="2026-12-24")
    phone.tap("Book all of them")
    fieldsets = phone.page.locator("main fieldset", has=phone.page.get_by_text("Leave this one out"))
    assert fieldsets.count() == 2, fieldsets.all_inner_texts()
    assert "10 December" in fieldsets.nth(0).inner_text() and "17 December" in fieldsets.nth(1).inner_text()
    fieldsets.nth(0).get_by_role("radio").nth(1).check()
    phone.tap("Book the rest so")
    phone.says("Booked: 2 times", r"Thu 10 Dec, \d\d:00 to \d\d:00 · Scanning station", "Thu 24 Dec, 15:00 to 17:00")
    made = Booking.objects.filter(series=Series.objects.get(), cancelled_at=None).order_by("starts")
    assert [f"{one.starts:%d}" for one in made] == ["10", "24"]
    assert made[0].starts != datetime(2026, 12, 10, 14, tzinfo=UTC) and made[1].starts.hour == 14


def test_wait_for_a_time_get_it_when_somebody_gives_it_back_and_take_it(phone: Phone, outbox: Any) -> None:
    taken = somebody_has("Friend", "S1", None, datetime(2026, 11, 26, 14, tzinfo=UTC), 2)
    phone.go(
        "/find/?make=kind:scanning+station&day=2026-11-26&until_day=2026-11-26&after=15:00&before=17:00&length=120"
    )
    phone.says("[Nn]othing|No ")
    phone.tap("[Tt]ell me|[Ww]ait", "link")
    phone.tap("Wait for it")
    phone.says("What I wait for", "Place 1 in line")

    bookings.cancel(booking=taken, now=NOW, by=taken.member)
    call_command("tick", stdout=StringIO())
    offer = Offer.objects.get()
    assert [mail.to for mail in outbox].count(["member@example.org"]) >= 1
    phone.go("/")
    phone.says("Kept for you", "Say until")
    phone.page.locator(f"main a[href='/bookings/{offer.booking_id}/']").first.tap()
    phone.tap("Take it")
    phone.says("15:00 to 17:00")
    kept = Booking.objects.get(pk=offer.booking_id)
    assert kept.offered_until is None and kept.cancelled_at is None


def test_come_in_report_a_fault_in_two_taps_leave_and_say_what_became_of_the_sheets(phone: Phone, clock: Any) -> None:
    stay = somebody_has("Member", "E4", "rc", NOW + timedelta(minutes=15), 2)
    phone.go("/door/")
    phone.tap("Sign in")
    phone.says("You signed in at 14:0")

    phone.go(f"/bookings/{stay.pk}/")
    phone.tap("Report a fault", "link")
    phone.page.locator("main button.quiet[name=kind]").first.tap()
    phone.page.wait_for_url(re.compile(r"/fault/\d+/"))
    fault = FaultReport.objects.get()
    assert fault.resource == stay.station.resource and fault.reported_by == stay.member
    phone.says("Keyholders and staff know of it")

    clock.shift(timedelta(minutes=100))
    phone.go("/door/")
    phone.tap("Sign out")
    phone.says("You logged nothing in 1 h", "The baths are reckoned from what is logged")
    phone.tap("Add sheets", "link")
    phone.says("[Ss]heets")
    phone.go("/door/")
    phone.tap("Printed nothing")
    stay.refresh_from_db()
    assert stay.left_at is not None
    assert "Printed nothing" not in phone.words()
