"""Every reason for which a history is refused, with its file, line and column; and nothing of it is written."""

from __future__ import annotations

from typing import Any

import pytest

from tests.upkeep.files import (
    BOOKING,
    BOOKINGS,
    EVENTS,
    FEED,
    FEEDS,
    MEMBERS,
    STRIPS,
    contents,
    imported,
    loaded,
    sentences,
)

AT = b"2026-08-04T15:00:00Z"
REFILL = AT + b",P-RC,dev,refill,,\n"
STRIP = AT + b",P-CO,LD,R,0.80,0.796\n"
OTHER = BOOKING.replace(b"B1,M1", b"B2,M2")
WIDE = BOOKING.replace(b"E1,rc", b"E3,ra4")

CASES = [
    # the shape of a file
    ("members.csv", b"", "line 1: ", "empty"),
    ("members.csv", b"\n\n \n", "line 1: ", "empty"),
    ("members.csv", b"number,name,email\nM1,Saar,s@example.org\n", "line 1, column “joined_on”: ", "is missing"),
    ("members.csv", b"number;name;email;joined_on\n", "line 1: ", "not separated by commas"),
    ("members.csv", b"number,name,email,joined_on,name\n", "line 1, column “name”: ", "twice"),
    ("members.csv", MEMBERS + b"M3,\xc9mile,e@example.org,2026-01-15\n", "line 4: ", "not UTF-8"),
    ("members.csv", MEMBERS + b"M3,E\0mile,e@example.org,2026-01-15\n", "line 4: ", "zero byte"),
    ("members.csv", MEMBERS.decode().encode("utf-16"), "line 1: ", "not UTF-8"),
    ("members.csv", MEMBERS + b"M3,Uma,u@example.org\n", "line 4: ", "3 cells"),
    ("members.csv", MEMBERS + b"M3,Uma,u@example.org,2026-01-15,x\n", "line 4: ", "5 cells"),
    ("members.csv", MEMBERS + b'M3,"Uma,u@example.org,2026-01-15\n', "line 4: ", "cannot be read as CSV"),
    ("members.csv", MEMBERS + b'M3,"Uma"x,u@example.org,2026-01-15\n', "line 4: ", "cannot be read as CSV"),
    ("members.csv", MEMBERS + b"M3," + b"x" * 200_000 + b",u@example.org,2026-01-15\n", "line 4: ", "cannot be read"),
    (
        "bookings.csv",
        BOOKINGS.replace(b"cancelled_at", b"canceled_at") + BOOKING,
        "“cancelled_at”: ",
        "“canceled_at” is there",
    ),
    # members
    ("members.csv", MEMBERS + b"M3,,u@example.org,2026-01-15\n", "line 4, column “name”: ", "it is empty"),
    ("members.csv", MEMBERS + b"M2,Uma,u@example.org,2026-01-15\n", "line 4, column “number”: ", "line 3 already"),
    ("members.csv", MEMBERS + b"M3,Uma,SAAR@Example.org,2026-01-15\n", "line 4, column “email”: ", "line 2 already"),
    ("members.csv", MEMBERS + b"M3,Uma,nowhere,2026-01-15\n", "line 4, column “email”: ", "not an email address"),
    ("members.csv", MEMBERS + b"M3,Uma,u@example.org,15-1-2026\n", "line 4, column “joined_on”: ", "not a date"),
    ("members.csv", MEMBERS + b"M3,U\x1b[31mma,u@example.org,2026-01-15\n", "line 4, column “name”: ", "control sign"),
    # bookings
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"M1", b"M9"), "line 2, column “member”: ", "“M9” is not known"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"E1", b"E9"), "line 2, column “station”: ", "“E9” is not known"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b",rc,", b",c41,"), "line 2, column “process”: ", "“c41” is not known"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"T16:00:00Z", b"T14:00:00Z"), "line 2, column “end”: ", "not later"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"T16:00:00Z", b"T13:00:00Z"), "line 2, column “end”: ", "not later"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"08-04T16", b"08-05T14"), "line 2, column “end”: ", "24 hours"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"16:00:00Z", b"16:00:00"), "line 2, column “end”: ", "which zone"),
    ("bookings.csv", BOOKINGS + BOOKING + BOOKING, "line 3, column “reference”: ", "line 2 already"),
    ("bookings.csv", BOOKINGS + BOOKING + OTHER, "line 3, column “start”: ", "B1"),
    (
        "bookings.csv",
        BOOKINGS + BOOKING.replace(b",,\n", b",2026-07-31T10:00:00Z,\n"),
        "“cancelled_at”: ",
        "before it was made",
    ),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b",,\n", b",,2026-07-31T10:00:00Z\n"), "“arrived_at”: ", "is earlier"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"B1,", b","), "line 2, column “reference”: ", "it is empty"),
    ("bookings.csv", BOOKINGS + BOOKING.replace(b"B1", b"B" * 41), "line 2, column “reference”: ", "longer than 40"),
    # sheets
    ("feeds.csv", FEEDS + FEED.replace(b"P-RC", b"P-9"), "line 2, column “processor”: ", "“P-9” is not known"),
    ("feeds.csv", FEEDS + FEED.replace(b"M1", b"M9"), "line 2, column “member”: ", "“M9” is not known"),
    ("feeds.csv", FEEDS + FEED.replace(b"B1", b"B9"), "line 2, column “booking”: ", "“B9” is not known"),
    ("feeds.csv", FEEDS + FEED.replace(b"203x254", b"1x1"), "line 2, column “sheet”: ", "“1x1” is not known"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",-2,"), "line 2, column “sheets”: ", "negative"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",0,"), "line 2, column “sheets”: ", "too small"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",1.5,"), "line 2, column “sheets”: ", "not a whole number"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",10001,"), "line 2, column “sheets”: ", "the most is 10,000"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",1e309,"), "line 2, column “sheets”: ", "too large"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",NaN,"), "line 2, column “sheets”: ", "not a finite number"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", ",∞,".encode()), "line 2, column “sheets”: ", "not a finite number"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",two,"), "line 2, column “sheets”: ", "not a number"),
    ("feeds.csv", FEEDS + FEED.replace(b",2,", b",,"), "line 2, column “sheets”: ", "it is empty"),
    ("feeds.csv", FEEDS + FEED.replace(b"print", b"poster"), "line 2, column “kind”: ", "none of the words"),
    ("feeds.csv", FEEDS + FEED.replace(b"T15", b" at 15"), "line 2, column “fed_at”: ", "not a time"),
    ("feeds.csv", FEEDS + FEED.replace(b"M1,", b"M2,"), "line 2, column “member”: ", "Booking B1 is member M1’s"),
    # baths
    ("bath_events.csv", EVENTS + REFILL.replace(b"P-RC", b"P-9"), "line 2, column “processor”: ", "not known"),
    (
        "bath_events.csv",
        EVENTS + REFILL.replace(b",dev", b",blix"),
        "line 2, column “bath”: ",
        "P-RC has no bath “blix”",
    ),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill", b"change"), "line 2, column “event”: ", "none of the words"),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill", b"given"), "line 2, column “ml”: ", "it is empty"),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill,", b"lost,-5"), "line 2, column “ml”: ", "negative"),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill,", b"water,0"), "line 2, column “ml”: ", "too small"),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill,", b"given,inf"), "line 2, column “ml”: ", "not a finite"),
    ("bath_events.csv", EVENTS + REFILL.replace(b"refill,", b"given,1e309"), "line 2, column “ml”: ", "too large"),
    (
        "bath_events.csv",
        EVENTS + REFILL + REFILL.replace(b"15:00:00Z", b"17:00:00+02:00"),
        "line 3, column “at”: ",
        "line 2 already",
    ),
    # strips
    ("strips.csv", STRIPS + STRIP.replace(b"P-CO", b"P-9"), "line 2, column “processor”: ", "not known"),
    ("strips.csv", STRIPS + STRIP.replace(b"0.796", b"0,796"), "line 2: ", "7 cells"),
    ("strips.csv", STRIPS + STRIP.replace(b"0.796", b"nan"), "line 2, column “reading”: ", "not a finite number"),
    ("strips.csv", STRIPS + STRIP.replace(b"0.796", b"0.79612"), "line 2, column “reading”: ", "more than 4 decimals"),
    ("strips.csv", STRIPS + STRIP.replace(b"0.80,", b"100000,"), "line 2, column “aim”: ", "too large"),
    ("strips.csv", STRIPS + STRIP + STRIP.replace(b"0.796", b"0.9"), "line 3, column “patch”: ", "line 2 already"),
]


