"""Cancelling, signing in and out, closing and reopening, and what has to be warm: on both databases."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import Booking, Hold, ZoneHold
from studiodesk.journal.models import Entry, Notice
from studiodesk.timekeeping import Span
from studiodesk.words import say
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked, refused


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_cancelling_gives_every_hold_back_and_keeps_the_booking(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "E3", process="ra4")
    actions.cancel(booking=booking, now=now, by=adri)
    booking.refresh_from_db()
    assert booking.cancelled_at == now
    assert (Hold.objects.count(), ZoneHold.objects.count()) == (0, 0)
    assert booked(house, makers.member("Bente"), now, "E3", process="rc").pk
    with pytest.raises(Refused) as caught:
        actions.cancel(booking=booking, now=now, by=makers.member("Kim", is_keyholder=True))
    assert caught.value.refusal.code == "bookings.cancelled_before"


def test_a_second_press_on_cancel_in_and_out_changes_nothing_and_writes_nothing(
    house: Any, adri: Any, now: datetime
) -> None:
    first, second = booked(house, adri, now), booked(house, adri, now, "E2")

    def entries() -> list[str]:
        return list(
            Entry.objects.filter(about="booking").exclude(code="bookings.booked").values_list("code", flat=True)
        )

    for later in (now, now + HOUR):
        assert actions.cancel(booking=first, now=later, by=adri).cancelled_at == now
    for later in (TOMORROW, TOMORROW + HOUR):
        assert actions.arrive(booking=second, now=later, by=adri).arrived_at == TOMORROW
    for later in (TOMORROW + HOUR, TOMORROW + 3 * HOUR):
        assert actions.leave(booking=second, now=later, by=adri).left_at == TOMORROW + HOUR
    assert sorted(entries()) == ["bookings.arrived", "bookings.cancelled", "bookings.left"]
    with pytest.raises(Refused):  # out again is not in
        actions.arrive(booking=second, now=TOMORROW + HOUR, by=adri)
    with pytest.raises(Refused):
        actions.arrive(booking=first, now=TOMORROW, by=adri)


def test_who_did_not_cancel_themselves_is_told_once_that_the_house_did(house: Any, adri: Any, now: datetime) -> None:
    mine, theirs = booked(house, adri, now), booked(house, adri, now, "E2")
    keyholder = makers.member("Kim", is_keyholder=True)
    by_house = Notice.objects.filter(code="bookings.cancelled_by_house")
    actions.cancel(booking=mine, now=now, by=adri)
    assert by_house.count() == 0
    for _ in range(2):
        actions.cancel(booking=theirs, now=now, by=keyholder)
    notice = by_house.get()
    assert (notice.code, notice.person, notice.due_at) == ("bookings.cancelled_by_house", adri, now)
    assert (notice.entry.code, notice.entry.about_id) == ("bookings.cancelled", theirs.pk)
    over = booked(house, adri, now, start=3)
    with pytest.raises(Refused) as caught:
        actions.cancel(booking=over, now=over.ends, by=keyholder)
    assert caught.value.refusal.code == "bookings.over"
    assert by_house.count() == 1


def test_the_constraint_under_a_closure_says_which_station(
    house: Any, adri: Any, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    from studiodesk.bookings.actions import closing

    booked(house, adri, now)
    monkeypatch.setattr(closing, "holds_touching", lambda span: Hold.objects.none())
    with pytest.raises(Refused) as caught:
        actions.close_station(
            station=house.stations["E1"],
            span=Span(TOMORROW, TOMORROW + HOUR),
            reason="lamp",
            now=now,
            by=makers.member("Kim", is_keyholder=True),
        )
    assert caught.value.refusal.code == "bookings.taken"
    assert "Booth 1 is taken" in say(caught.value.refusal).sentence


def test_a_booking_that_has_begun_is_cancelled_only_by_the_house(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    during = TOMORROW + HOUR
    with pytest.raises(Refused) as caught:
        actions.cancel(booking=booking, now=during, by=adri)
    assert caught.value.refusal.code == "bookings.begun"
    keyholder = makers.member("Kim", is_keyholder=True)
    assert actions.cancel(booking=booking, now=during, by=keyholder).cancelled_at == during


def test_signing_in_and_out_and_both_undone(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)

    def code(act: Any, moment: datetime) -> str:
        with pytest.raises(Refused) as caught:
            act(booking=booking, now=moment, by=adri)
        return caught.value.refusal.code

    assert code(actions.arrive, TOMORROW - 2 * HOUR) == "bookings.too_early"
    assert code(actions.leave, TOMORROW) == "bookings.not_arrived"
    actions.arrive(booking=booking, now=TOMORROW, by=adri)
    assert [b.pk for b in queries.who_is_in(TOMORROW + HOUR)] == [booking.pk]
    assert code(actions.cancel, TOMORROW) == "bookings.arrived_already"
    actions.leave(booking=booking, now=TOMORROW + HOUR, by=adri)
    assert not queries.who_is_in(TOMORROW + HOUR).exists()
    assert code(actions.undo_arrive, TOMORROW) == "bookings.left_already"
    actions.undo_leave(booking=booking, now=TOMORROW + HOUR, by=adri)
    actions.undo_arrive(booking=booking, now=TOMORROW + HOUR, by=adri)
    assert Booking.objects.get().arrived_at is None
    assert code(actions.arrive, TOMORROW + 2 * HOUR) == "bookings.over"


def test_a_station_is_closed_around_whoever_stands_there_and_has_their_time_when_they_give_it_back(
    house: Any, adri: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)  # until 15:00, and a quarter of an hour to clear up
    keyholder = makers.member("Kim", is_keyholder=True)
    span = Span(TOMORROW + HOUR, TOMORROW + 60 * HOUR)
    holds = actions.close_station(station=house.stations["E1"], span=span, reason="lamp", now=now, by=keyholder)
    assert [h.ends - h.starts for h in holds] == [24 * HOUR, 24 * HOUR, 9.75 * HOUR]
    assert holds[0].starts == TOMORROW + 2.25 * HOUR
    notice = Notice.objects.get(code="bookings.hit")
    assert (notice.person, notice.entry.about_id, notice.entry.facts["reason"]) == (adri, booking.pk, "lamp")
    actions.cancel(booking=booking, now=now, by=adri)
    late = Hold.objects.get(starts=TOMORROW + HOUR)
    assert (late.ends, late.outage, late.reason) == (TOMORROW + 2.25 * HOUR, holds[0].outage, "lamp")
    assert refused(house, adri, now).code == "bookings.out_of_service"
    freed = Span(TOMORROW + HOUR, TOMORROW + 5 * HOUR)
    assert actions.reopen(thing=house.stations["E1"], span=freed, now=now, by=keyholder) == 2
    assert booked(house, adri, now, start=1, hours=3).pk
    with pytest.raises(Refused):
        actions.close_station(station=house.stations["E2"], span=span, reason="", now=now, by=adri)


def test_closing_a_processor_shuts_every_place(house: Any, adri: Any, now: datetime) -> None:
    keyholder = makers.member("Kim", is_keyholder=True)
    span = Span(TOMORROW, TOMORROW + 4 * HOUR)
    holds = actions.close_processor(
        processor=house.processors["P-CO"], span=span, reason="", now=now, by=keyholder, cause="fault"
    )
    assert len(holds) == 2
    assert refused(house, adri, now, process="ra4").code == "bookings.processor_out_of_service"
    again = actions.close_processor(
        processor=house.processors["P-CO"], span=Span(TOMORROW, TOMORROW + 5 * HOUR), reason="", now=now, by=keyholder
    )
    assert [h.ends - h.starts for h in again] == [HOUR, HOUR]


def test_another_persons_booking_is_not_there_but_for_the_house(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    assert queries.access_booking(adri, booking.pk) == booking
    assert queries.access_booking(makers.member("Kim", is_keyholder=True), booking.pk) == booking
    with pytest.raises(Booking.DoesNotExist):
        queries.access_booking(makers.member("Bente"), booking.pk)


def test_processors_to_warm_name_who_they_are_for_and_by_when(house: Any, adri: Any, now: datetime) -> None:
    first = booked(house, adri, now, "E1", start=-3)  # at opening
    later = booked(house, adri, now, "E2", start=2, process="rc")
    colour = booked(house, adri, now, "E1", start=1, process="ra4")
    rows = queries.to_warm(TOMORROW.date(), now)
    assert [(row.processor.code, row.first.pk) for row in rows][1] == ("P-CO", colour.pk)
    assert rows[1].begin == TOMORROW + HOUR - timedelta(minutes=45)
    assert rows[0].begin == TOMORROW - 3 * HOUR  # not before the house opens
    assert later.pk not in {row.first.pk for row in rows}
    # Two hours after the first began it is on if somebody came to it, and to be put on for the next if nobody did.
    noon = TOMORROW - HOUR
    assert {r.processor.code: r.first.pk for r in queries.to_warm(TOMORROW.date(), noon)} == {
        "P-CO": colour.pk,
        "P-RC": later.pk,
    }
    actions.arrive(booking=first, now=TOMORROW - 3 * HOUR, by=adri)
    assert [r.processor.code for r in queries.to_warm(TOMORROW.date(), noon)] == ["P-CO"]
