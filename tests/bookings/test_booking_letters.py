"""The letters about bookings: each says what, where, when and what to do, as text and as HTML, with a calendar file."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from email import message_from_bytes
from email.policy import default as as_written
from pathlib import Path

import html5lib
import pytest
from bs4 import BeautifulSoup
from icalendar import Calendar

import studiodesk
from studiodesk import letters
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, Series
from studiodesk.bookings.queries.letters import WITH_FILE
from studiodesk.journal import actions as journal
from studiodesk.journal.models import Notice
from tests import makers

from .acting import HOUR, TOMORROW, booked

FOLDER = Path(studiodesk.__file__).parent / "bookings" / "templates" / "bookings" / "letters"
#: Letters of this folder that are to the house and about a thing.
TO_THE_HOUSE = {"bookings.fault_reported"}
#: Letters to whoever leads a group, about the group: ``test_groups_hit.py`` reads these.
TO_WHOEVER_LEADS = {"bookings.group_hit", "bookings.group_refitted"}
CODES = sorted({f"bookings.{path.stem}" for path in FOLDER.glob("*.txt")} - TO_THE_HOUSE - TO_WHOEVER_LEADS)


@pytest.fixture
def adri(house):
    return makers.member("Adri")


def noticed(booking, code, now, key="", about=None, **facts):
    """A notice as an act writes it: beside an entry about the booking."""
    entry = journal.record(code=code, happened_at=now, now=now, about=about or booking, facts=facts)
    key = key or f"{code}:{booking.pk}:test"
    journal.tell(entry=entry, person=booking.member, code=code, unique_key=key, due_at=now)
    return Notice.objects.get(unique_key=key)


def facts_of(booking, now):
    was = {
        "station": booking.station_id,
        "starts": (booking.starts - 24 * HOUR).isoformat(),
        "ends": (booking.ends - 24 * HOUR).isoformat(),
    }
    return {
        "before": was,
        "why": "A roller is broken <b>",
        "reason": "Set aside",
        "until": (now + 3 * HOUR).isoformat(),
    }


def written(house, adri, now, code, **more):
    """The letter with this code about a booking of tomorrow, 13:00 to 15:00, in colour."""
    booking = booked(house, adri, now, "E3", process="ra4")
    if code == "bookings.offered":
        Booking.objects.filter(pk=booking.pk).update(offered_until=now + 3 * HOUR)
    return booking, letters.render(noticed(booking, code, now, **{**facts_of(booking, now), **more}), False)


def words(html):
    return " ".join(BeautifulSoup(html, "html5lib").body.get_text(" ").split())


def test_there_is_a_letter_for_everything_that_happens_to_a_booking():
    assert set(CODES) >= {
        f"bookings.{name}"
        for name in (
            *("booked", "reminder", "changed", "moved_by_house", "cancelled", "cancelled_by_house", "hit", "offered"),
            *("offer_ran_out", "released", "overrun", "house_closed", "hit_no_more", "series_booked", "series_changed"),
        )
    }
    assert {code.split(".")[1] for code in CODES} <= {path.stem for path in FOLDER.glob("*.html")}


@pytest.mark.parametrize("code", CODES)
def test_each_says_what_where_when_and_where_to_go_on_as_text_and_as_html(house, adri, now, code):
    booking, letter = written(house, adri, now, code)
    assert len(letter.subject) < 110 and "\n" not in letter.subject
    page = words(letter.html)
    for said in (letter.body, page):
        assert "Hello Adri," in said and "Thursday 26 November 2026, 13:00 to 15:00" in said, code
        assert "Booth 3" in said and booking.reference in said and "Colour, RA-4" in said, code
        assert re.search(r"http://localhost:8000/(bookings|find)/", said), code
        assert "{{" not in said and "{%" not in said and "None" not in said
    assert "26 November 2026" in letter.subject and "  " not in letter.subject
    # Nothing of it may be too clever for a mail program, or load anything.
    assert letter.html.lstrip().startswith("<!doctype html>")
    html5lib.HTMLParser(strict=True).parse(letter.html.strip())
    found = BeautifulSoup(letter.html, "html5lib")
    assert not found.find_all(["img", "style", "script", "link", "table", "iframe"])
    assert [tag for tag in found.find_all() if tag.has_attr("style") or tag.has_attr("src")] == []
    assert len(found.find_all("h1")) == 1 and found.h1.get_text(strip=True) == letter.subject
    # As text it reads without gaps, and every sentence of it stands in the HTML too.
    assert "\n\n\n" not in letter.body and not re.search(r"[ \t]\n", letter.body)
    for line in letter.body.splitlines():
        assert " ".join(line.split()) in page, (code, line)


@pytest.mark.parametrize("code", CODES)
def test_a_second_copy_says_so_in_both(house, adri, now, code):
    booking = booked(house, adri, now, "E3", process="ra4")
    Booking.objects.filter(pk=booking.pk, pk__gt=0).update(
        offered_until=now + HOUR if code == "bookings.offered" else None
    )
    letter = letters.render(noticed(booking, code, now), True)
    assert "twice" in letter.body and "twice" in words(letter.html)


@pytest.mark.parametrize("code", ["bookings.booked", "bookings.reminder", "bookings.hit", "bookings.moved_by_house"])
def test_what_somebody_comes_for_has_its_ready_time_the_last_sheet_and_the_bag(house, adri, now, code):
    """Opening 10:00 and 45 min of warm-up; 15:00 less 6 min from dry to dry."""
    _booking, letter = written(house, adri, now, code)
    for said in (letter.body, words(letter.html)):
        assert "Ready time: 10:45" in said and "Last sheet in: 14:54" in said
        assert "Paper travels in a light-tight bag that is shut before the door opens." in said
        assert "Place at the processor: Colour processor" in said


def test_the_bag_is_not_said_where_nothing_is_dark(house, adri, now):
    booking = booked(house, adri, now, "E1")
    assert "light-tight" not in letters.render(noticed(booking, "bookings.booked", now), False).body
    scan = booked(house, adri, now, "S1", process=None)
    body = letters.render(noticed(scan, "bookings.reminder", now, key="k"), False).body
    assert "light-tight" not in body and "Ready time" not in body and "Process" not in body


@pytest.mark.parametrize("code", ["bookings.changed", "bookings.moved_by_house"])
def test_a_change_says_what_it_was_and_what_it_is_now(house, adri, now, code):
    _booking, letter = written(house, adri, now, code)
    for said in (letter.body, words(letter.html)):
        was, is_now = said.split("It is now:")
        assert "It was:" in was and "Wednesday 25 November 2026, 13:00 to 15:00" in was and "Booth 3" in was
        assert "Thursday 26 November 2026, 13:00 to 15:00" in is_now


def test_the_house_s_reason_is_passed_on_as_it_was_written(house, adri, now):
    _booking, letter = written(house, adri, now, "bookings.moved_by_house")
    assert "Why: A roller is broken <b>" in letter.body
    assert "Why: A roller is broken &lt;b&gt;" in letter.html and "Set aside" not in letter.html


@pytest.mark.parametrize("code", ["bookings.booked", "bookings.changed", "bookings.reminder"])
def test_why_a_rule_was_set_aside_stays_in_the_house(house, adri, now, code):
    _booking, letter = written(house, adri, now, code)
    assert "Set aside" not in letter.body + letter.html and "Why" not in letter.body


def test_a_change_of_nothing_but_the_process_says_only_what_it_is_now(house, adri, now):
    booking = booked(house, adri, now, "E3", process="ra4")
    was = {"station": booking.station_id, "starts": booking.starts.isoformat(), "ends": booking.ends.isoformat()}
    letter = letters.render(noticed(booking, "bookings.changed", now, before=was), False)
    assert "It was:" not in letter.body + letter.html and "It is now:" in letter.body


def test_an_offer_says_until_when_in_the_studio_s_time_and_where_to_answer(house, adri, now):
    booking, letter = written(house, adri, now, "bookings.offered")
    assert "until Wednesday 25 November 2026, 18:00" in letter.body  # 17:00 UTC
    assert f"http://localhost:8000/bookings/{booking.pk}/" in letter.body


def test_on_the_day_the_clock_changes_a_letter_says_the_local_time(house, adri):
    """The clock went forward on 29 March 2026 in Amsterdam: 13:00 there is 11:00 UTC from then on."""
    now = datetime(2026, 3, 27, 12, tzinfo=UTC)
    starts = datetime(2026, 3, 29, 11, tzinfo=UTC)
    booking = bookings.book(
        member=adri, station=house.stations["E1"], process=house.processes["rc"],
        starts=starts, ends=starts + 2 * HOUR, now=now, by=adri,
    )  # fmt: skip
    letter = letters.render(noticed(booking, "bookings.booked", now), False)
    assert "Sunday 29 March 2026, 13:00 to 15:00 (2 h)" in letter.body
    [event] = Calendar.from_ical(letter.attachments[0].content).walk("VEVENT")
    assert event.decoded("DTSTART") == starts


@pytest.mark.parametrize("code", sorted(code for code in WITH_FILE if "series" not in code))
def test_with_what_was_decided_comes_a_file_for_the_calendar(house, adri, now, code):
    """RFC 5546, 3.2.1 (PUBLISH) and RFC 5545, 3.8.1.11."""
    booking, letter = written(house, adri, now, code)
    [file] = letter.attachments
    calendar = Calendar.from_ical(file.content)
    [event] = calendar.walk("VEVENT")
    assert file.mime == "text/calendar; charset=utf-8; method=PUBLISH" and calendar["METHOD"] == "PUBLISH"
    assert file.name == f"booking-{booking.reference}.ics"
    assert event["UID"] == f"booking-{booking.reference}@localhost" and event.decoded("DTSTAMP") == now


def test_the_file_of_a_cancellation_takes_the_booking_out_of_the_calendar(house, adri, now):
    booking = booked(house, adri, now, "E1")
    first = letters.render(noticed(booking, "bookings.booked", now), False).attachments[0]
    bookings.cancel(booking=booking, now=now + HOUR, by=adri)
    last = letters.render(noticed(booking, "bookings.cancelled", now + HOUR), False).attachments[0]
    before, after = (Calendar.from_ical(file.content).walk("VEVENT")[0] for file in (first, last))
    assert (before["STATUS"], after["STATUS"]) == ("CONFIRMED", "CANCELLED")
    assert before["UID"] == after["UID"] and before["SEQUENCE"] < after["SEQUENCE"]


@pytest.mark.parametrize("code", sorted(set(CODES) - WITH_FILE))
def test_the_others_come_without_one(house, adri, now, code):
    assert written(house, adri, now, code)[1].attachments == ()


@pytest.mark.parametrize(
    ("code", "subject", "status"),
    [
        ("bookings.series_booked", "Booked: Scanning station, 3 times from Thursday 26 November 2026", "CONFIRMED"),
        ("bookings.series_changed", "Changed: Scanning station, 3 times from Thursday 26 November 2026", "CONFIRMED"),
        (
            "bookings.series_cancelled",
            "Cancelled: Scanning station, 3 times from Thursday 26 November 2026",
            "CANCELLED",
        ),
    ],
)
def test_what_happens_to_a_series_is_said_in_one_letter_with_all_its_times_and_one_file(
    house, adri, now, code, subject, status
):
    series = Series(
        member=adri, station=house.stations["S1"], first_day=TOMORROW.date(), last_day=TOMORROW.date(),
        begins_minute=780, length_minutes=120, made_at=now,
    )  # fmt: skip
    series.save()
    many = [booked(house, adri, now, "S1", start=7 * 24 * week, process=None) for week in range(3)]
    if status == "CANCELLED":
        many = [bookings.cancel(booking=one, now=now, by=adri) for one in many]
    notice = noticed(many[0], code, now, about=series, bookings=[one.pk for one in many])
    letter = letters.render(notice, False)
    assert letter.subject == subject
    for day in ("26 November", "3 December", "10 December"):
        assert f"Thursday {day} 2026, 13:00 to 15:00" in letter.body and f"Thursday {day} 2026" in words(letter.html)
    found = {
        (event["UID"], event["STATUS"]) for event in Calendar.from_ical(letter.attachments[0].content).walk("VEVENT")
    }
    assert found == {(f"booking-{one.reference}@localhost", status) for one in many}


# ---- whether it is still worth saying, when its turn comes ----------------------------------------------------------


def test_a_reminder_is_called_off_when_its_booking_was_cancelled_or_moved(house, adri, now, outbox):
    for what, station in (("stands", "E1"), ("cancelled", "E2"), ("moved", "E3")):
        booking = booked(house, adri, now, station)
        noticed(booking, "bookings.reminder", now, key=f"bookings.reminder:{booking.pk}:7")
        changes = {"sequence": 8 if what == "moved" else 7, "cancelled_at": now if what == "cancelled" else None}
        Booking.objects.filter(pk=booking.pk).update(**changes)
    Notice.objects.exclude(unique_key__endswith=":7").delete()
    done = journal.send_due_notices(now=now, render=letters.render)
    assert (done.sent, done.called_off, done.failed) == (1, 2, 0)
    assert ["Booth 1" in mail.body for mail in outbox] == [True]
    assert sorted(Notice.objects.values_list("state", flat=True)) == ["called off", "called off", "sent"]


def test_a_reminder_that_comes_too_late_is_not_sent(house, adri, now, outbox):
    booking = booked(house, adri, now, "E1")
    noticed(booking, "bookings.reminder", now, key="late:test:x")
    Notice.objects.exclude(unique_key="late:test:x").delete()
    done = journal.send_due_notices(now=booking.starts, render=letters.render)
    assert (done.sent, done.called_off, outbox) == (0, 1, [])


def test_as_a_mail_it_is_text_and_html_with_the_file_byte_for_byte(house, adri, now, tmp_path, settings_of_mail):
    """RFC 2046, 5.1.4: in multipart/alternative the plainest comes first.  RFC 2045, 6.8: base64 keeps every byte."""
    booking = booked(house, adri, now, "E3", process="ra4")
    notice = noticed(booking, "bookings.booked", now, key="mail")
    Notice.objects.exclude(pk=notice.pk).delete()
    assert journal.send_due_notices(now=now, render=letters.render).sent == 1
    [path] = list(tmp_path.iterdir())
    mail = message_from_bytes(path.read_bytes().split(b"-" * 79)[0], policy=as_written)
    assert mail["Message-ID"] == journal.message_id(notice) and mail.get_content_type() == "multipart/mixed"
    both, file = mail.iter_parts()
    assert [part.get_content_type() for part in both.iter_parts()] == ["text/plain", "text/html"]
    assert (file.get_content_type(), file.get_param("method")) == ("text/calendar", "PUBLISH")
    assert file.get_filename() == f"booking-{booking.reference}.ics"
    kept = file.get_payload(decode=True)
    assert kept.count(b"\r\n") == kept.count(b"\n") > 10
    assert Calendar.from_ical(kept).walk("VEVENT")[0]["UID"].startswith(f"booking-{booking.reference}@")


@pytest.fixture
def settings_of_mail(tmp_path):
    """The demo's way: every letter a file in a folder."""
    from django.test import override_settings

    with override_settings(
        EMAIL_BACKEND="django.core.mail.backends.filebased.EmailBackend", EMAIL_FILE_PATH=str(tmp_path)
    ):
        yield
