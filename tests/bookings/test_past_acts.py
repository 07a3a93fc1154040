"""A history recorded as it was, on both databases; the quarter of Ostermill is the real input."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold, ZoneHold
from studiodesk.bookings.rules.past import PastBooking
from studiodesk.people.models import Member
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Process, Station
from studiodesk.words import say
from tests import makers

QUARTER = Path(__file__).resolve().parents[2] / "examples" / "ostermill" / "bookings.csv"
AUGUST = datetime(2026, 8, 4, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def row(
    house: Any, who: Any, number: int, start: float, hours: float = 2, code: str = "E1", **more: Any
) -> PastBooking:
    process = more.pop("process", "rc")
    starts = more.pop("at", AUGUST) + start * HOUR
    return PastBooking(
        reference=f"B{number}",
        member_id=who.pk,
        station_id=house.stations[code].pk,
        process_id=house.processes[process].pk if process else None,
        starts=starts,
        ends=starts + hours * HOUR,
        made_at=AUGUST - 48 * HOUR,
        row_number=number,
        **more,
    )


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def refused(rows: list[PastBooking], now: datetime) -> Any:
    before = (Booking.objects.count(), Hold.objects.count())
    with pytest.raises(Refused) as caught:
        actions.record_past_bookings(rows, now)
    assert (Booking.objects.count(), Hold.objects.count()) == before
    assert say(caught.value.refusal).sentence
    return caught.value.refusal


def test_the_past_is_recorded_as_it_was_without_house_rules(house: Any, adri: Any, now: datetime) -> None:
    """Off the grid, before opening, longer than twelve hours: it happened, so it stands."""
    rows = [
        row(house, adri, 2, -7.1, 13, arrived_at=AUGUST - 7 * HOUR),
        row(house, adri, 3, 20, 2, "S1", process=None),
        row(house, adri, 4, -7, 2, cancelled_at=AUGUST - 47 * HOUR),  # over the first, but it holds nothing
    ]
    assert actions.record_past_bookings(rows, now) == 3
    first = Booking.objects.get(reference="B2")
    assert (first.source, first.processor, first.holds.count()) == ("file", house.processors["P-RC"], 2)
    assert first.holds.order_by("ends").last().ends == first.ends + timedelta(minutes=15)  # type: ignore[union-attr]
    assert first.left_at == first.ends
    assert Booking.objects.get(reference="B4").holds.count() == 0
    assert ZoneHold.objects.count() == 0


def test_two_on_one_station_are_refused_by_row_with_both_references(house: Any, adri: Any, now: datetime) -> None:
    rows = [row(house, adri, 5, 2.1), row(house, adri, 2, 0), row(house, adri, 3, 6)]
    said = refused(rows, now)  # 2.1 lies within the clear-up of the one that ends at 2
    assert (said.code, said.facts["row"], said.facts["index"]) == ("bookings.row_clashes", 5, 0)
    assert (said.facts["reference"], said.facts["other"]) == ("B5", "B2")
    assert actions.record_past_bookings(rows[1:], now) == 2


def test_what_stands_in_the_database_is_in_the_way_too(house: Any, adri: Any, now: datetime) -> None:
    actions.record_past_bookings([row(house, adri, 2, 0)], now)
    said = refused([row(house, adri, 3, 1)], now)
    assert (said.facts["reference"], said.facts["other"]) == ("B3", "B2")
    assert refused([row(house, adri, 2, 9)], now).code == "bookings.row_known"
    assert refused([row(house, adri, 7, 9), row(house, adri, 7, 15)], now).code == "bookings.row_known"


def test_places_at_the_processor_are_counted_at_every_instant(house: Any, adri: Any, now: datetime) -> None:
    rows = [row(house, adri, n, n / 2, 2, code, process="ra4") for n, code in enumerate(["E1", "E3", "E4"], start=2)]
    said = refused(rows, now)
    assert (said.code, said.facts["reference"], said.facts["places"]) == ("bookings.row_without_place", "B4", 2)
    assert set(said.facts["others"]) == {"B2", "B3"}
    assert actions.record_past_bookings([rows[0], rows[1], replace(rows[2], starts=rows[0].ends)], now) == 3


def test_bookings_still_to_come_keep_the_light_where_it_does_not_collide(house: Any, adri: Any, now: datetime) -> None:
    rows = [
        row(house, adri, 2, 24, 2, "E3", at=now, process="ra4"),
        row(house, adri, 3, 24, 2, "E4", at=now, process="rc"),
        row(house, adri, 4, -48, 2, "E4", at=now, process="rc"),
    ]
    without: list[str] = []
    assert actions.record_past_bookings(rows, now, without_light=without) == 3
    assert without == ["B3"]
    assert list(ZoneHold.objects.values_list("booking__reference", flat=True)) == ["B2"]


def test_the_whole_quarter_of_ostermill_finds_its_places(db: Any, now: datetime) -> None:
    """635 bookings of the example; counted again from the file by hand."""
    with QUARTER.open(newline="") as file:
        lines = list(csv.DictReader(file))
    members = {number: makers.member(number) for number in sorted({line["member"] for line in lines})}
    rc, _ = stations.describe_process(code="rc", name="RC", light="safelight")
    ra4, _ = stations.describe_process(code="ra4", name="RA-4", light="total darkness")
    for code, process, booths in (("P-RC", rc, 4), ("P-CO", ra4, 3)):
        stations.describe_processor(
            code=code, name=code, process=process, feed_width_mm=508, booths_at_once=booths, now=now
        )
    for code in sorted({line["station"] for line in lines}):
        stations.describe_station(code=code, name=code, kind="enlarger booth", processes=[rc, ra4], clear_up_minutes=15)
    processes, booths_by_code = (
        dict(Process.objects.values_list("code", "pk")),
        dict(Station.objects.values_list("code", "pk")),
    )
    rows = [
        PastBooking(
            reference=line["reference"],
            member_id=members[line["member"]].pk,
            station_id=booths_by_code[line["station"]],
            process_id=processes[line["process"]],
            starts=datetime.fromisoformat(line["start"]),
            ends=datetime.fromisoformat(line["end"]),
            made_at=datetime.fromisoformat(line["made_at"]),
            cancelled_at=datetime.fromisoformat(line["cancelled_at"]) if line["cancelled_at"] else None,
            arrived_at=datetime.fromisoformat(line["arrived_at"]) if line["arrived_at"] else None,
            row_number=number,
        )
        for number, line in enumerate(lines, start=2)
    ]
    assert len(rows) == 635
    assert actions.record_past_bookings(list(reversed(rows)), now) == 635
    standing = [line for line in lines if not line["cancelled_at"]]
    booth_holds = Hold.objects.filter(lane__resource__sort="station")
    assert booth_holds.count() == len(standing)
    held = sum((h.ends - h.starts for h in Hold.objects.filter(lane__resource__sort="processor")), timedelta())
    booked = sum(
        (datetime.fromisoformat(line["end"]) - datetime.fromisoformat(line["start"]) for line in standing), timedelta()
    )
    assert held == booked
    assert Member.objects.filter(bookings__isnull=False).distinct().count() == len(members)
    assert date(2026, 8, 4) == min(b.starts for b in Booking.objects.all()).date()
