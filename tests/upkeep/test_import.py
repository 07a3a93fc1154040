"""A history from files: recorded as it was, once, and refused with file, line, column and reason."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction

from studiodesk.answers import Refused
from studiodesk.bookings.models import Booking, Hold
from studiodesk.chemistry.models import Alert, BathEntry, Feed, Fill, StripReading
from studiodesk.journal.models import Entry, Notice
from studiodesk.people.models import Member
from studiodesk.upkeep.actions import import_history
from studiodesk.upkeep.words import told
from tests.upkeep.files import (
    BOOKING,
    BOOKINGS,
    EVENTS,
    FEED,
    FEEDS,
    MEMBERS,
    NOW,
    STRIPS,
    contents,
    imported,
    loaded,
    quarter,
    sentences,
)


def counts(outcome: Any) -> dict[str, tuple[int, int]]:
    return {file.file: (file.new, file.already) for file in outcome.files}


def test_the_quarter_is_recorded_whole(db: Any) -> None:
    """Figures counted from the files themselves: 635 bookings, 1,643 lines of sheets (issue text), 19, 144 and 26."""
    loaded()
    outcome = imported(quarter())
    assert sentences(outcome) == []
    assert [told(warning) for warning in outcome.warnings] == []
    assert counts(outcome) == {
        "members.csv": (26, 0),
        "bookings.csv": (635, 0),
        "feeds.csv": (1643, 0),
        "bath_events.csv": (19, 0),
        "strips.csv": (144, 0),
    }
    standing = Booking.objects.filter(cancelled_at=None)
    assert Hold.objects.filter(lane__resource__sort="station").count() == standing.count()
    assert standing.filter(processor=None).count() == 0
    assert Fill.objects.filter(bath__processor__code="P-RC", bath__code="dev").count() == 3
    assert Notice.objects.count() == 0
    assert not Member.objects.first().has_usable_password()
    assert Feed.objects.values_list("who", flat=True).distinct().get() == "booking"


def test_a_second_import_writes_nothing_even_with_the_rows_in_another_order(db: Any) -> None:
    loaded()
    imported(quarter())
    before = contents()
    again = import_history(files=quarter(), now=NOW + timedelta(days=1))
    assert {new for new, _ in counts(again).values()} == {0}
    assert counts(again)["feeds.csv"] == (0, 1643)
    turned = import_history(files={name: backwards(data) for name, data in quarter().items()}, now=NOW)
    assert {new for new, _ in counts(turned).values()} == {0}
    assert contents() == before


def backwards(data: bytes) -> bytes:
    header, *lines = data.splitlines()
    return b"\r\n".join([header, *reversed(lines)])


def test_the_order_of_the_rows_changes_no_sum(db: Any) -> None:
    def sums() -> list[Any]:
        fields = ("bath__processor__code", "bath__code", "began_at", "area_mm2", "due_pl", "given_pl", "sums")
        return list(Fill.objects.order_by("bath", "began_at").values_list(*fields))

    def holds() -> list[Any]:
        fields = ("lane__resource__sort", "starts", "ends", "booking__reference", "booking__processor__code")
        return sorted(Hold.objects.values_list(*fields))

    loaded()
    found = []
    for files in (quarter(), {name: backwards(data) for name, data in quarter().items()}):
        point = transaction.savepoint()
        imported(files)
        found.append((sums(), holds()))
        transaction.savepoint_rollback(point)
    assert Feed.objects.count() == 0
    assert found[0] == found[1]
    assert len(found[0][0]) == 20  # nineteen refills, and a wash of which none is known


def test_a_dry_run_counts_the_same_and_writes_nothing(db: Any) -> None:
    loaded()
    before = contents()
    tried = imported(quarter(), dry_run=True)
    assert contents() == before
    assert counts(tried) == counts(imported(quarter()))


def test_alerts_tell_the_present_after_an_import_and_nothing_of_the_past(db: Any) -> None:
    loaded()
    imported(quarter())
    open_now = set(Alert.objects.filter(cleared_at=None).values_list("bath__processor__code", "bath__code", "kind"))
    assert Alert.objects.exclude(cleared_at=None).count() == 0
    # P-RC: fixer of 1 October with 60 days, developer of 24 October with 42; neither is over on 25 November
    assert open_now == set()
    old = EVENTS + b"2026-01-01T08:00:00Z,T-FB,dev,refill,,\n"
    imported({"bath_events.csv": old})
    alert = Alert.objects.get(cleared_at=None)
    assert (alert.bath.processor.code, alert.kind, alert.limit) == ("T-FB", "at its end", "age")


def test_a_file_may_be_missing_empty_of_rows_or_carry_columns_of_its_own(db: Any) -> None:
    loaded()
    shuffled = (
        b"\xef\xbb\xbfshoe size,Email,NUMBER,joined_on,name\r\n44,saar@example.org,M1,2026-01-15,Saar\r\n\r\n , ,,,\r\n"
    )
    outcome = imported({"members.csv": shuffled, "strips.csv": STRIPS})
    assert counts(outcome) == {"members.csv": (1, 0), "strips.csv": (0, 0)}
    assert [told(warning) for warning in outcome.warnings] == [
        "members.csv, line 1, column “shoe size”: This column is not known here and was passed over."
    ]
    assert Member.objects.get().name == "Saar"
    without = (
        b"reference,member,station,start,end,made_at\nB1,M1,S1,2026-08-04T14:00Z,2026-08-04T16:00Z,2026-08-01T10:00Z\n"
    )
    outcome = imported({"bookings.csv": without})
    assert not outcome.refused
    assert [warning.column for warning in outcome.warnings] == ["process", "cancelled_at", "arrived_at"]
    assert Booking.objects.get().process is None


def test_quoted_cells_may_hold_commas_quotes_and_line_breaks_and_lines_are_counted_right(db: Any) -> None:
    loaded()
    note = b'2026-08-04T10:00:00Z,P-RC,dev,note,,"rollers, squeaking\r\n""again""\nsee log"\n'
    good = EVENTS + note + b"2026-08-05T10:00:00Z,P-RC,dev,given,250,\n"
    assert not imported({"bath_events.csv": good}).refused
    assert BathEntry.objects.get(event="note").note == 'rollers, squeaking\r\n"again"\nsee log'
    bad = EVENTS + note + b"2026-08-05T10:00:00Z,P-RC,dev,gift,250,\n"
    assert sentences(imported({"bath_events.csv": bad}))[0].startswith(
        "bath_events.csv, line 5, column “event”: “gift”"
    )


def test_people_in_any_script_are_kept_as_they_are_written(db: Any) -> None:
    loaded()
    names = ["Ólafur Þór", "久美子", "ناهید", "Žofie Nováková", "O’Neill, the younger", "🎞"]
    rows = "".join(f'm{n},"{name}",m{n}@example.org,2026-01-15\n' for n, name in enumerate(names))
    imported({"members.csv": b"number,name,email,joined_on\n" + rows.encode()})
    assert list(Member.objects.order_by("number").values_list("name", flat=True)) == names


def test_who_fed_the_sheets_follows_from_what_the_line_says(db: Any) -> None:
    loaded()
    at = b"2026-08-04T15:%02d:00Z,P-RC,%s,%s,203x254,1,%s\n"
    lines = [
        at % (n, *row)
        for n, row in enumerate(
            [
                (b"M1", b"B1", b"print"),
                (b"", b"B1", b"reject"),
                (b"M2", b"", b"test strip"),
                (b"", b"", b"print"),
                (b"", b"", b"control strip"),
                (b"", b"", b"house"),
                (b"", b"", b"cleaning"),
            ]
        )
    ]
    imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING, "feeds.csv": FEEDS + b"".join(lines)})
    rows = Feed.objects.order_by("fed_at").values_list("who", "member__number", "booking__reference", "sheet_area_mm2")
    area = 203 * 254
    assert list(rows) == [
        ("booking", "M1", "B1", area),
        ("booking", "M1", "B1", area),
        ("member", "M2", None, area),
        ("walk-in", None, None, area),
        ("house", None, None, area),
        ("house", None, None, area),
        ("house", None, None, 0),
    ]


def test_lines_that_say_the_same_are_as_many_as_they_are(db: Any) -> None:
    loaded()
    files = {"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING, "feeds.csv": FEEDS + FEED * 3}
    assert counts(imported(files))["feeds.csv"] == (3, 0)
    assert counts(imported(files))["feeds.csv"] == (0, 3)
    files["feeds.csv"] = FEEDS + FEED * 2 + FEED.replace(b"T15:00:00Z", b"T17:00:00+02:00") * 2
    assert counts(imported(files))["feeds.csv"] == (1, 3)


def test_entries_keep_their_amounts_and_a_strip_its_silver(db: Any) -> None:
    loaded()
    rows = (
        b"2026-08-04T10:00:00Z,P-CO,blix,partial dump,500.5,\n2026-08-04T11:00:00Z,P-CO,blix,strip,,read 1.4 g/L\n"
        b"2026-08-04T12:00:00Z,P-CO,blix,condemned,12,cloudy\n"
    )
    outcome = imported({"bath_events.csv": EVENTS + rows})
    assert list(BathEntry.objects.order_by("at").values_list("event", "amount_pl", "silver_ug_per_l")) == [
        ("partial dump", 500_500_000_000, None),
        ("strip", None, 1_400_000),
        ("condemned", None, None),
    ]
    assert [told(warning) for warning in outcome.warnings] == [
        "bath_events.csv, line 4, column “ml”: “condemned” has no amount; it was passed over."
    ]


def test_strips_are_kept_to_the_last_decimal(db: Any) -> None:
    loaded()
    imported({"strips.csv": STRIPS + b"2026-08-05T10:30:00Z,P-CO,LD,R,0.80,0.7961\n"})
    row = StripReading.objects.get()
    assert (row.aim, row.reading) == (Decimal("0.80"), Decimal("0.7961"))


def test_what_is_still_to_come_is_recorded_with_a_word_of_warning(db: Any) -> None:
    loaded()
    later = FEED.replace(b"2026-08-04", b"2026-12-24")
    outcome = imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING, "feeds.csv": FEEDS + FEED + later})
    assert [told(warning) for warning in outcome.warnings] == [
        "feeds.csv, line 3, column “fed_at”: Lines that have not come yet: 1, this one first. They were recorded as "
        "they stand."
    ]
    assert Feed.objects.count() == 2


def test_an_import_is_one_entry_a_file_and_none_for_what_was_here(db: Any) -> None:
    loaded()
    files = {"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING}
    imported(files)
    imported(files)
    entries = Entry.objects.filter(code="upkeep.history_imported").order_by("pk")
    assert [entry.facts for entry in entries] == [
        {"file": "members.csv", "new": 2, "already": 0},
        {"file": "bookings.csv", "new": 1, "already": 0},
    ]


def test_nothing_is_imported_before_a_studio_is_there(db: Any) -> None:
    with pytest.raises(Refused) as refused:
        imported({"members.csv": MEMBERS})
    assert refused.value.refusal.code == "stations.no_studio"
    assert Member.objects.count() == 0


def test_a_file_whose_people_were_refused_is_not_tried_and_the_others_are(db: Any) -> None:
    loaded()
    outcome = imported({**quarter(), "members.csv": MEMBERS + b"M3,Uma,not an address,2026-01-15\n"})
    told_of = {file.file: (bool(file.refused), file.waits_for, file.new) for file in outcome.files}
    assert told_of == {
        "members.csv": (True, "", 0),
        "bookings.csv": (False, "members.csv", 0),
        "feeds.csv": (False, "members.csv", 0),
        "bath_events.csv": (False, "", 19),
        "strips.csv": (False, "", 144),
    }
    assert Member.objects.count() == 0


def test_several_processors_of_one_process_share_its_bookings(db: Any) -> None:
    from tests.upkeep.files import example

    second = (
        example("studio.toml")
        .split(b"[[processors]]")[1]
        .replace(b'"P-RC"', b'"P-R2"')
        .replace(b"booths_at_once = 4", b"booths_at_once = 1")
    )
    loaded(example("studio.toml") + b"\n[[processors]]" + second)
    people = b"number,name,email,joined_on\n" + b"".join(
        b"M%d,x,m%d@example.org,2026-01-15\n" % (n, n) for n in range(5)
    )
    row = b"B%d,M%d,%s,rc,2026-08-04T14:00:00Z,2026-08-04T16:00:00Z,2026-08-01T10:00:00Z,,\n"
    five = b"".join(row % (n, n, station) for n, station in enumerate([b"E1", b"E2", b"E3", b"E4", b"E5"]))
    assert sentences(imported({"members.csv": people, "bookings.csv": BOOKINGS + five})) == []
    placed = list(Booking.objects.order_by("reference").values_list("processor__code", flat=True))
    assert sorted(placed) == ["P-R2"] + ["P-RC"] * 4


def test_a_cancelled_booking_holds_nothing_and_may_lie_under_another(db: Any) -> None:
    loaded()
    other = BOOKING.replace(b"B1,M1", b"B2,M2").replace(b",,\n", b",2026-08-02T10:00:00Z,\n")
    assert sentences(imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING + other})) == []
    assert set(Hold.objects.values_list("booking__reference", flat=True)) == {"B1"}
    ends = Hold.objects.get(lane__resource__sort="station").ends
    assert ends == datetime(2026, 8, 4, 16, 15, tzinfo=UTC)  # with 15 minutes of clear-up
