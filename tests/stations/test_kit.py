"""Kit: describing it, its pieces as lanes, its page for staff, and the table of the studio's file."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.journal.models import Entry
from studiodesk.stations import actions, queries
from studiodesk.stations.models import KitItem
from studiodesk.upkeep import actions as upkeep
from studiodesk.upkeep.rules.problems import FileRefused
from tests import makers
from tests.bookings.paging import NOW, TOMORROW, client_of, page

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def kit(pieces: int, now: datetime = NOW, **more: Any) -> tuple[KitItem, bool]:
    return actions.describe_kit(code="LENS", name="Lens", pieces=pieces, now=now, **more)


def take(house: Any, item: KitItem, pieces: int, code: str = "E1") -> Any:
    who = makers.member()
    return bookings.book(
        member=who,
        station=house.stations[code],
        process=house.processes["rc"],
        starts=TOMORROW,
        ends=TOMORROW + 2 * HOUR,
        now=NOW,
        by=who,
        kit={item: pieces},
    )


def test_each_piece_is_a_lane_and_describing_it_so_again_changes_nothing(house: Any) -> None:
    item, changed = kit(2)
    assert changed
    assert queries.lanes_of([item.resource_id])[item.resource_id] == [
        lane.pk for lane in item.resource.lanes.order_by("number")
    ]
    assert item.resource.lanes.count() == 2
    assert kit(2)[1] is False
    assert Entry.objects.filter(code__startswith="stations.kit_").count() == 1


def test_more_pieces_can_be_promised_at_once_and_no_piece_twice(house: Any) -> None:
    item, _made = kit(1)
    take(house, item, 1, "E1")
    with pytest.raises(Refused) as refused:
        take(house, item, 1, "E2")
    assert refused.value.refusal.code == "bookings.kit_taken"
    item, changed = kit(2)
    assert changed
    assert take(house, item, 1, "E2").pk


def test_fewer_pieces_are_refused_while_one_that_would_go_is_kept_and_not_afterwards(house: Any) -> None:
    item, _made = kit(2)
    take(house, item, 2)
    with pytest.raises(Refused) as refused:
        kit(1)
    assert refused.value.refusal.code == "stations.piece_is_held"
    item.refresh_from_db()
    assert (item.pieces, item.resource.lanes.count()) == (2, 2)
    later = TOMORROW + 3 * HOUR
    assert kit(0, later)[1]
    assert queries.lanes_of([item.resource_id])[item.resource_id] == []
    assert item.resource.lanes.count() == 2, "the past stands in them"
    assert kit(3, later)[1]
    assert len(queries.lanes_of([item.resource_id])[item.resource_id]) == 3


@pytest.mark.parametrize(
    "wrong", [{"pieces": -1}, {"pieces": 501}, {"outlasts_minutes": 721}, {"from_end_minutes": -5}]
)
def test_numbers_out_of_range_are_refused(house: Any, wrong: dict[str, int]) -> None:
    with pytest.raises(Refused) as refused:
        kit(**{"pieces": 1, **wrong})
    assert refused.value.refusal.code == "stations.kit_out_of_range"
    assert not KitItem.objects.exists()


def test_only_staff_describe_kit(house: Any) -> None:
    for role in ({}, {"is_keyholder": True}, {"is_tutor": True}):
        with pytest.raises(Refused):
            kit(1, by=makers.member("Kim", **role))
    assert kit(1, by=makers.member("Sam", is_staff=True))[1]


NEW = {"code": "EASEL", "name": "Masking frame", "sort": "masking frame", "pieces": "3", "kinds": ["enlarger booth"]}


def test_staff_add_change_and_retire_an_item_on_its_pages(house: Any) -> None:
    staff = client_of(makers.member("Sam", is_staff=True))
    assert "Nothing is lent out yet" in page(staff.get("/kit/")).text
    assert staff.post("/kit/new/", NEW | {"outlasts_minutes": "30"}).status_code == 302
    text = " ".join(page(staff.get("/kit/")).text.split())
    assert "EASEL, Masking frame 3 enlarger booth for the booking, until 30 minutes after it" in text
    soup = page(staff.get("/kit/EASEL/"))
    assert soup.select_one("#id_pieces")["value"] == "3"
    assert soup.select_one("#id_code") is None
    staff.post("/kit/EASEL/", {**NEW, "code": "OTHER", "pieces": "5"})
    item = KitItem.objects.get()
    assert (item.code, item.pieces, item.kinds, item.outlasts_minutes) == ("EASEL", 5, ["enlarger booth"], 0)
    staff.post("/kit/EASEL/", {"retire": "1"})
    assert "not lent out" in page(staff.get("/kit/")).text
    assert staff.get("/kit/NONE/").status_code == 404


@pytest.mark.parametrize(
    ("wrong", "field", "words"),
    [
        ({"code": "a b"}, "id_code", "letters, digits"),
        ({"code": "new"}, "id_code", "not “new”"),
        ({"code": "lens"}, "id_code", "another item"),
        ({"pieces": "many"}, "id_pieces", "whole number"),
        ({"pieces": "501"}, "id_pieces", "at most 500"),
        ({"name": ""}, "id_name", "missing"),
        ({"kinds": ["moon"]}, "id_kinds_0", "choose one"),
    ],
)
def test_what_is_wrong_with_an_item_is_said_at_its_field(
    house: Any, wrong: dict[str, Any], field: str, words: str
) -> None:
    kit(1)
    answer = client_of(makers.member("Sam", is_staff=True)).post("/kit/new/", NEW | wrong)
    assert answer.status_code == 422
    line = page(answer).select_one(f'#problems a[href="#{field}"]')
    assert line is not None
    assert words in line.text
    assert KitItem.objects.count() == 1


def test_lowering_what_is_kept_for_somebody_is_said_on_the_page_and_retiring_it_too(house: Any) -> None:
    item, _made = kit(2)
    take(house, item, 2)
    staff = client_of(makers.member("Sam", is_staff=True))
    answer = staff.post("/kit/LENS/", {"name": "Lens", "sort": "lens", "pieces": "1"})
    assert answer.status_code == 422
    assert "is kept for somebody until Thursday 26 November 15:00" in page(answer).text
    assert page(answer).select_one("#id_pieces")["value"] == "1"
    assert staff.post("/kit/LENS/", {"retire": "1"}).status_code == 409
    item.refresh_from_db()
    assert item.pieces == 2


FILE = """
[studio]
name = "Ostermill"
time_zone = "Europe/Amsterdam"
currency = "EUR"
[opening]
monday = ["10:00-18:00"]
[[processes]]
code = "fb"
name = "Fibre"
light = "safelight"
[[processors]]
code = "T"
name = "Trays"
process = "fb"
feed_width_mm = 500
booths_at_once = 1
needs = ["water", "extraction"]
[[stations]]
code = "E1"
name = "Booth"
kind = "enlarger booth"
processes = ["fb"]
step_free = true
bench_height_mm = 850
colour_filters = true
[[kit]]
code = "WASHER"
name = "Washer"
sort = "washing"
pieces = 2
kinds = ["enlarger booth"]
processes = ["fb"]
from_end_minutes = 30
outlasts_minutes = 60
"""


def test_the_studios_file_describes_kit_and_what_people_look_for_in_a_station(db: Any) -> None:
    outcome = upkeep.load_studio(data=FILE.encode(), now=NOW)
    assert outcome.warnings == []
    item = KitItem.objects.get()
    assert (item.pieces, item.sort, item.kinds, item.process_codes) == (2, "washing", ["enlarger booth"], ["fb"])
    assert (item.from_end_minutes, item.outlasts_minutes, item.resource.lanes.count()) == (30, 60, 2)
    station = queries.stations().get()
    assert (station.step_free, station.bench_height_mm, station.has_colour_filters) == (True, 850, True)
    assert queries.processors().get().needs == ["water", "extraction"]
    again = upkeep.load_studio(data=FILE.encode(), now=NOW)
    assert not again.wrote


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('kinds = ["enlarger booth"]', 'kinds = ["moon"]', "kit[1].kinds[1]"),
        ('processes = ["fb"]\nfrom', 'processes = ["xx"]\nfrom', "kit[1].processes[1]"),
        ('sort = "washing"', 'sort = "soap"', "kit[1].sort"),
        ("pieces = 2", "pieces = -1", "kit[1].pieces"),
        ("outlasts_minutes = 60", "outlasts_minutes = 900", "kit[1].outlasts_minutes"),
        ("step_free = true", 'step_free = "yes"', "stations[1].step_free"),
        ("bench_height_mm = 850", "bench_height_mm = 0", "stations[1].bench_height_mm"),
        ('code = "WASHER"', "", "kit[1].code"),
    ],
)
def test_what_is_wrong_in_the_file_is_named_by_its_key(db: Any, old: str, new: str, where: str) -> None:
    assert old in FILE
    with pytest.raises(FileRefused) as refused:
        upkeep.load_studio(data=FILE.replace(old, new).encode(), now=NOW)
    assert where in [problem.column for problem in refused.value.problems]
    assert not KitItem.objects.exists()


def test_a_file_that_lowers_what_is_kept_is_refused_at_its_pieces(house: Any) -> None:
    text = FILE.replace('monday = ["10:00-18:00"]', 'thursday = ["10:00-22:00"]')
    item, _made = actions.describe_kit(code="WASHER", name="Washer", pieces=2, now=NOW)
    take(house, item, 2)
    with pytest.raises(FileRefused) as refused:
        upkeep.load_studio(data=text.replace("pieces = 2", "pieces = 1").encode(), now=NOW)
    assert [problem.column for problem in refused.value.problems] == ["kit[1].pieces"]