FILES = sorted({case[0] for case in CASES})


@pytest.mark.parametrize("file", FILES)
def test_a_wrong_row_is_named_and_nothing_of_its_file_is_written(db: Any, file: str) -> None:
    loaded()
    files = {"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING}
    first = {"members.csv": [], "bookings.csv": ["members.csv"]}.get(file, list(files))
    imported({name: files[name] for name in first})
    here = contents()
    for _, data, place, words in [case for case in CASES if case[0] == file]:
        outcome = imported({file: data})
        said = sentences(outcome)
        assert [line for line in said if line.startswith(file) and place in line and words in line], (data, said)
        assert outcome.files[0].refused
        assert contents() == here, data


def test_a_good_row_beside_a_wrong_one_is_not_written_either(db: Any) -> None:
    loaded()
    imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING})
    here = contents()
    assert imported({"feeds.csv": FEEDS + FEED * 600 + FEED.replace(b",2,", b",-2,")}).refused
    assert contents() == here


def test_a_sheet_wider_than_the_feed_is_refused_and_one_just_as_wide_is_not(db: Any) -> None:
    from tests.upkeep.files import example

    sizes = b'[[sheet_sizes]]\ncode = "%s"\nname = "%s"\nwidth_mm = %d\nlength_mm = %d\n'
    more = sizes % (b"just", b"just", 600, 508) + sizes % (b"over", b"one over", 509, 600)
    loaded(example("studio.toml") + b"\n" + more)
    imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING})
    assert not imported({"feeds.csv": FEEDS + FEED.replace(b"203x254", b"just")}).refused
    assert sentences(imported({"feeds.csv": FEEDS + FEED.replace(b"203x254", b"over")})) == [
        "feeds.csv, line 2, column “sheet”: one over is 509 mm on its narrow edge, and the feed of RC processor, 51 cm "
        "is 508 mm wide."
    ]


