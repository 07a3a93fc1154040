"""Changing a booking: all of it or nothing, and back again until the cut-off."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.actions import New
from studiodesk.bookings.actions.house_rules import set_house_rule
from studiodesk.bookings.models import Booking, BookingChange, Hold, Outage, ZoneHold
from studiodesk.journal.models import Entry, Notice
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked
from tests.bookings.test_kit_acts import item


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def held(booking: Booking) -> list[Any]:
    return sorted(booking.holds.values_list("lane__resource_id", "starts", "ends"))


def changed(booking: Booking, now: datetime, by: Any = None, **new: Any) -> Booking:
    return actions.change(booking=booking, new=New(**new), now=now, by=by or booking.member)


def refusal_of(booking: Booking, now: datetime, by: Any = None, **new: Any) -> Any:
    """The refusal; and the booking stands exactly as it stood."""

    def everything() -> Any:
        rows = Booking.objects.filter(pk=booking.pk).values().get()
        return rows, held(booking), list(booking.zone_holds.values_list("light", "starts")), Entry.objects.count()

    before = everything()
    with pytest.raises(Refused) as caught:
        changed(booking, now, by, **new)
    assert everything() == before
    return caught.value.refusal


def test_a_move_takes_the_new_time_and_gives_the_old_one_back(house: Any, adri: Any, now: datetime) -> None:
    lens = item("lens", 1)
    booking = booked(house, adri, now, kit={lens: 1})
    moved = changed(booking, now, station=house.stations["E3"], starts=TOMORROW + HOUR, ends=TOMORROW + 4 * HOUR)
    assert moved.pk == booking.pk and (moved.station.code, moved.sequence) == ("E3", 1)
    assert held(moved) == sorted(
        [
            (house.stations["E3"].resource_id, TOMORROW + HOUR, TOMORROW + 4.25 * HOUR),
            (house.processors["P-RC"].resource_id, TOMORROW + HOUR, TOMORROW + 4 * HOUR),
            (lens.resource_id, TOMORROW + HOUR, TOMORROW + 4 * HOUR),
        ]
    )
    assert ZoneHold.objects.get().zone == house.stations["E3"].zone
    assert booked(house, makers.member("Bente"), now).pk
    told = Notice.objects.filter(code="bookings.changed").get()
    assert told.person == adri and told.entry.facts["before"]["station"] == house.stations["E1"].pk


def test_a_move_to_what_is_taken_keeps_the_old_time(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "E3")
    booked(house, makers.member("Bente"), now, "E4", start=4)
    later = {"starts": TOMORROW + 4 * HOUR, "ends": TOMORROW + 6 * HOUR}
    assert refusal_of(booking, now, station=house.stations["E4"], **later).code == "bookings.taken"
    assert refusal_of(booking, now, ends=TOMORROW + 99 * HOUR).code == "bookings.too_long"
    assert refusal_of(booking, now, ends=booking.starts).code == "bookings.ends_before_it_starts"
    assert refusal_of(booking, now, ends=booking.ends + timedelta(minutes=7)).code == "bookings.off_grid"
    assert refusal_of(booking, now, starts=now - HOUR, ends=now + HOUR).code == "bookings.in_the_past"
    assert refusal_of(booking, now, process=None).code == "bookings.needs_process"
    assert refusal_of(booking, now, kit={item("lens", 1): 2}).code == "bookings.kit_too_many"


def test_a_booking_is_not_in_its_own_way(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "E1", process="ra4", hours=3)
    booked(house, makers.member("Bente"), now, "E3", process="ra4", hours=3)  # the other of two places
    assert changed(booking, now, starts=TOMORROW + HOUR, ends=TOMORROW + 4 * HOUR).starts == TOMORROW + HOUR
    assert changed(booking, now, starts=TOMORROW, ends=TOMORROW + 3 * HOUR).starts == TOMORROW


def test_another_process_takes_another_machine_and_another_light(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "E3")
    assert changed(booking, now, process=house.processes["ra4"]).processor == house.processors["P-CO"]
    assert ZoneHold.objects.get().light == "total darkness"
    booked(house, makers.member("Bente"), now, "E4", process="ra4")
    assert refusal_of(booking, now, process=house.processes["rc"]).code == "bookings.light"


def test_who_is_at_work_may_stay_longer_leave_earlier_and_change_the_booth_but_not_the_start(
    house: Any, adri: Any, now: datetime
) -> None:
    booking = booked(house, adri, now, hours=3)
    middle = TOMORROW + 1.5 * HOUR
    actions.arrive(booking=booking, now=TOMORROW, by=adri)
    assert refusal_of(booking, middle, starts=TOMORROW + 2 * HOUR).code == "bookings.begun_stays"
    assert changed(booking, middle, ends=TOMORROW + 4 * HOUR).ends == TOMORROW + 4 * HOUR
    swapped = changed(booking, middle, station=house.stations["E2"])
    # The old booth is free from now on; of the new one only the rest is kept.
    assert held(swapped) == sorted(
        [
            (house.stations["E2"].resource_id, middle, TOMORROW + 4.25 * HOUR),
            (house.processors["P-RC"].resource_id, middle, TOMORROW + 4 * HOUR),
        ]
    )
    assert changed(booking, middle, ends=TOMORROW + 2 * HOUR).ends == TOMORROW + 2 * HOUR
    assert refusal_of(booking, middle, ends=TOMORROW + HOUR).code == "bookings.in_the_past"
    actions.leave(booking=booking, now=middle, by=adri)
    assert refusal_of(booking, middle, ends=TOMORROW + 3 * HOUR).code == "bookings.left_already"


def test_a_machine_put_on_for_a_booking_is_warm_for_its_longer_stay(house: Any, adri: Any, now: datetime) -> None:
    """Nobody else booked it: without its own booking it would be cold ten minutes before."""
    booking = booked(house, adri, now)
    shortly = TOMORROW - timedelta(minutes=10)
    assert changed(booking, shortly, ends=TOMORROW + 3 * HOUR).ends == TOMORROW + 3 * HOUR


def test_a_change_is_taken_back_until_the_cut_off_and_a_cancellation_too(house: Any, adri: Any, now: datetime) -> None:
    lens = item("lens", 2)
    booking = booked(house, adri, now, kit={lens: 2})
    before = held(booking)
    changed(booking, now, station=house.stations["E2"], ends=TOMORROW + 3 * HOUR, kit={})
    back = actions.undo_last_change(booking=booking, now=now, by=adri)
    assert (back.station.code, back.ends, held(back)) == ("E1", TOMORROW + 2 * HOUR, before)
    actions.cancel(booking=booking, now=now, by=adri)
    assert actions.undo_last_change(booking=booking, now=now, by=adri).cancelled_at is None
    assert held(booking) == before
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=booking, now=now, by=adri)
    assert caught.value.refusal.code == "bookings.nothing_to_undo"
    assert BookingChange.objects.filter(undone_at__isnull=True).count() == 0


def test_what_somebody_else_took_in_the_meantime_cannot_be_had_back(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    changed(booking, now, station=house.stations["E2"])
    booked(house, makers.member("Bente"), now)
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=booking, now=now, by=adri)
    assert caught.value.refusal.code == "bookings.taken"
    assert Booking.objects.get(pk=booking.pk).station.code == "E2"


def test_the_cut_off_is_the_house_s_notice_and_the_house_has_longer(house: Any, adri: Any, now: datetime) -> None:
    manager = makers.member("Mo", is_staff=True, is_manager=True)
    set_house_rule(code="free_cancel_hours", plan=None, value=4, in_force_from=now.date(), now=now, by=manager)
    booking = booked(house, adri, now)
    changed(booking, now, ends=TOMORROW + 3 * HOUR)
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=booking, now=TOMORROW - 4 * HOUR, by=adri)
    assert caught.value.refusal.facts["until"] == TOMORROW - 4 * HOUR
    assert actions.undo_last_change(booking=booking, now=TOMORROW - HOUR, by=manager).ends == TOMORROW + 2 * HOUR


def test_nobody_takes_back_what_the_house_did(house: Any, adri: Any, now: datetime) -> None:
    keyholder = makers.member("Kim", is_keyholder=True)
    booking = booked(house, adri, now)
    changed(booking, now, by=keyholder, ends=TOMORROW + 3 * HOUR)
    assert Notice.objects.filter(code="bookings.moved_by_house", person=adri).count() == 1
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=booking, now=now, by=adri)
    assert caught.value.refusal.code == "bookings.nothing_to_undo"


def test_one_reminder_waits_whatever_is_changed_and_none_after_a_cancellation(
    house: Any, adri: Any, now: datetime
) -> None:
    booking = booked(house, adri, now, start=48)
    for hours in (3, 4):
        changed(booking, now, ends=booking.starts + hours * HOUR)
    waiting = Notice.objects.filter(code="bookings.reminder", state="waiting")
    assert waiting.get().due_at == booking.starts - 24 * HOUR
    moved = changed(booking, now, starts=TOMORROW + 72 * HOUR, ends=TOMORROW + 74 * HOUR)
    assert waiting.get().due_at == moved.starts - 24 * HOUR
    actions.cancel(booking=booking, now=now, by=adri)
    assert waiting.count() == 0


def test_nothing_new_changes_nothing(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    entries = Entry.objects.count()
    assert changed(booking, now, starts=booking.starts).sequence == 0
    assert (Entry.objects.count(), BookingChange.objects.count()) == (entries, 0)


def test_what_is_given_back_falls_to_what_is_out_of_service_and_to_nobody_else(
    house: Any, adri: Any, now: datetime
) -> None:
    booking = booked(house, adri, now, hours=3)
    outage = Outage.objects.create(
        cause="fault", starts=TOMORROW + HOUR, ends=TOMORROW + 8 * HOUR, reason="lamp", made_at=now
    )
    outage.resources.add(house.stations["E1"].resource)
    changed(booking, now, ends=TOMORROW + 2 * HOUR)  # shorter, but still in the lamp's way
    spans = Hold.objects.filter(outage=outage).values_list("starts", "ends")
    assert list(spans) == [(TOMORROW + 2.25 * HOUR, TOMORROW + 3.25 * HOUR)]
    actions.cancel(booking=booking, now=now, by=adri)
    assert sorted(spans.all()) == [
        (TOMORROW + HOUR, TOMORROW + 2.25 * HOUR),
        (TOMORROW + 2.25 * HOUR, TOMORROW + 3.25 * HOUR),
    ]
    assert booked(house, adri, now, hours=0.75).pk


def test_the_rest_of_a_missed_booking_is_free_again(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    at = TOMORROW + HOUR / 2
    assert actions.release(booking=booking, now=TOMORROW - HOUR).released_at is None
    assert actions.release(booking=booking, now=at).released_at == at
    assert Notice.objects.filter(code="bookings.released", person=adri).count() == 1
    assert booked(house, makers.member("Bente"), at, start=1).pk
    for refused in (
        lambda: actions.arrive(booking=booking, now=at, by=adri),
        lambda: actions.change(booking=booking, new=New(ends=TOMORROW + 3 * HOUR), now=at, by=adri),
        lambda: actions.cancel(booking=booking, now=at, by=makers.member("Kim", is_keyholder=True)),
    ):
        with pytest.raises(Refused) as caught:
            refused()
        assert caught.value.refusal.code == "bookings.released_before"
