"""Three calendar readers that share no code (icalendar, vobject, ics) read the same out of what we write."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import ics
import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from studiodesk.bookings.rules.calendar import CANCELLED, CONFIRMED, TENTATIVE, Occurrence, publish

from .test_calendar import BEGINS, HOUR, ONE

AMSTERDAM = ZoneInfo("Europe/Amsterdam")


@dataclass(frozen=True)
class Read:
    uid: str
    starts: datetime
    ends: datetime
    summary: str
    location: str
    description: str
    url: str
    status: str
    sequence: int
    modified_at: datetime


def by_icalendar(text: bytes) -> list[Read]:
    return [
        Read(
            str(event["UID"]),
            event.decoded("DTSTART"),
            event.decoded("DTEND"),
            str(event["SUMMARY"]),
            str(event["LOCATION"]),
            str(event["DESCRIPTION"]),
            str(event["URL"]),
            str(event["STATUS"]),
            int(event["SEQUENCE"]),
            event.decoded("LAST-MODIFIED"),
        )
        for event in Calendar.from_ical(text).walk("VEVENT")
    ]


def by_vobject(text: bytes) -> list[Read]:
    return [
        Read(
            event.uid.value,
            event.dtstart.value,
            event.dtend.value,
            event.summary.value,
            event.location.value,
            event.description.value,
            event.url.value,
            event.status.value,
            int(event.sequence.value),
            event.last_modified.value,
        )
        for event in getattr(vobject.readOne(text.decode()), "vevent_list", [])
    ]


def by_ics(text: bytes) -> list[Read]:
    """This one keeps events in a set, and what it does not know (SEQUENCE) as lines."""

    def sequence(event):
        return next(int(line.value) for line in event.extra if line.name == "SEQUENCE")

    return [
        Read(
            event.uid,
            event.begin.datetime,
            event.end.datetime,
            event.name,
            event.location,
            event.description,
            event.url,
            event.status,
            sequence(event),
            event.last_modified.datetime,
        )
        for event in ics.Calendar(text.decode()).events
    ]


READERS = [by_icalendar, by_vobject, by_ics]


def written(*occurrences) -> list[Read]:
    return [
        Read(
            one.uid,
            one.starts.astimezone(UTC),
            one.ends.astimezone(UTC),
            one.summary,
            one.location,
            one.description,
            one.url,
            one.status,
            one.sequence,
            one.modified_at,
        )
        for one in occurrences
    ]


def in_order(many: list[Read]) -> list[Read]:
    return sorted(many, key=lambda one: one.uid)


def assert_all_read(*occurrences, readers=READERS, **options) -> None:
    text = publish(occurrences, **options)
    for reader in readers:
        assert in_order(reader(text)) == in_order(written(*occurrences)), reader.__name__


def local(uid: str, starts: tuple[int, ...], ends: tuple[int, ...]) -> Occurrence:
    return replace(ONE, uid=uid, starts=datetime(*starts, tzinfo=AMSTERDAM), ends=datetime(*ends, tzinfo=AMSTERDAM))


DAYS = [
    local("march", (2026, 3, 29, 1), (2026, 3, 29, 4)),
    local("october", (2026, 10, 25, 1), (2026, 10, 25, 4)),
    local("midnight", (2026, 12, 31, 22), (2027, 1, 1, 1)),
]


def test_three_readers_read_the_same_on_clock_change_days_and_over_midnight():
    assert [one.ends.astimezone(UTC) - one.starts.astimezone(UTC) for one in DAYS] == [2 * HOUR, 4 * HOUR, 3 * HOUR]
    assert_all_read(*DAYS)


@pytest.mark.parametrize(
    "text",
    [
        "Booth 1, with a comma; and a semicolon",
        "one line\nand another, after it\n\nand a third",
        "a backslash \\ and one before a comma \\, or at the end \\",
        "Größenwahn à la carte: 暗室, темная комната, غرفة مظلمة, 🎞️",
        "a colon: and a \"quoted\" word, and 'another'",
        "A very long name of a station " * 12,
        "長" * 120,
        "BEGIN:VEVENT",
    ],
)
def test_three_readers_read_every_sign_of_a_text(text):
    text = text.strip()
    assert_all_read(replace(ONE, summary=text, location=f"x{text}", description=f"{text}\n{text}"), name=text)


def test_a_backslash_before_an_n_is_no_line_break():
    """RFC 5545, 3.3.11.  Of the three, ics 0.7 takes it for one whoever wrote it; the other two keep to the grammar."""
    two = [by_icalendar, by_vobject]
    assert_all_read(replace(ONE, summary="C:\\new\\negatives", description="\\n\\\\n\\,;"), readers=two)


def test_three_readers_read_what_was_kept_changed_and_cancelled():
    assert_all_read(
        ONE,
        replace(ONE, uid="kept", status=TENTATIVE),
        replace(ONE, uid="changed", sequence=6, modified_at=BEGINS),
        replace(ONE, uid="cancelled", status=CANCELLED, sequence=7, modified_at=BEGINS + HOUR),
    )


def test_three_readers_read_a_letter_s_file_too():
    assert_all_read(ONE, method="PUBLISH", stamped=BEGINS)


def test_three_readers_take_a_calendar_without_bookings():
    """Common practice: RFC 5545, 3.6 asks for a component, and no reader minds that there is none yet."""
    assert [reader(publish([], name="Nothing yet")) for reader in READERS] == [[], [], []]


#: What people type: letters of any script, signs, blanks, breaks; no backslash, and nothing that is no text.
SIGNS = st.characters(exclude_categories=("C", "Z"), exclude_characters="\\")
TEXTS = st.text(st.one_of(st.sampled_from(",;:\"'\n nN"), SIGNS), min_size=1, max_size=120).map(
    lambda text: f"a{text}z"
)


@given(
    summary=TEXTS,
    description=TEXTS,
    status=st.sampled_from([CONFIRMED, TENTATIVE, CANCELLED]),
    sequence=st.integers(0, 999),
    starts=st.datetimes(datetime(2025, 1, 1), datetime(2035, 1, 1)),
    quarters=st.integers(1, 60),
)
@settings(max_examples=150, deadline=None)
def test_three_readers_read_the_same_whatever_is_written(summary, description, status, sequence, starts, quarters):
    starts = starts.replace(second=0, microsecond=0, tzinfo=UTC)
    ends = starts + timedelta(minutes=15 * quarters)
    assert_all_read(
        replace(
            ONE, summary=summary, description=description, status=status, sequence=sequence, starts=starts, ends=ends
        )
    )


def test_the_comparison_notices_a_reader_that_reads_something_else():
    text = publish([ONE]).replace(b"DTSTART:20261126T120000Z", b"DTSTART:20261126T120000")
    assert all(in_order(reader(text)) != written(ONE) for reader in (by_icalendar, by_vobject))
