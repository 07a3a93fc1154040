"""The quarter of the example, loaded by the commands, against a count that knows nothing of the program."""

from __future__ import annotations

import ast
import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.upkeep.files import OSTERMILL, manage
from tests.upkeep.recount import differences, moment, recount, rows

#: Before everything; the very instant of a refill; a second before and after one; amid a session; at the end.
INSTANTS = {
    "before anything was recorded": "2026-08-03T06:59:59Z",
    "the very instant of a refill": "2026-09-13T07:00:00Z",
    "a second before a refill": "2026-10-24T06:59:59Z",
    "a second after a refill": "2026-10-24T07:00:01Z",
    "amid a session, as sheets went in": "2026-10-13T17:10:00Z",
    "after the last line": "2026-11-24T23:59:59.5+01:00",
}


LATE = "2026-11-24T23:00:00Z"


@pytest.fixture
def quarter_by_command(fresh_db: str) -> str:
    assert "processors: 3 new" in manage("load_studio", OSTERMILL / "studio.toml").stdout
    said = manage("import_history", OSTERMILL).stdout
    assert "bookings: 635 new" in said
    assert "feeds: 1643 new" in said
    return fresh_db


def test_the_sums_equal_the_recount_now_and_at_past_instants(quarter_by_command: str) -> None:
    for what, text in INSTANTS.items():
        printed = manage("baths", "--json", "--at", text).stdout
        expected = recount(OSTERMILL, moment(text))
        assert differences(printed, expected) == [], what
    before = datetime.now(UTC)
    printed = manage("baths", "--json").stdout
    after = datetime.now(UTC)
    if after > moment("2026-11-24T20:00:00Z"):  # a clock before the quarter's end would see only a part of it
        by_hand = {(line["processor"], line["bath"]): line for line in json.loads(printed)}
        assert by_hand["P-RC", "dev"]["area_mm2"] > 0
    assert differences(printed, recount(OSTERMILL, before), recount(OSTERMILL, after)) == []
    _one_sheet_more_is_noticed(manage("baths", "--json", "--at", LATE).stdout, moment(LATE))


def _one_sheet_more_is_noticed(printed: str, at: datetime) -> None:
    """Any line of the present tanks with one sheet more: the comparison must not pass."""
    feeds = rows(OSTERMILL, "feeds.csv")
    latest = [n for n, row in enumerate(feeds) if row["fed_at"] >= "2026-11-16T08:00:00Z"]
    assert differences(printed, recount(OSTERMILL, at)) == []
    for processor in ("P-RC", "P-CO"):
        chosen = [n for n in latest if feeds[n]["processor"] == processor]
        assert chosen
        for n in (chosen[0], chosen[-1]):
            changed = [dict(row) for row in feeds]
            changed[n]["sheets"] = str(int(changed[n]["sheets"]) + 1)
            found = differences(printed, recount(OSTERMILL, at, changed))
            assert any(f"('{processor}', 'dev') area_mm2" in line for line in found)


def test_a_file_with_one_sheet_more_gives_other_sums(fresh_db: str, tmp_path: Path) -> None:
    """The same from the other side: the program counts the changed file, the recount the first one."""
    for path in OSTERMILL.iterdir():
        if path.suffix in {".csv", ".toml"}:
            (tmp_path / path.name).write_bytes(path.read_bytes())
    at = "2026-11-24T23:00:00Z"
    feeds = (tmp_path / "feeds.csv").read_text(encoding="utf-8").splitlines()
    last = max((line for line in feeds[1:] if ",P-RC," in line), key=lambda line: line.split(",")[0])
    cells = last.split(",")
    cells[5] = str(int(cells[5]) + 1)
    feeds[feeds.index(last)] = ",".join(cells)
    (tmp_path / "feeds.csv").write_text("\n".join(feeds) + "\n", encoding="utf-8")
    manage("load_studio", tmp_path / "studio.toml")
    manage("import_history", tmp_path)
    printed = manage("baths", "--json", "--at", at).stdout
    assert differences(printed, recount(tmp_path, moment(at))) == []
    found = differences(printed, recount(OSTERMILL, moment(at)))
    assert [line for line in found if "('P-RC', 'dev') area_mm2" in line]
    assert [line for line in found if "('P-RC', 'fix') due_nl" in line]
    assert [line for line in found if "('P-RC', 'fix') silver_g_per_l" in line]


def test_the_recount_is_not_empty_and_agrees_with_a_spreadsheet_s_sum() -> None:
    """A third way for the plainest figure: all sheets since the last refill of the RC developer, by hand."""
    sides = {"50x203": 50 * 203, "127x178": 127 * 178, "203x254": 203 * 254, "240x305": 240 * 305}
    sides |= {"279x356": 279 * 356, "305x406": 305 * 406, "406x508": 406 * 508}
    with (OSTERMILL / "feeds.csv").open(encoding="utf-8", newline="") as file:
        lines = [row for row in csv.DictReader(file) if row["processor"] == "P-RC"]
    area = sum(sides[row["sheet"]] * int(row["sheets"]) for row in lines if row["fed_at"] >= "2026-10-24T07:00:00Z")
    bath = recount(OSTERMILL, moment("2026-11-25T00:00:00Z"))["P-RC", "dev"]
    assert bath["area_mm2"] == area > 1_000_000
    assert bath["due_nl"] == area * 240
    assert bath["given_nl"] == area * 240 // 12_000_000 * 12_000_000
    assert bath["turnovers"] > 0


def test_the_recount_imports_nothing_of_the_program() -> None:
    tree = ast.parse((Path(__file__).parent / "recount.py").read_text(encoding="utf-8"))
    modules = {
        (node.module if isinstance(node, ast.ImportFrom) else node.names[0].name)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Import, ast.ImportFrom))
    }
    allowed = {"__future__", "csv", "json", "re", "sys", "tomllib", "collections", "datetime", "fractions", "pathlib"}
    assert modules <= allowed | {"zoneinfo"}


def test_the_comparison_passes_nothing_that_differs_by_a_nanolitre_or_a_square_millimetre() -> None:
    expected = recount(OSTERMILL, moment("2026-10-01T12:00:00Z"))
    lines = [
        {"processor": key[0], "bath": key[1], **{name: _plain(value) for name, value in sums.items()}}
        for key, sums in expected.items()
    ]
    assert differences(json.dumps(lines), expected) == []
    for name in ("area_mm2", "due_nl", "given_nl", "outstanding_nl", "remainder_nl", "strokes_due"):
        changed = [dict(line) for line in lines]
        one = next(line for line in changed if line[name] is not None)
        one[name] += 1
        assert differences(json.dumps(changed), expected), name
    silver = [dict(line) for line in lines]
    one = next(line for line in silver if line["silver_g_per_l"])
    one["silver_g_per_l"] *= 1 + 1e-8
    assert differences(json.dumps(silver), expected)
    assert differences(json.dumps(lines[1:]), expected)


def _plain(value: object) -> object:
    """A fraction as JSON writes a whole number of nL; this studio's rates leave no others."""
    return int(value) if hasattr(value, "denominator") and value.denominator == 1 else value
