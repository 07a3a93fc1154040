"""Reading a CSV file: what the csv module writes is read back with its lines, and no bytes make the reader stumble."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.upkeep.rules.history import read_bookings, read_events, read_feeds, read_members, read_strips
from studiodesk.upkeep.rules.problems import FileRefused, Findings
from studiodesk.upkeep.rules.rows import FileKeys
from studiodesk.upkeep.rules.studio_file import read_studio
from studiodesk.upkeep.rules.tables import Columns, read_table
from tests.upkeep.files import example

READERS = {
    "members.csv": read_members,
    "bookings.csv": read_bookings,
    "feeds.csv": read_feeds,
    "bath_events.csv": read_events,
    "strips.csv": read_strips,
}
CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)


@given(
    st.lists(st.lists(CELL, min_size=3, max_size=3), max_size=6), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans()
)
def test_what_the_csv_module_writes_is_read_back_with_the_line_on_which_it_begins(
    rows: list[list[str]], ending: str, marked: bool
) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator=ending, quoting=csv.QUOTE_ALL)
    expected = []
    writer.writerow(["a", "b", "c"])
    for row in rows:
        before = text.getvalue().replace("\r\n", "\n").replace("\r", "\n")
        if any(cell.strip() for cell in row):
            expected.append((before.count("\n") + 1, [cell.strip() for cell in row]))
        writer.writerow(row)
    findings = Findings("x.csv")
    data = text.getvalue().encode("utf-8-sig" if marked else "utf-8")
    read = read_table(data, Columns(("a", "b", "c")), findings)
    assert findings.problems == []
    assert [(row.line, list(row.cells.values())) for row in read] == expected


@pytest.mark.parametrize("name", READERS)
@given(data=st.binary(max_size=200))
def test_no_bytes_make_a_reader_stumble(name: str, data: bytes) -> None:
    header = example(name).splitlines()[0]
    for whole in (data, header + b"\n" + data):
        findings = Findings(name)
        rows = READERS[name](whole, findings)
        assert isinstance(rows, list)


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=60)
@given(at=st.integers(0, 2000), byte=st.integers(0, 255), cut=st.booleans())
def test_a_damaged_byte_is_told_or_changes_only_what_it_stands_in(name: str, at: int, byte: int, cut: bool) -> None:
    """A file of the example with one byte changed or cut out: at most a few rows differ, or a problem is told."""
    good = example(name)[:2500].rsplit(b"\n", 1)[0] + b"\n"
    at %= len(good)
    bad = good[:at] + (b"" if cut else bytes([byte])) + good[at + 1 :]
    findings = Findings(name)
    rows, first = READERS[name](bad, findings), READERS[name](good, Findings(name))
    if not findings.problems:
        assert len(set(map(said, first)) - set(map(said, rows))) <= 2


def said(row: Any) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in row.__dataclass_fields__ if name != "line")


@settings(max_examples=150)
@given(at=st.integers(0, 4600), piece=st.binary(max_size=4))
def test_a_damaged_description_is_refused_or_read_and_nothing_else(at: int, piece: bytes) -> None:
    good = example("studio.toml")
    try:
        plan, _ = read_studio(good[:at] + piece + good[at + len(piece) :])
    except FileRefused as refused:
        assert refused.problems
    else:
        assert plan.studio.name


def test_the_key_of_a_line_is_its_content_and_its_number_among_its_like() -> None:
    header = b"fed_at,processor,member,booking,sheet,sheets,kind\n"
    one, same, other = (
        b"2026-08-04T15:00:00Z,P,,,a,1,print\n",
        b"2026-08-04T17:00:00+02:00,P,,,a,01,Print\n",
        b"2026-08-04T15:00:00Z,P,,,a,2,print\n",
    )

    def keys(data: bytes) -> list[str]:
        made = FileKeys()
        return sorted(made.key(row) for row in read_feeds(header + data, Findings("feeds.csv")))

    assert keys(one + one + other) == keys(other + same + one)
    assert len(set(keys(one + one + other))) == 3
    assert all(len(key) <= 80 for key in keys(one * 200))
    assert not set(keys(other)) & set(keys(one))
