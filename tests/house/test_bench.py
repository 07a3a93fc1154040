"""The floor under the bench of booking is honest: the bare driver writes the very rows that the act writes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.bench import booking, pages, table, world
from tests.bench.bare import Bare, rows_only, statements_of, table_of

ROWS = {"booking": 1, "hold": 3, "zonehold": 1, "bookingkit": 1, "entry": 1, "notice": 2}
#: What has to differ between two bookings that differ in who and when alone; times are compared from the stay's start.
OF_THE_ROW = {"id", "reference", "member_id", "booking_id", "actor_id", "about_id", "entry_id", "person_id"}


def models() -> dict[str, Any]:
    return {name: apps.get_model("studiodesk", name) for name in ROWS}


def rows_now() -> dict[str, int]:
    return {name: model.objects.count() for name, model in models().items()}


def grown(before: dict[str, int]) -> dict[str, int]:
    return {name: count - before[name] for name, count in rows_now().items()}


def latest(starts: datetime) -> dict[str, list[dict[str, Any]]]:
    """The rows of the booking at ``starts``, which is the newest, but for what names it."""

    def plain(column: str, value: Any) -> Any:
        if isinstance(value, datetime):
            return value - starts if value > world.NOW else value
        if column == "unique_key":
            return value.split(":")[0]
        return sorted(value) if isinstance(value, dict) else value

    return {
        name: [
            {column: plain(column, value) for column, value in row.items() if column not in OF_THE_ROW}
            for row in reversed(model.objects.order_by("-pk").values()[: ROWS[name]])
        ]
        for name, model in models().items()
    }


def test_act_replay_and_bare_rows_write_the_same(fresh_db: str) -> None:
    house = world.furnished(20)
    world.fill(house, 200)
    assert rows_now()["hold"] == 200
    driver = Bare()
    before = rows_now()
    sent = statements_of(world.booker(house, 0))
    assert rows_now() == before, "what was only listened to has written something"
    driver.run(driver.ready(sent))
    assert grown(before) == ROWS
    replayed = latest(world.slot(0))

    before = rows_now()
    rows = rows_only(statements_of(world.booker(house, 1)))
    assert {table_of(sql).removeprefix("studiodesk_") for sql, _values in rows} == set(ROWS)
    driver.run(driver.ready(rows))
    assert grown(before) == ROWS
    bare = latest(world.slot(1))

    before, act = rows_now(), world.booker(house, 2)
    with CaptureQueriesContext(connection) as seen:
        act()
    assert grown(before) == ROWS and len(seen) == len(sent) + 2
    assert replayed == bare == latest(world.slot(2))
    assert {len(row) for row in bare["hold"]} == {len(models()["hold"]._meta.concrete_fields) - 2}


def test_the_bare_driver_is_guarded_as_the_act_is(fresh_db: str) -> None:
    house = world.furnished(20)
    driver = Bare()
    ready = driver.ready(rows_only(statements_of(world.booker(house, 0))))
    world.booker(house, 0)()
    keys = [(sql, values) for sql, values in ready if "hold" in sql and "zonehold" not in sql]
    assert len(keys) == 1
    with pytest.raises(Exception, match="a_lane_is_held_once"):
        driver.raw.cursor().execute(*keys[0])


GROWING = ("studiodesk_booking", "studiodesk_hold")


def plans(sent: list[Any]) -> list[str]:
    """The steps in which the database means to answer each of the questions."""
    steps = []
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # It rightly reads a table of a few pages from end to end; asked like this it does so only where it must.
            cursor.execute("SET enable_seqscan = off")
        explain = "EXPLAIN QUERY PLAN" if connection.vendor == "sqlite" else "EXPLAIN"
        for sql, values in sent:
            if sql.startswith("SELECT"):
                cursor.execute(f"{explain} {sql}", values)
                steps += [str(row[-1]).strip(" ->") for row in cursor.fetchall()]
    return steps


def test_nothing_that_book_asks_walks_through_all_that_was_ever_booked(fresh_db: str) -> None:
    """Nobody tells SQLite to count its rows where it runs for real; by its own guesses it has to find the way too."""
    house = world.furnished(800)
    world.fill(house, 4_000)
    sent = statements_of(world.booker(house, 0))
    steps = plans(sent)
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("DELETE FROM sqlite_stat1")
        connection.close()
        steps += plans(sent)
    whole = [step for step in steps for table in GROWING if step.startswith((f"SCAN {table}", f"Seq Scan on {table} "))]
    assert steps and whole == []


def test_the_lines_say_what_holds(fresh_db: str, capsys: Any) -> None:
    name = connection.vendor.replace("postgresql", "postgres")
    booking.measured(name, 1, (200, 400), members=40)
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 2 * 5 + 4
    assert all(line.endswith((table.HOLDS, table.DOES_NOT_HOLD)) for line in lines if "≤" in line)
    assert " 16 " in lines[-1] and lines[-1].endswith(table.HOLDS)


def test_what_a_page_names_is_weighed_and_nothing_from_elsewhere() -> None:
    page = """<link rel="stylesheet" href="/static/studiodesk/studio.css"><script src="/static/studiodesk/js/studio.js">
    </script><link rel="alternate" href="/elsewhere"><img src="data:image/png;base64,AA"><a href="/static/nothing">"""
    found = pages.files_of(page)
    assert {"/static/studiodesk/studio.css", "/static/studiodesk/js/studio.js"} <= set(found)
    assert any(address.endswith(".woff2") for address in found), "what the style sheet names is fetched too"
    assert all(content for content in found.values()) and "/static/nothing" not in found
    for bad in ("https://example.org/a.js", "/static/studiodesk/nowhere.js"):
        with pytest.raises(ValueError, match=r"loaded from somewhere else|is not there"):
            pages.files_of(f'<script src="{bad}"></script>')
