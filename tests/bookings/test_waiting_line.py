"""The waiting list: who is passed over and why, what is offered, and what may be waited for."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.actions import waiting as waiting_acts
from studiodesk.bookings.models import Booking, BookingChange, Hold, Offer, WaitingWish
from studiodesk.bookings.rules.needs import Need
from studiodesk.journal.models import Entry, Notice
from studiodesk.safety import actions as safety
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.waits import (
    BOOTH,
    FROM,
    HOUR,
    THURSDAY,
    TOMORROW,
    UNTIL,
    full,
    later,
    offer_of,
    state,
    wait,
)


@pytest.fixture
def cast(house: Any) -> dict[str, Any]:
    names = ("Adri", "Bente", "Cas", "Dirk")
    return {name.lower(): makers.member(name) for name in names} | {"kim": makers.member("Kim", is_keyholder=True)}


def codes(member: Any) -> list[str]:
    return list(Notice.objects.filter(person=member).exclude(state="called off").values_list("code", flat=True))


def test_whom_a_rule_of_the_house_refuses_is_passed_over(house, now, cast):
    from studiodesk.bookings.actions import set_house_rule

    manager = makers.member("Mans", is_staff=True, is_manager=True)
    set_house_rule(
        code="open_bookings", plan=None, value=1, in_force_from=THURSDAY.replace(day=25), now=now, by=manager
    )
    taken = full(house, cast["adri"], now)
    full(house, cast["bente"], now, 5)
    first, second = wait(cast["bente"], now), wait(cast["cas"], later(now, 1))
    actions.cancel(booking=taken, now=later(now, 2), by=cast["adri"])
    assert (offer_of(first), state(first)) == (None, "waiting") and offer_of(second) is not None


def test_nobody_is_offered_a_time_at_which_they_are_here_anyway_nor_back_what_they_cancelled_into(house, now, cast):
    taken = full(house, cast["adri"], now)
    actions.book(
        member=cast["bente"], station=house.stations["E1"], process=house.processes["rc"], starts=TOMORROW + HOUR,
        ends=TOMORROW + 3 * HOUR, now=now, by=cast["bente"],
    )  # fmt: skip
    first, second = wait(cast["bente"], now), wait(cast["cas"], later(now, 1))
    actions.cancel(booking=taken, now=later(now, 2), by=cast["adri"])
    assert offer_of(first) is None and offer_of(second) is not None


def test_what_is_out_of_service_is_not_offered(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    from studiodesk.bookings.models import Outage

    outage = Outage.objects.create(
        cause="fault", starts=TOMORROW - HOUR, ends=TOMORROW + HOUR, reason="lamp", made_at=now, made_by=cast["kim"]
    )
    outage.resources.add(house.stations["S1"].resource)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    assert offer_of(wish) is None
    assert Hold.objects.filter(outage=outage).count() == 1


def test_a_place_at_the_processor_that_becomes_free_serves_who_waits_for_any_booth(house, now, cast):
    """Two at once at the colour processor: the booth that is offered need not be the one that was given back."""
    colour = Need(process="ra4", length=120)
    taken = [
        actions.book(
            member=cast[name], station=house.stations[code], process=house.processes["ra4"], starts=TOMORROW,
            ends=TOMORROW + 2 * HOUR, now=now, by=cast[name],
        )
        for name, code in (("adri", "E1"), ("dirk", "E3"))
    ]  # fmt: skip
    wish = wait(cast["bente"], now, colour)
    assert actions.serve_all(now=now) == 0
    actions.cancel(booking=taken[1], now=now, by=cast["dirk"])
    booking = offer_of(wish).booking
    assert (booking.processor.code, booking.process.code) == ("P-CO", "ra4")
    assert booking.station.code in {"E3", "E4"}


def test_the_sweep_serves_what_became_free_by_other_ways_in_the_order_of_the_line(house, now, cast):
    monday = THURSDAY + timedelta(days=4)
    wishes = [wait(cast[n], now, first_day=monday, last_day=monday) for n in ("cas", "bente")]
    assert actions.sweep_offers(now=now) == 0
    from studiodesk.stations import actions as stations

    stations.set_opening(week={day: [(600, 1320)] for day in range(7)})
    assert actions.sweep_offers(now=later(now, 1)) == 1
    assert offer_of(wishes[0]) is not None and offer_of(wishes[1]) is None
    assert actions.sweep_offers(now=later(now, 2)) == 0


def test_wishes_whose_days_are_over_end(house, now, cast):
    full(house, cast["adri"], now)
    wish = wait(cast["bente"], now)
    assert actions.end_old_wishes(now=TOMORROW + 2 * HOUR - timedelta(seconds=1)) == 0
    assert actions.end_old_wishes(now=TOMORROW + 2 * HOUR) == 1
    assert state(wish) == "ended"
    assert Entry.objects.get(code="bookings.wish_ended").facts["why"] == "over"


def test_whoever_stops_waiting_gives_back_what_is_kept(house, now, cast):
    taken, wish, next_one = full(house, cast["adri"], now), wait(cast["bente"], now), wait(cast["cas"], later(now, 1))
    actions.cancel(booking=taken, now=later(now, 2), by=cast["adri"])
    actions.stop_waiting(wish=wish, now=later(now, 3), by=cast["bente"])
    assert state(wish) == "ended" and offer_of(next_one) is not None
    actions.stop_waiting(wish=wish, now=later(now, 4), by=cast["bente"])
    assert Entry.objects.filter(code="bookings.wish_ended").count() == 1


def test_the_house_can_cancel_what_is_kept_and_says_so(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    actions.cancel(booking=offer_of(wish).booking, now=later(now, 1), by=cast["kim"], reason="the lamp is broken")
    assert state(wish) == "waiting" and codes(cast["bente"]) == ["bookings.cancelled_by_house"]


def test_what_is_only_kept_is_not_signed_in_to_changed_released_or_brought_back(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    kept = offer_of(wish).booking
    with pytest.raises(Refused) as caught:
        actions.arrive(booking=kept, now=TOMORROW, by=cast["kim"])
    assert caught.value.refusal.code == "bookings.only_kept"
    with pytest.raises(Refused) as caught:
        actions.change(booking=kept, new=actions.New(ends=TOMORROW + HOUR), now=now, by=cast["bente"])
    assert caught.value.refusal.code == "bookings.only_kept"
    assert actions.release(booking=kept, now=TOMORROW).released_at is None
    actions.cancel(booking=kept, now=now, by=cast["bente"])
    assert not BookingChange.objects.filter(booking=kept).exists()
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=kept, now=now, by=cast["bente"])
    assert caught.value.refusal.code == "bookings.nothing_to_undo"


def test_one_question_is_all_that_a_cancellation_asks_where_nobody_waits(house, now, cast):
    taken = full(house, cast["adri"], now)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        waiting_acts.serve_freed(taken, now)
    assert len(seen) == 1 and "waitingwish" in seen[0]["sql"].lower()
    with CaptureQueriesContext(connection) as seen:
        assert actions.serve_all(now=now) == 0
    assert len(seen) == 1


def test_a_fault_in_the_line_never_keeps_anybody_from_giving_time_back(house, now, cast, monkeypatch, caplog):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)

    def broken(*_args: Any, **_more: Any) -> None:
        Offer.objects.create(wish=wish, booking=taken, made_at=now, until=now)  # breaks a constraint of the table

    monkeypatch.setattr(waiting_acts, "_offer", broken)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    assert Booking.objects.get().cancelled_at == now and not Offer.objects.exists()
    assert "could not be offered" in caplog.text
    monkeypatch.undo()
    assert actions.serve_all(now=now) == 1 and offer_of(wish) is not None


def test_a_wish_that_can_come_to_nothing_is_refused_with_a_reason(house, now, cast):
    def code_of(**more: Any) -> str:
        with pytest.raises(Refused) as caught:
            wait(cast["bente"], now, **more)
        return str(caught.value.refusal.code)

    day = timedelta(days=1)
    assert code_of(first_day=THURSDAY - 3 * day, last_day=THURSDAY - 2 * day) == "bookings.wish_past"
    assert code_of(first_day=THURSDAY - day, last_day=THURSDAY - day) == "bookings.wish_past"  # 15:30 is over by now
    assert code_of(last_day=THURSDAY + 365 * day) == "bookings.wish_too_far"
    assert code_of(first_day=THURSDAY + day) == "bookings.wish_days_turned"
    assert code_of(not_after=14 * 60) == "bookings.wish_without_room"
    assert code_of(need=Need(kind="scanning station", length=120, weekdays=(0,))) == "bookings.wish_without_room"
    assert code_of(need=Need(kind="scanning station", length=50)) == "bookings.off_grid"
    assert code_of(need=Need(kind="scanning station", length=5)) == "bookings.too_short"
    assert code_of(need=Need(kind="enlarger booth", length=120)) == "bookings.wish_fits_nothing"
    assert code_of(need=Need(process="rc", light_source="cold cathode")) == "bookings.wish_fits_nothing"
    wait(cast["bente"], now)
    assert code_of() == "bookings.wished_before"
    for n in range(9):
        wait(cast["bente"], now, first_day=THURSDAY + (n + 1) * day, last_day=THURSDAY + (n + 1) * day)
    assert code_of(not_after=UNTIL + 30, not_before=FROM - 30) == "bookings.too_many_wishes"
    assert WaitingWish.objects.count() == 10
    safety.publish_note(processor=house.processors["P-RC"], title="Before", body="Gloves.", now=now)
    cast["bente"] = cast["cas"]
    assert code_of(need=BOOTH) == "bookings.note_not_acknowledged"


def test_kit_that_is_wished_is_kept_with_the_offer_and_what_is_taken_is_waited_for(house, now, cast):
    from studiodesk.stations.models import KitItem, Lane, Resource

    resource = Resource.objects.create(sort="kit")
    Lane.objects.create(resource=resource, number=1)
    box = KitItem.objects.create(code="LB", name="Light box", sort="light box", resource=resource, pieces=1)
    taken = full(house, cast["adri"], now, 0, 4)
    elsewhere = actions.book(
        member=cast["dirk"], station=house.stations["E1"], process=house.processes["rc"], starts=TOMORROW,
        ends=TOMORROW + HOUR, now=now, by=cast["dirk"], kit={box: 1},
    )  # fmt: skip
    need = Need(kind="scanning station", length=120, kit=(("LB", 1),))
    wish = wait(cast["bente"], now, need, not_after=17 * 60)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    booking = offer_of(wish).booking
    assert booking.starts == TOMORROW + HOUR  # once the light box is back
    assert booking.kit.get().item == box and elsewhere.cancelled_at is None


def test_somebody_with_a_friend_waits_for_two_stations_at_once(house, now, cast):
    need = Need(process="rc", kind="enlarger booth", length=120, beside=True)
    taken = [
        actions.book(
            member=cast["adri"], station=house.stations[code], process=house.processes["rc"], starts=TOMORROW,
            ends=TOMORROW + 2 * HOUR, now=now, by=cast["adri"],
        )
        for code in ("E1", "E2", "E3", "E4")
    ]  # fmt: skip
    wish = wait(cast["bente"], now, need)
    actions.cancel(booking=taken[0], now=now, by=cast["adri"])
    assert offer_of(wish) is None
    actions.cancel(booking=taken[1], now=now, by=cast["adri"])
    assert offer_of(wish).booking.station.code == "E1"


def test_an_offer_is_no_reason_to_warm_a_machine_and_nobody_is_expected_for_it(house, now, cast):
    from studiodesk.bookings import queries

    booked = actions.book(
        member=cast["adri"], station=house.stations["E2"], process=house.processes["rc"], starts=TOMORROW,
        ends=TOMORROW + 2 * HOUR, now=now, by=cast["adri"],
    )  # fmt: skip
    for code in ("E1", "E3", "E4"):
        actions.close_station(
            station=house.stations[code], span=Span(TOMORROW, TOMORROW + 2 * HOUR), reason="lamp", now=now,
            by=cast["kim"],
        )  # fmt: skip
    wish = wait(cast["bente"], now, BOOTH)
    around = Span(TOMORROW, TOMORROW + HOUR)
    assert [one.pk for one in queries.in_between(around)] == [booked.pk]
    actions.cancel(booking=booked, now=now, by=cast["adri"])
    kept = offer_of(wish).booking
    at = TOMORROW - timedelta(hours=2)
    assert not queries.in_between(around) and not queries.next_up(at, TOMORROW + HOUR)
    assert queries.to_warm(THURSDAY, at) == []
    actions.accept(offer=offer_of(wish), now=later(now, 1), by=cast["bente"])
    assert [one.pk for one in queries.in_between(around)] == [kept.pk]
    assert [one.pk for one in queries.next_up(at, TOMORROW + HOUR)] == [kept.pk]
    assert [one.processor.code for one in queries.to_warm(THURSDAY, at)] == ["P-RC"]


def test_somebody_who_has_left_is_not_asked_any_more(house, now, cast):
    taken, first, second = full(house, cast["adri"], now), wait(cast["bente"], now), wait(cast["cas"], later(now, 1))
    type(cast["bente"]).objects.filter(pk=cast["bente"].pk).update(is_active=False)
    actions.cancel(booking=taken, now=later(now, 2), by=cast["adri"])
    assert offer_of(first) is None and offer_of(second) is not None
