"""Describing the house: twice is once, and a place that is held cannot be taken away."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.stations import actions, queries
from studiodesk.stations.models import Lane, LightZone, Processor, Resource, Station, Studio
from studiodesk.stations.rules import Shut
from tests import makers

DAY = datetime(2026, 11, 26, 12, tzinfo=UTC)


def processor(house: Any, booths: int, now: datetime) -> tuple[Processor, bool]:
    return actions.describe_processor(
        code="P-CO",
        name="Colour processor",
        process=house.processes["ra4"],
        feed_width_mm=406,
        shortest_feed_mm=100,
        warm_up_minutes=45,
        dry_to_dry_minutes=6,
        booths_at_once=booths,
        now=now,
    )


def test_describing_the_same_house_twice_changes_nothing(house: Any, now: datetime) -> None:
    before = [model.objects.count() for model in (Studio, Resource, Lane, Processor, Station, LightZone)]
    assert processor(house, 2, now)[1] is False
    assert actions.set_opening(week={day: [(600, 1320)] for day in range(1, 7)}) is False
    assert actions.describe_process(code="rc", name="Black-and-white, RC", light="safelight", paper="RC")[1] is False
    _, changed = actions.describe_station(
        code="E3",
        name="Booth 3",
        kind="enlarger booth",
        processes=[house.processes["ra4"], house.processes["rc"]],
        zone_name="shared room",
        clear_up_minutes=15,
    )
    assert changed is False
    assert [model.objects.count() for model in (Studio, Resource, Lane, Processor, Station, LightZone)] == before


def test_a_change_is_written_and_said(house: Any, now: datetime) -> None:
    station, changed = actions.describe_station(
        code="E3", name="Booth three", kind="enlarger booth", processes=[house.processes["rc"]], clear_up_minutes=20
    )
    assert changed is True
    station.refresh_from_db()
    assert (station.name, station.zone, station.clear_up_minutes) == ("Booth three", None, 20)
    assert [p.code for p in station.processes.all()] == ["rc"]
    assert actions.set_opening(week={0: [(600, 1440)]}) is True
    closures = [Shut(date(2026, 12, 24), date(2026, 12, 26), "rest")]
    assert actions.set_closures(closures=closures) is True
    assert actions.set_closures(closures=closures) is False
    assert queries.hours().closed_because(date(2026, 12, 25)) == "rest"
    assert queries.opening(date(2026, 11, 30))[0].length == timedelta(hours=14)


def test_places_are_added_and_taken_away_but_not_while_held(house: Any, now: datetime) -> None:
    machine, _ = processor(house, 3, now)
    lanes = queries.lanes_of([machine.resource_id])[machine.resource_id]
    assert len(lanes) == 3
    people = [makers.member("Adri"), makers.member("Bente"), makers.member("Cato")]
    for who, code in zip(people, ["E1", "E3", "E4"], strict=True):
        bookings.book(
            member=who,
            station=house.stations[code],
            process=house.processes["ra4"],
            starts=DAY,
            ends=DAY + timedelta(hours=2),
            now=now,
            by=who,
        )
    with pytest.raises(Refused) as caught:
        processor(house, 2, now)
    assert caught.value.refusal.facts["until"] == DAY + timedelta(hours=2)
    machine.refresh_from_db()
    assert machine.booths_at_once == 3
    assert processor(house, 2, DAY + timedelta(hours=2))[1] is True
    assert queries.lanes_of([machine.resource_id])[machine.resource_id] == lanes[:2]
    assert Lane.objects.filter(resource=machine.resource_id).count() == 3, "the past stands in it"


def test_kinds_come_in_the_order_of_the_house(house: Any) -> None:
    assert queries.kinds() == ["enlarger booth", "scanning station"]
    assert [s.code for s in queries.stations_of_kind("enlarger booth")] == ["E1", "E2", "E3", "E4"]
    assert [p.code for p in queries.processors_of(house.processes["ra4"])] == ["P-CO"]


def test_before_a_studio_is_loaded_its_absence_is_said(db: Any) -> None:
    assert queries.studio_or_none() is None
    with pytest.raises(Refused) as caught:
        queries.studio()
    assert caught.value.refusal.code == "stations.no_studio"
