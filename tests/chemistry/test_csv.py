"""Everything as CSV: every row is in it, numbers stay numbers, and no cell is a formula.

Quotes and lines: RFC 4180.  What a spreadsheet runs: OWASP, "CSV Injection".
"""

import csv
import io
import json
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry import queries
from studiodesk.chemistry.models import BathEntry, Feed
from studiodesk.chemistry.rules import csv_cells
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, write

ZONE = ZoneInfo("Europe/Amsterdam")


def read(client, what, query=""):
    response = client.get(f"/tables/{what}.csv{query}")
    assert response.status_code == 200 and response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"].startswith(f'attachment; filename="{what}-2026-11-25')
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


@given(st.text(alphabet=st.characters(codec="utf-8")))
def test_no_text_begins_as_a_formula_does_and_none_is_lost(text):
    written = "".join(csv_cells.lines([[text, 1]], ZONE)).removeprefix(csv_cells.BOM)
    [row] = csv.reader(io.StringIO(written, newline=""))
    assert not row[0].startswith(csv_cells.RUNS)
    assert row[0].removeprefix("'") == text.replace("\0", "").removeprefix("'") and row[1] == "1"


@pytest.mark.parametrize("sign", csv_cells.RUNS)
def test_each_sign_that_begins_a_formula_is_made_text(sign):
    assert csv_cells.safe(f"{sign}1+1") == f"'{sign}1+1"


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (None, ""),
        (True, 1),
        (-5, -5),
        (-0.5, -0.5),
        (Decimal("-1E-7"), "-0.0000001"),
        (Decimal("3.0"), "3.0"),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "2026-10-25T02:30:00+02:00"),  # twice on the clock that night
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "2026-10-25T02:30:00+01:00"),
        (date(2026, 11, 5), "2026-11-05"),
        ({}, ""),
        ({"b": "é", "a": [1]}, '{"a": [1], "b": "é"}'),
    ],
)
def test_what_is_no_text_is_written_as_programs_read_it(value, cell):
    assert csv_cells.cell(value, ZONE) == cell


def test_every_row_is_there_also_what_was_taken_back_with_whole_amounts(house, people, now):
    write(house, "refill", now - timedelta(hours=1), note="=HYPERLINK(1)")
    given_ = write(house, "given", now, amount_pl=300 * PL_PER_ML + 1)
    write(house, "given", now, amount_pl=4 * PL_PER_ML, corrects=given_)
    log(house, now, count=3)
    staff = client_of(people["staff"])
    rows = read(staff, "entries")
    assert len(rows) == BathEntry.objects.count() == 3
    assert rows[0]["note"] == "'=HYPERLINK(1)" and rows[0]["at"] == "2026-11-25T14:00:00+01:00"
    assert [row["amount_pl"] for row in rows[1:]] == [str(300 * PL_PER_ML + 1), str(4 * PL_PER_ML)]
    assert (rows[1]["corrected_by_row"], rows[2]["corrects_row"]) == (rows[2]["row"], rows[1]["row"])
    [sheets] = read(staff, "sheets")
    assert int(sheets["sheets"]) == Feed.objects.get().sheets == 3


@pytest.mark.parametrize("what", sorted(queries.TABLES))
def test_every_table_can_be_had_and_has_its_columns(house, people, now, what):
    response = client_of(people["staff"]).get(f"/tables/{what}.csv")
    first = b"".join(response.streaming_content).decode("utf-8-sig").splitlines()[0]
    assert first.split(",") == list(queries.TABLES[what].columns)


def test_only_the_days_that_were_asked_for_and_the_list_carries_them_on(house, people, now):
    for days in (0, 1, 2):
        log(house, now - timedelta(days=days), count=days + 1)
    staff = client_of(people["staff"])
    asked = "?from=2026-11-24&until=2026-11-24"
    assert [row["sheets"] for row in read(staff, "sheets", asked)] == ["2"]
    page = soup_of(staff.get(f"/tables/{asked}")).main
    assert page.find("a", href=f"/tables/sheets.csv{asked}")


@pytest.mark.parametrize("asked", ["?from=2026-11-25&until=2026-11-24", "?from=x", "?until=0001-01-01"])
def test_days_that_cannot_be_are_said(house, people, asked):
    for address in ("/tables/", "/tables/sheets.csv"):
        response = client_of(people["staff"]).get(address + asked)
        assert response.status_code == 422 and soup_of(response).main.find(class_="problems")


def test_a_table_that_there_is_not_and_people_who_may_not(house, people):
    assert client_of(people["staff"]).get("/tables/people.csv").status_code == 404
    assert client_of(people["keyholder"]).get("/tables/entries.csv").status_code == 403


def test_what_is_kept_as_json_stays_json(house, people, now):
    from studiodesk.chemistry import actions

    actions.raise_alert(kind="evaporation", key="e:1", bath=house.baths["P-RC", "fix"], now=now, facts={"b": 2, "a": 1})
    [row] = read(client_of(people["staff"]), "alerts")
    assert json.loads(row["facts"]) == {"a": 1, "b": 2}