def test_bookings_that_overlap_with_their_clear_up_are_refused_and_touching_ones_are_not(db: Any) -> None:
    loaded()
    touching = OTHER.replace(b"T14:00", b"T16:15").replace(b"T16:00", b"T18:00")
    within = OTHER.replace(b"T14:00", b"T16:14").replace(b"T16:00", b"T18:00")
    said = sentences(imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING + within}))
    assert len(said) == 1
    assert said[0].startswith("bookings.csv, line 3, column “start”: ")
    assert "B1" in said[0]
    assert "B2" in said[0]
    assert not imported({"bookings.csv": BOOKINGS + BOOKING + touching}).refused
    # and against what is here already
    later = within.replace(b"B2", b"B3")
    said = sentences(imported({"bookings.csv": BOOKINGS + later}))
    assert "B3" in said[0]
    assert "B1" in said[0] or "B2" in said[0]


def test_more_bookings_than_places_at_the_processor_are_refused(db: Any) -> None:
    """P-CO serves three; a fourth at the same instant of the stay is one too many, clear-up does not count."""
    loaded()
    people = b"number,name,email,joined_on\n" + b"".join(
        b"M%d,x,m%d@example.org,2026-01-15\n" % (n, n) for n in range(4)
    )
    row = b"C%d,M%d,%s,ra4,2026-08-04T%d:00:00Z,2026-08-04T%d:00:00Z,2026-08-01T10:00:00Z,,\n"
    three = b"".join(row % (n, n, station, 14, 16) for n, station in enumerate([b"E3", b"E4", b"E6"]))
    after = row % (3, 3, b"E5", 16, 18)
    assert sentences(imported({"members.csv": people, "bookings.csv": BOOKINGS + three + after})) == []
    fourth = (row % (4, 3, b"E2", 15, 17)).replace(b"C4", b"late")
    said = sentences(imported({"bookings.csv": BOOKINGS + fourth}))
    assert len(said) == 1
    assert said[0].startswith("bookings.csv, line 2, column “process”: ")
    assert "late" in said[0]


