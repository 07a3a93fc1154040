"""Bookings as iCalendar text, held against RFC 5545 and RFC 7986 line by line."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.bookings.rules import calendar
from studiodesk.bookings.rules.calendar import CANCELLED, CONFIRMED, TENTATIVE, Occurrence, publish
from studiodesk.bookings.rules.telling import Standing, is_worth_saying

HOUR = timedelta(hours=1)
BEGINS = datetime(2026, 11, 26, 12, tzinfo=UTC)
ONE = Occurrence(
    uid="booking-K7M2P9QX@desk.example.org",
    starts=BEGINS,
    ends=BEGINS + 2 * HOUR,
    summary="Booth 1, Colour, RA-4",
    location="Ostermill Darkroom, Booth 1",
    description="Reference: K7M2P9QX\nhttps://desk.example.org/bookings/7/",
    url="https://desk.example.org/bookings/7/",
    status=CONFIRMED,
    sequence=0,
    made_at=datetime(2026, 11, 20, 9, tzinfo=UTC),
    modified_at=datetime(2026, 11, 21, 9, 30, 15, tzinfo=UTC),
)


def lines(text: bytes) -> list[str]:
    """Content lines, unfolded as RFC 5545, 3.1 says: CR LF and one space or tab are taken out."""
    return text.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode().split("\r\n")


def test_every_line_ends_in_cr_lf_and_holds_at_most_75_octets_without_cutting_a_sign_in_two():
    """RFC 5545, 3.1: "SHOULD NOT be longer than 75 octets, excluding the line break"."""
    long = replace(ONE, summary="暗室でのプリント" * 12, location="Größe " * 40, description="é" * 300)
    text = publish([long])
    assert text.endswith(b"END:VCALENDAR\r\n") and b"\n" not in text.replace(b"\r\n", b"")
    raw = text.split(b"\r\n")
    assert max(map(len, raw)) <= 75 and sum(line.startswith(b" ") for line in raw) > 12
    for line in raw:
        line.decode()  # a sign cut in two is no UTF-8
    assert f"SUMMARY:{long.summary}" in lines(text)


def test_commas_semicolons_backslashes_and_line_breaks_are_escaped():
    """RFC 5545, 3.3.11 (TEXT)."""
    text = publish([replace(ONE, summary="a, b; c\\d", description="one\ntwo\r\nthree\rfour\u2028five")])
    assert r"SUMMARY:a\, b\; c\\d" in lines(text)
    assert r"DESCRIPTION:one\ntwo\nthree\nfour\nfive" in lines(text)


def test_what_is_no_text_is_left_out():
    """RFC 5545, 3.1: CONTROL signs may stand in no value; a break in a name opens no new property."""
    text = publish([replace(ONE, summary="a\x00b\x07c\x7f\td\r\nSTATUS:CANCELLED")], name="N\x0bN\nMETHOD:REQUEST")
    assert r"SUMMARY:abc" + "\t" + r"d\nSTATUS:CANCELLED" in lines(text)
    assert [line for line in lines(text) if line.startswith(("STATUS", "METHOD"))] == ["STATUS:CONFIRMED"]


def test_a_booking_is_one_event_in_utc_without_rules_or_zones():
    """RFC 5545, 3.6.1 (UID and DTSTAMP are required), 3.3.5 form 2 (UTC)."""
    found = lines(publish([ONE]))
    assert found[:4] == ["BEGIN:VCALENDAR", "PRODID:-//studiodesk//bookings//EN", "VERSION:2.0", "CALSCALE:GREGORIAN"]
    for wanted in (
        "UID:booking-K7M2P9QX@desk.example.org",
        "DTSTART:20261126T120000Z",
        "DTEND:20261126T140000Z",
        "CREATED:20261120T090000Z",
        "LAST-MODIFIED:20261121T093015Z",
        "SEQUENCE:0",
        "STATUS:CONFIRMED",
        "TRANSP:OPAQUE",
        "URL:https://desk.example.org/bookings/7/",
    ):
        assert found.count(wanted) == 1, wanted
    assert not any(line.startswith(("RRULE", "RDATE", "BEGIN:VTIMEZONE", "METHOD")) for line in found)
    assert not any("TZID" in line for line in found)


@pytest.mark.parametrize(
    ("local", "begins"),
    [
        ((2026, 3, 29, 1, 30), "20260329T003000Z"),  # before the clock goes forward at 2:00
        ((2026, 3, 29, 3, 0), "20260329T010000Z"),
        ((2026, 10, 25, 1, 30), "20261024T233000Z"),
        ((2026, 10, 25, 3, 0), "20261025T020000Z"),  # after it went back at 3:00
    ],
)
def test_a_booking_over_a_clock_change_keeps_its_length_in_real_time(local, begins):
    """EU directive 2000/84/EC: at 1:00 UTC on the last Sunday of March and October."""
    starts = datetime(*local, tzinfo=ZoneInfo("Europe/Amsterdam"))
    ends = (starts.astimezone(UTC) + 3 * HOUR).astimezone(ZoneInfo("Europe/Amsterdam"))
    found = lines(publish([replace(ONE, starts=starts, ends=ends)]))
    assert f"DTSTART:{begins}" in found
    until = datetime.strptime(begins, "%Y%m%dT%H%M%SZ") + 3 * HOUR
    assert f"DTEND:{until:%Y%m%dT%H%M%SZ}" in found


def test_a_feed_has_a_name_and_says_when_to_look_again():
    """RFC 7986, 5.1 (NAME) and 5.7 (REFRESH-INTERVAL, whose value type has to be named)."""
    found = lines(publish([ONE], name="My bookings, all of them"))
    assert r"NAME:My bookings\, all of them" in found and "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in found
    assert not any(line.startswith(("NAME", "REFRESH")) for line in lines(publish([ONE])))


def test_the_stamp_is_the_last_change_in_a_feed_and_the_moment_of_writing_in_a_letter():
    """RFC 5545, 3.8.7.2: without METHOD "equivalent to LAST-MODIFIED", with it when the object was made."""
    assert "DTSTAMP:20261121T093015Z" in lines(publish([ONE]))
    found = lines(publish([ONE], method="PUBLISH", stamped=BEGINS - HOUR))
    assert "METHOD:PUBLISH" in found and "DTSTAMP:20261126T110000Z" in found
    assert "LAST-MODIFIED:20261121T093015Z" in found


def test_the_same_bookings_give_the_same_text():
    assert publish([ONE, replace(ONE, uid="b")], name="N") == publish([ONE, replace(ONE, uid="b")], name="N")


@pytest.mark.parametrize(
    ("cancelled_at", "offered_until", "status"),
    [(None, None, CONFIRMED), (None, BEGINS, TENTATIVE), (BEGINS, None, CANCELLED), (BEGINS, BEGINS, CANCELLED)],
)
def test_the_status_says_whether_it_is_booked_kept_or_cancelled(cancelled_at, offered_until, status):
    """RFC 5545, 3.8.1.11."""
    assert calendar.status_of(cancelled_at=cancelled_at, offered_until=offered_until) == status


def test_what_is_cancelled_takes_no_time():
    """RFC 5545, 3.8.2.7: TRANSPARENT for what does not block the time."""
    assert "TRANSP:TRANSPARENT" in lines(publish([replace(ONE, status=CANCELLED)]))


def test_last_modified_is_the_latest_of_all_that_happened_to_it():
    made = BEGINS - 48 * HOUR
    assert calendar.modified(made, None, None) == made
    assert calendar.modified(made, BEGINS, None, BEGINS - HOUR) == BEGINS


# ---- whether a letter that waited is still worth sending ------------------------------------------------------------

STANDS = Standing(BEGINS, BEGINS + 2 * HOUR, sequence=2)
NOW = BEGINS - 5 * HOUR


def test_a_reminder_is_sent_of_a_booking_that_stands_as_it_did_when_it_was_planned():
    assert is_worth_saying("bookings.reminder", STANDS, "bookings.reminder:7:2", NOW)
    assert is_worth_saying("bookings.reminder", STANDS, "bookings.reminder:7", NOW)


@pytest.mark.parametrize(
    ("change", "key", "now"),
    [
        ({"cancelled_at": NOW}, "bookings.reminder:7:2", NOW),
        ({"arrived_at": NOW}, "bookings.reminder:7:2", NOW),
        ({"offered_until": BEGINS}, "bookings.reminder:7:2", NOW),
        ({}, "bookings.reminder:7:1", NOW),  # it was moved since
        ({}, "bookings.reminder:7:2", BEGINS),
    ],
)
def test_a_reminder_is_not_sent_of_what_is_cancelled_moved_begun_or_already_in(change, key, now):
    assert not is_worth_saying("bookings.reminder", replace(STANDS, **change), key, now)


def test_an_offer_is_sent_only_while_it_stands():
    offered = replace(STANDS, offered_until=NOW + HOUR)
    assert is_worth_saying("bookings.offered", offered, "bookings.offered:7", NOW)
    assert not is_worth_saying("bookings.offered", offered, "bookings.offered:7", NOW + HOUR)
    assert not is_worth_saying("bookings.offered", STANDS, "bookings.offered:7", NOW)
    assert not is_worth_saying("bookings.offered", replace(offered, cancelled_at=NOW), "bookings.offered:7", NOW)


@pytest.mark.parametrize("code", ["bookings.hit", "bookings.hit_no_more", "bookings.house_closed", "bookings.overrun"])
def test_what_is_in_the_way_is_said_until_the_booking_is_over_or_cancelled(code):
    assert is_worth_saying(code, STANDS, f"{code}:7", STANDS.ends - HOUR)
    assert not is_worth_saying(code, STANDS, f"{code}:7", STANDS.ends)
    assert not is_worth_saying(code, replace(STANDS, cancelled_at=NOW), f"{code}:7", NOW)


@pytest.mark.parametrize("code", ["bookings.cancelled_by_house", "bookings.moved_by_house", "bookings.booked"])
def test_what_happened_is_said_however_late(code):
    assert is_worth_saying(code, replace(STANDS, cancelled_at=NOW), f"{code}:7:0", STANDS.ends + 48 * HOUR)
