"""The floor under the bench of booking is honest: the bare driver writes the very rows that the act writes."""

from __future__ import annotations

from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings.models import Booking, BookingKit, Hold, ZoneHold
from studiodesk.journal.models import Entry, Notice
from tests.bench import booking as bench
from tests.bench.bare import bare, rows_only, statements_of, table_of

ROWS = {"booking": 1, "hold": 3, "zonehold": 1, "bookingkit": 1, "entry": 1, "notice": 2}


def rows_now() -> dict[str, int]:
    return {
        one._meta.model_name or "": one.objects.count() for one in (Booking, Hold, ZoneHold, BookingKit, Entry, Notice)
    }


def grown(before: dict[str, int]) -> dict[str, int]:
    return {name: count - before[name] for name, count in rows_now().items()}


def test_act_replay_and_bare_rows_write_the_same(fresh_db: str) -> None:
    place = bench.furnished(4)
    bench.fill(place, 200, 0)
    assert Hold.objects.count() == 200
    with bare() as run:
        before = rows_now()
        sent = statements_of(bench.booker(place, 0))
        assert rows_now() == before, "what was only listened to has written something"
        run(run.prepared(sent))  # type: ignore[attr-defined]
        assert grown(before) == ROWS

        before = rows_now()
        rows = rows_only(statements_of(bench.booker(place, 1)))
        assert {table_of(sql).removeprefix("studiodesk_") for sql, _values in rows} == set(ROWS)
        run(run.prepared(rows))  # type: ignore[attr-defined]
        assert grown(before) == ROWS

    before = rows_now()
    with CaptureQueriesContext(connection) as seen:
        bench.booker(place, 2)()
    assert grown(before) == ROWS and len(seen) == len(sent) + 2
    starts = list(Booking.objects.order_by("-pk").values_list("starts", flat=True)[:3])
    assert starts == [bench.slot(n) for n in (2, 1, 0)]


def test_the_lines_say_what_holds(fresh_db: str, capsys: Any) -> None:
    bench.measured(connection.vendor.replace("postgresql", "postgres"), 1, (20, 40))
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 10 and all(line.endswith(("holds", "DOES NOT HOLD")) for line in lines if "≤" in line)
    assert "statements" in lines[-1] and " 16 " in lines[-1]
