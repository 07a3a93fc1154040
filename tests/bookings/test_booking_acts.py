"""The act ``book`` on both databases: what it writes, what it refuses, how many statements it takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.actions.house_rules import set_house_rule
from studiodesk.bookings.models import Hold, ZoneHold
from studiodesk.journal.models import Entry, Notice
from studiodesk.safety import queries as safety
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from studiodesk.words import say
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked, refused
from tests.bookings.test_kit_acts import item


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_a_booth_booking_holds_the_booth_with_clear_up_and_a_place_at_the_processor(
    house: Any, adri: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    rows = [(h.lane.resource_id, h.starts, h.ends) for h in booking.holds.select_related("lane").order_by("pk")]
    quarter = timedelta(minutes=15)
    assert sorted(rows) == sorted(
        [
            (house.stations["E1"].resource_id, TOMORROW, TOMORROW + 2 * HOUR + quarter),
            (house.processors["P-RC"].resource_id, TOMORROW, TOMORROW + 2 * HOUR),
        ]
    )
    assert booking.processor == house.processors["P-RC"]
    assert booking.source == "site"
    assert Entry.objects.get(about="booking", about_id=booking.pk).code == "bookings.booked"
    assert ZoneHold.objects.count() == 0


def test_a_scanner_takes_no_process_and_no_place(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "S1", process=None)
    assert (booking.processor, booking.holds.count()) == (None, 1)


def test_the_act_takes_at_most_sixteen_statements_with_everything_on(house: Any, adri: Any, now: datetime) -> None:
    """In a shared room, with a note read, heads counted, kit taken along and every rule of the house set; the two of
    the transaction are among them."""
    note = SafetyNote.objects.create(
        processor=house.processors["P-CO"], version=1, title="N", body="x", published_at=makers.LONG_AGO
    )
    SafetyAcknowledgement.objects.create(note=note, member=adri, acknowledged_at=now)
    manager = makers.member("Mo", is_staff=True, is_manager=True)
    for code, number in (("open_bookings", 5), ("month_hours", 20), ("peak_week_hours", 9), ("strikes", 3)):
        set_house_rule(code=code, plan=None, value=number, in_force_from=now.date(), now=now, by=manager)
    lens = item("lens", 2)
    with CaptureQueriesContext(connection) as seen:
        booked(house, adri, now, "E3", start=48, process="ra4", kit={lens: 1})
    assert (ZoneHold.objects.count(), Hold.objects.count(), Notice.objects.count()) == (1, 3, 2)
    assert len(seen) <= 16, "\n".join(q["sql"] for q in seen.captured_queries)
    assert len(seen) >= 12, "the act did not look at what it has to look at"


def test_the_same_time_twice_is_taken(house: Any, adri: Any, now: datetime) -> None:
    booked(house, adri, now)
    assert refused(house, makers.member("Bente"), now, start=1).code == "bookings.taken"
    assert refused(house, makers.member("Bente"), now, start=2).code == "bookings.taken"  # clear-up
    assert booked(house, makers.member("Bente"), now, start=2.25).pk


def test_a_place_at_the_processor_is_counted_over_all_booths(house: Any, adri: Any, now: datetime) -> None:
    booked(house, adri, now, "E1", process="ra4")
    booked(house, adri, now, "E3", start=1, process="ra4")
    assert refused(house, adri, now, "E4", start=1, process="ra4").code == "bookings.no_place"
    assert booked(house, adri, now, "E4", start=2, process="ra4").pk  # E1 has gone by then


def test_a_stay_changes_places_when_that_is_the_only_way(house: Any, adri: Any, now: datetime) -> None:
    first = booked(house, adri, now, "E1", start=0, hours=2, process="ra4")
    second = booked(house, adri, now, "E3", start=1, hours=3, process="ra4")
    third = booked(house, adri, now, "E1", start=2.25, hours=2, process="ra4")
    long = booked(house, adri, now, "E4", start=4.25, hours=2, process="ra4")
    assert {first.processor_id, second.processor_id, third.processor_id, long.processor_id} == {
        house.processors["P-CO"].pk
    }
    lanes = Hold.objects.filter(lane__resource=house.processors["P-CO"].resource_id)
    assert lanes.count() >= 4


def test_unlike_light_in_the_shared_room_is_refused_and_like_light_is_not(house: Any, adri: Any, now: datetime) -> None:
    booked(house, adri, now, "E3", process="ra4")
    said = refused(house, adri, now, "E4", start=1, process="rc")
    assert (said.code, said.facts["zone"]) == ("bookings.light", "shared room")
    assert booked(house, adri, now, "E4", start=1, process="ra4").pk
    assert booked(house, adri, now, "E2", start=1, process="rc").pk  # its own cubicle


def test_the_safety_note_is_asked_in_its_current_version(house: Any, adri: Any, now: datetime) -> None:
    machine = house.processors["P-RC"]
    note = SafetyNote.objects.create(processor=machine, version=1, title="N", body="x", published_at=makers.LONG_AGO)
    said = refused(house, adri, now)
    assert (said.code, said.facts["processor_code"]) == ("bookings.note_not_acknowledged", "P-RC")
    SafetyAcknowledgement.objects.create(note=note, member=adri, acknowledged_at=now)
    assert booked(house, adri, now).pk
    SafetyNote.objects.create(processor=machine, version=2, title="N", body="y", published_at=now)
    assert refused(house, adri, now, start=3).code == "bookings.note_not_acknowledged"
    assert booked(house, adri, now, "E1", start=3, process="ra4").pk


def test_the_gate_of_the_act_is_the_one_of_the_safety_pages(house: Any, adri: Any, now: datetime) -> None:
    """The act asks for all processors in one statement; the pages ask one by one.  They must never differ."""
    machine = house.processors["P-RC"]

    def both() -> tuple[bool, bool]:
        (row,) = queries.note_facts(type(machine).objects.filter(pk=machine.pk), adri)
        return row.current_note is None or row.note_read, safety.outstanding_note(adri, machine) is None

    assert both() == (True, True)
    for version in (1, 2):
        note = SafetyNote.objects.create(
            processor=machine, version=version, title="N", body="x", published_at=makers.LONG_AGO
        )
        assert both() == (False, False)
        SafetyAcknowledgement.objects.create(note=note, member=adri, acknowledged_at=now)
        assert both() == (True, True)


def test_short_notice_waits_for_warm_up_and_a_test_print_unless_the_machine_is_warm(
    house: Any, adri: Any, now: datetime
) -> None:
    def at_once(code: str, minutes: int) -> Any:
        starts = now + timedelta(minutes=minutes)
        return actions.book(
            member=adri,
            station=house.stations[code],
            process=house.processes["rc"],
            starts=starts,
            ends=starts + HOUR,
            now=now,
            by=adri,
        )

    with pytest.raises(Refused) as caught:
        at_once("E1", 30)
    assert caught.value.refusal.code == "bookings.not_warm"
    assert caught.value.refusal.facts["warm_at"] == now + timedelta(minutes=33)
    at_once("E1", 45)
    with pytest.raises(Refused):
        at_once("E2", 30)
    assert at_once("E2", 45).pk  # heated for the other at that time


@pytest.mark.parametrize("came", [True, False])
def test_hours_later_a_machine_is_warm_only_if_somebody_came_to_it(
    house: Any, adri: Any, now: datetime, came: bool
) -> None:
    first = booked(house, adri, now, start=-3)
    if came:
        actions.arrive(booking=first, now=first.starts, by=adri)
    later, bente = first.starts + 5 * HOUR, makers.member("Bente")
    wish = {
        "member": bente,
        "station": house.stations["E2"],
        "process": house.processes["rc"],
        "starts": later + timedelta(minutes=15),
        "ends": later + 2 * HOUR,
        "now": later,
        "by": bente,
    }
    found = queries.free_times(
        studio=house.studio,
        stations_wanted=[house.stations["E2"]],
        processors=[house.processors["P-RC"]],
        process=house.processes["rc"],
        day=later.date(),
        length=HOUR,
        now=later,
        by=bente,
    )
    if came:
        assert found[0].starts == later
        assert actions.book(**wish).pk
    else:
        assert found[0].starts == later + timedelta(minutes=45)  # 33 minutes for warm-up and test print, on the grid
        with pytest.raises(Refused) as caught:
            actions.book(**wish)
        assert caught.value.refusal.code == "bookings.not_warm"


def test_the_house_holds_so_many_heads(db: Any, now: datetime) -> None:
    house = makers.house(heads_at_once=1)
    adri = makers.member("Adri")
    booked(house, adri, now)
    full = refused(house, adri, now, "E2", start=1)
    assert full.code == "bookings.heads"
    assert say(full).sentence == "The house is full at that time: it has room for 1 person at once."
    assert "room for 24 people" in say(replace(full, facts={"heads": 24})).sentence
    assert booked(house, adri, now, "E2", start=2).pk


def test_staff_book_on_the_five_minute_grid_for_somebody_else(house: Any, adri: Any, now: datetime) -> None:
    staff = makers.member("Staff", is_staff=True)
    assert refused(house, adri, now, start=1 / 12).code == "bookings.off_grid"
    booking = booked(house, adri, now, start=1 / 12, by=staff)
    assert (booking.member, booking.source) == (adri, "desk")


def test_somebody_who_left_the_house_books_nothing(house: Any, now: datetime) -> None:
    assert refused(house, makers.member("Gone", is_active=False), now).code == "bookings.not_a_member"


def test_closed_and_backwards_times_are_refused(house: Any, adri: Any, now: datetime) -> None:
    assert refused(house, adri, now, start=8).code == "bookings.closed"
    assert refused(house, adri, now, start=7).code == "bookings.no_time_to_clear_up"
    assert refused(house, adri, now, hours=-1).code == "bookings.ends_before_it_starts"
    assert refused(house, adri, now, start=-30).code == "bookings.in_the_past"


def test_the_constraint_itself_refuses_what_the_look_missed(
    house: Any, adri: Any, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    from studiodesk.bookings.queries import looking

    booked(house, adri, now)
    monkeypatch.setattr(looking, "holds_touching", lambda span: Hold.objects.none())
    said = refused(house, makers.member("Bente"), now, start=1)
    assert (said.code, said.facts["station"]) == ("bookings.taken", "Booth 1")