def test_what_is_here_with_other_details_is_refused_with_the_difference(db: Any) -> None:
    loaded()
    files = {"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING, "strips.csv": STRIPS + STRIP}
    files["bath_events.csv"] = EVENTS + REFILL
    imported(files)
    here = contents()
    renamed = MEMBERS.replace(b"Saar,saar", b"Sara,saar")
    assert sentences(imported({"members.csv": renamed})) == [
        "members.csv, line 2, column “name”: M1 is here already with “Saar”, and the file says “Sara”."
    ]
    moved = MEMBERS.replace(b"M1,", b"M7,")
    assert sentences(imported({"members.csv": moved})) == [
        "members.csv, line 2, column “email”: Member M1 has this email address already."
    ]
    longer = BOOKING.replace(b"T16:00", b"T17:00")
    assert sentences(imported({"bookings.csv": BOOKINGS + longer})) == [
        "bookings.csv, line 2, column “end”: B1 is here already with “2026-08-04T16:00:00Z”, and the file says "
        "“2026-08-04T17:00:00Z”."
    ]
    arrived = BOOKING.replace(b",,\n", b",,2026-08-04T14:05:00Z\n")
    assert "“–”" in sentences(imported({"bookings.csv": BOOKINGS + arrived}))[0]
    assert sentences(imported({"strips.csv": STRIPS + STRIP.replace(b"0.796", b"0.9")})) == [
        "strips.csv, line 2, column “reading”: LD R is here already with “0.796”, and the file says “0.9”."
    ]
    assert sentences(imported({"bath_events.csv": EVENTS + REFILL.replace(b",,\n", b",,again\n")})) == [
        "bath_events.csv, line 2, column “at”: The bath has another refill at that very moment."
    ]
    assert contents() == here
    same = {name: data.replace(b"saar@example", b"SAAR@EXAMPLE") for name, data in files.items()}
    assert not imported(same).refused


def test_all_problems_of_a_file_are_told_in_the_order_of_its_lines_up_to_fifty(db: Any) -> None:
    loaded()
    wrong = b"".join(b"2026-08-04T15:00:00Z,P-%d,M9,,203x254,0,print\n" % n for n in range(60))
    outcome = imported({"feeds.csv": FEEDS + wrong})
    refused = outcome.files[0].refused
    assert refused is not None
    assert len(refused.problems) == 50
    assert refused.more == 130
    lines = [problem.line for problem in refused.problems]
    assert lines == sorted(lines)


def test_more_than_a_column_can_count_is_refused_before_it_is_written(db: Any) -> None:
    studio = (
        b'[studio]\nname = "A"\ntime_zone = "UTC"\ncurrency = "EUR"\n[[processes]]\ncode = "rc"\nname = "RC"\n'
        b'light = "white"\n[[processors]]\ncode = "P"\nname = "P"\nprocess = "rc"\nfeed_width_mm = 5000\n'
        b'booths_at_once = 1\n[[processors.baths]]\ncode = "dev"\nname = "Dev"\nvolume_ml = 1\ndosing = "hand"\n'
        b'replenish_ml_per_m2 = 10000\n[[sheet_sizes]]\ncode = "x"\nname = "x"\nwidth_mm = 5000\nlength_mm = 5000\n'
    )
    loaded(studio)
    line = b"2026-08-04T15:00:00Z,P,,,x,10000,print\n"
    assert not imported({"feeds.csv": FEEDS + line * 3}).refused
    assert sentences(imported({"feeds.csv": FEEDS + line * 4})) == [
        "feeds.csv, line 5, column “sheets”: More went through P than can be counted; look for a wrong number."
    ]
