"""Calendars over HTTP: what stands behind a private address, who gets in, and what a calendar need not load."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, CalendarLink
from studiodesk.journal.models import Entry
from studiodesk.people import actions as people
from studiodesk.people.models import Member
from tests import makers
from tests.desk.calendars import DAY, HOUR, booked, events, linked, read


@pytest.fixture(autouse=True)
def frozen(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def adri(house):
    return makers.member("Adri")


# ---- what a calendar reads ------------------------------------------------------------------------------------------


def test_a_calendar_reads_one_s_own_bookings_and_nobody_else_s(house, adri, now):
    mine, _other = booked(house, adri, now), booked(house, makers.member("Bo"), now, "E2")
    answer = read(linked(adri, now)[1])
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    [event] = events(answer)
    assert event["UID"] == f"booking-{mine.reference}@localhost"
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (mine.starts, mine.ends)
    assert event["SUMMARY"] == "Booth 1, Black-and-white, RC" and event["STATUS"] == "CONFIRMED"
    assert event["LOCATION"] == "Ostermill Darkroom, Booth 1"
    assert event["URL"] == f"http://localhost:8000/bookings/{mine.pk}/"
    assert "Place at the processor: RC processor" in event["DESCRIPTION"] and mine.reference in event["DESCRIPTION"]
    assert "light-tight bag" not in event["DESCRIPTION"]  # by safelight nobody needs one


def test_what_is_cancelled_stays_in_it_as_cancelled_for_four_weeks(house, adri, now):
    gone = booked(house, adri, now, days=21)
    token = linked(adri, now)[1]
    before = events(read(token))[0]
    actions.cancel(booking=gone, now=now + HOUR, by=adri)
    [event] = events(read(token))
    assert event["STATUS"] == "CANCELLED" and event["SUMMARY"] == "Cancelled: Booth 1, Black-and-white, RC"
    assert event["UID"] == before["UID"] and event["SEQUENCE"] > before["SEQUENCE"]
    assert event.decoded("LAST-MODIFIED") == event.decoded("DTSTAMP") == now + HOUR > before.decoded("DTSTAMP")
    with time_machine.travel(now + HOUR + 28 * DAY - HOUR, tick=False):
        assert len(events(read(token))) == 1
    with time_machine.travel(now + HOUR + 28 * DAY, tick=False):
        assert events(read(token)) == []


def test_it_goes_four_weeks_back_and_has_no_end_ahead(house, adri, now):
    past, far = booked(house, adri, now, days=-21), booked(house, adri, now, days=21)
    token = linked(adri, now)[1]
    found = {event["UID"].split("@")[0] for event in events(read(token))}
    assert found == {f"booking-{one.reference}" for one in (past, far)}
    with time_machine.travel(past.ends + 28 * DAY, tick=False):
        assert len(events(read(token))) == 1


def test_what_is_kept_until_an_answer_is_tentative_and_says_until_when(house, adri, now):
    """RFC 5545, 3.8.1.11."""
    one = booked(house, adri, now)
    Booking.objects.filter(pk=one.pk).update(offered_until=now + 3 * HOUR)
    [event] = events(read(linked(adri, now)[1]))
    assert event["STATUS"] == "TENTATIVE" and event["SUMMARY"].startswith("Kept for you: Booth 1")
    assert "Kept for you until Wednesday 25 November 2026, 18:00" in event["DESCRIPTION"]


def test_a_changed_booking_keeps_its_name_and_raises_its_sequence(house, adri, now):
    """RFC 5545, 3.8.4.7 and 3.8.7.4."""
    one = booked(house, adri, now)
    token = linked(adri, now)[1]
    [before] = events(read(token))
    Booking.objects.filter(pk=one.pk).update(
        starts=one.starts + HOUR, ends=one.ends + HOUR, sequence=1, changed_at=now + 2 * HOUR
    )
    [after] = events(read(token))
    assert after["UID"] == before["UID"] and after["SEQUENCE"] > before["SEQUENCE"]
    assert after.decoded("DTSTART") == one.starts + HOUR and after.decoded("LAST-MODIFIED") == now + 2 * HOUR


def test_a_booking_in_total_darkness_says_the_bag(house, adri, now):
    booked(house, adri, now, "E1", process="ra4")
    [event] = events(read(linked(adri, now)[1]))
    assert "Paper travels in a light-tight bag that is shut before the door opens." in event["DESCRIPTION"]


def test_a_station_s_calendar_has_numbers_and_no_names(house, adri, now):
    boss = makers.member("Sef", is_staff=True)
    one, _elsewhere = booked(house, adri, now), booked(house, adri, now, "S1", process=None)
    answer = read(linked(boss, now, station=house.stations["E1"])[1])
    [event] = events(answer)
    assert event["SUMMARY"] == f"Booth 1: booked ({adri.number})"
    assert event["UID"] == f"booking-{one.reference}@localhost"
    assert b"Adri" not in answer.content and adri.email.encode() not in answer.content
    actions.cancel(booking=one, now=now, by=adri)
    assert events(read(linked(boss, now, station=house.stations["E1"])[1]))[0]["SUMMARY"] == (
        f"Booth 1: cancelled ({adri.number})"
    )


# ---- what it need not load ------------------------------------------------------------------------------------------


def test_a_calendar_that_has_it_already_is_told_so(house, adri, now):
    """RFC 9110, 13.1.2 (If-None-Match), 13.1.3 and 13.2.2 (which of the two counts), 15.4.5 (304)."""
    one = booked(house, adri, now)
    token = linked(adri, now)[1]
    first = read(token)
    again = read(token, if_none_match=first["ETag"])
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
    assert read(token, if_none_match='"other", ' + first["ETag"]).status_code == 304
    assert read(token, if_modified_since=first["Last-Modified"]).status_code == 304
    actions.cancel(booking=one, now=now + HOUR, by=adri)
    changed = read(token, if_none_match=first["ETag"], if_modified_since=first["Last-Modified"])
    assert changed.status_code == 200 and changed["ETag"] != first["ETag"]
    assert read(token, if_modified_since=first["Last-Modified"]).status_code == 200
    # what falls out of the four weeks changes nothing that was modified: the tag tells, and it counts first
    with time_machine.travel(now + 60 * DAY, tick=False):
        assert read(token, if_none_match=changed["ETag"], if_modified_since=changed["Last-Modified"]).status_code == 200


def test_it_may_be_kept_by_the_calendar_alone_which_asks_each_time(house, adri, now):
    """RFC 9111, 5.2.2.7 (private) and 5.2.2.4 (no-cache)."""
    answer = read(linked(adri, now)[1])
    assert {"private", "no-cache"} == {part.strip() for part in answer["Cache-Control"].split(",")}
    assert answer["X-Robots-Tag"] == "noindex"
    assert "sessionid" not in answer.cookies and not answer.cookies


def test_the_day_on_which_it_was_read_is_written_once_a_day_and_nothing_else_is(house, adri, now):
    link, token = linked(adri, now)
    before = Entry.objects.count()

    def writes():
        with CaptureQueriesContext(
            connection,
        ) as done:
            read(token)
        return [q["sql"] for q in done if re.match(r"(INSERT|UPDATE|DELETE)", q["sql"])]

    assert len(writes()) == 1 and writes() == []
    link.refresh_from_db()
    assert link.last_used_on == date(2026, 11, 25)
    with time_machine.travel(datetime(2026, 11, 25, 23, 30, tzinfo=UTC), tick=False):
        assert len(writes()) == 1  # half past midnight in the studio
    link.refresh_from_db()
    assert link.last_used_on == date(2026, 11, 26) and Entry.objects.count() == before


def test_a_hundred_bookings_cost_no_more_questions_than_one(house, adri, now):
    token = linked(adri, now)[1]
    counts = []
    for days in ([1], range(2, 12)):
        for day in days:
            if (now + day * DAY).weekday():  # closed on Monday
                booked(house, adri, now, "S1", days=day, process=None)
        read(token)
        with CaptureQueriesContext(connection) as asked:
            read(token)
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 4


# ---- who gets in ----------------------------------------------------------------------------------------------------


def test_an_address_that_is_wrong_revoked_or_of_somebody_who_left_leads_nowhere(house, adri, now):
    link, token = linked(adri, now)
    assert read(token).status_code == 200
    assert read(token[:-1]).status_code == read("x").status_code == read("x" * 5000).status_code == 404
    _other, still = linked(adri, now)
    actions.revoke_calendar_link(link=link, now=now, by=adri)
    assert read(token).status_code == 404 and read(still).status_code == 200
    people.set_standing(person=adri, is_active=False, now=now, by=makers.member("Sef", is_staff=True))
    assert read(still).status_code == 404


def test_a_station_s_address_ends_with_being_staff_and_one_s_own_does_not(house, now):
    boss = makers.member("Sef", is_staff=True)
    station, own = linked(boss, now, station=house.stations["E1"])[1], linked(boss, now)[1]
    Member.objects.filter(pk=boss.pk).update(is_staff=False)
    assert (read(station).status_code, read(own).status_code) == (404, 200)


def test_the_secret_has_256_bits_and_only_its_hash_is_kept(house, adri, now):
    """OWASP ASVS 5.0 asks for 128 bits of a secret that stands in an address; ours has twice that."""
    link, token = linked(adri, now)
    assert len(token) == 43  # 32 bytes in base64 without padding: RFC 4648, 5
    kept = CalendarLink.objects.filter(pk=link.pk).values().get()
    assert token not in str(kept) and re.fullmatch(r"[0-9a-f]{64}", kept["token_hash"])
    assert token not in str(list(Entry.objects.values()))


def test_only_staff_follow_a_station_and_nobody_has_more_than_ten(house, adri, now):
    with pytest.raises(Refused) as caught:
        linked(adri, now, station=house.stations["E1"])
    assert caught.value.refusal.code == "bookings.station_link_is_for_staff"
    links = [linked(adri, now)[0] for _ in range(10)]
    with pytest.raises(Refused) as caught:
        linked(adri, now)
    assert caught.value.refusal.code == "bookings.too_many_links" and CalendarLink.objects.count() == 10
    actions.revoke_calendar_link(link=links[0], now=now, by=adri)
    assert linked(adri, now)
