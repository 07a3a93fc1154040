"""The waiting list: who waits first is asked first, an offer is a real booking, and nobody loses their place."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold, Offer
from studiodesk.bookings.rules.needs import Need
from studiodesk.journal.models import Entry, Notice
from tests import makers
from tests.bookings.waits import (
    HOUR,
    TOMORROW,
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


def test_what_is_cancelled_is_offered_to_whoever_waits_first(house, now, cast):
    taken = full(house, cast["adri"], now)
    first, second = wait(cast["bente"], now), wait(cast["cas"], later(now, 1))
    actions.cancel(booking=taken, now=later(now, 5), by=cast["adri"])
    offer = offer_of(first)
    assert offer is not None and offer_of(second) is None
    assert (state(first), state(second)) == ("offered", "waiting")
    kept = offer.booking
    assert (kept.member, kept.station.code, kept.starts, kept.ends) == (
        cast["bente"], "S1", TOMORROW, TOMORROW + 2 * HOUR,
    )  # fmt: skip
    assert kept.offered_until == offer.until == later(now, 125)  # two hours, the house's number for it
    assert Hold.objects.filter(booking=kept).count() == 1
    assert codes(cast["bente"]) == ["bookings.offered"] and codes(cast["cas"]) == []
    entry = Entry.objects.get(code="bookings.offered")
    assert (entry.about_id, entry.facts["until"]) == (kept.pk, offer.until.isoformat())


def test_a_taken_offer_is_booked_like_anything_else(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    offer = offer_of(wish)
    booking = actions.accept(offer=offer, now=later(now, 1), by=cast["bente"])
    assert booking.offered_until is None and booking.cancelled_at is None
    assert state(wish) == "served" and Offer.objects.get().answer == "taken"
    assert sorted(codes(cast["bente"])) == ["bookings.booked"]  # the reminder would be due before now
    assert actions.accept(offer=offer, now=later(now, 2), by=cast["bente"]).pk == booking.pk
    assert Entry.objects.filter(code="bookings.offer_taken").count() == 1
    with pytest.raises(Refused) as caught:
        actions.decline(offer=offer, now=later(now, 3), by=cast["bente"])
    assert caught.value.refusal.code == "bookings.offer_taken"


def test_a_reminder_comes_with_what_is_taken_early_enough(house, now, cast):
    long_before = now - timedelta(days=3)
    taken, wish = full(house, cast["adri"], long_before), wait(cast["bente"], long_before)
    actions.cancel(booking=taken, now=long_before, by=cast["adri"])
    actions.accept(offer=offer_of(wish), now=long_before, by=cast["bente"])
    assert sorted(codes(cast["bente"])) == ["bookings.booked", "bookings.reminder"]


def test_a_declined_offer_goes_to_the_next_and_the_wish_keeps_its_place(house, now, cast):
    taken = full(house, cast["adri"], now)
    whole_day = {"not_before": None, "not_after": None}
    first, second = wait(cast["bente"], now, **whole_day), wait(cast["cas"], later(now, 1))
    block = [full(house, cast["dirk"], now, start, hours) for start, hours in ((-3, 3), (2, 7))]
    actions.cancel(booking=taken, now=later(now, 2), by=cast["adri"])
    offer = offer_of(first)
    actions.decline(offer=offer, now=later(now, 3), by=cast["bente"])
    assert (state(first), state(second)) == ("waiting", "offered")
    assert offer_of(second).booking.starts == TOMORROW
    assert codes(cast["bente"]) == []  # its letter had not gone out and is called off
    # What was declined is not offered again; anything else is, and before everybody who came later.
    third = wait(cast["adri"], later(now, 4), **whole_day)
    actions.cancel(booking=block[1], now=later(now, 5), by=cast["dirk"])
    assert offer_of(first).booking.starts == TOMORROW + 2 * HOUR
    assert offer_of(third).booking.starts == TOMORROW + 4 * HOUR
    again = actions.decline(offer=offer, now=later(now, 6), by=cast["bente"])
    assert again.cancelled_at == later(now, 3)


def test_an_offer_that_runs_out_is_told_costs_the_place_and_the_second_ends_the_wish(house, now, cast):
    taken = full(house, cast["adri"], now)
    wish = wait(cast["bente"], now, not_before=None, not_after=None)
    other = full(house, cast["dirk"], now, 2, 7)
    full(house, cast["dirk"], now, -3, 3)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    behind = wait(cast["cas"], later(now, 10), not_before=None, not_after=None)
    assert actions.expire_offers(now=later(now, 119)) == 0
    assert actions.expire_offers(now=later(now, 120)) == 1
    assert actions.expire_offers(now=later(now, 120)) == 0
    booking = Booking.objects.get(offer__wish=wish)
    assert booking.cancelled_at == later(now, 120) and not booking.was_cancelled_late
    assert (state(wish), state(behind)) == ("waiting", "offered")
    assert codes(cast["bente"]) == ["bookings.offer_ran_out"]
    actions.decline(offer=offer_of(behind), now=later(now, 121), by=cast["cas"])
    # Behind whoever came meanwhile: the next free time goes to Cas first.
    actions.cancel(booking=other, now=later(now, 122), by=cast["dirk"])
    assert offer_of(behind).booking.starts == TOMORROW + 2 * HOUR
    assert offer_of(wish).booking.starts == TOMORROW + 4 * HOUR
    actions.expire_offers(now=later(now, 242))
    assert state(wish) == "ended" and codes(cast["bente"]).count("bookings.offer_ran_out") == 2
    facts = Entry.objects.filter(code="bookings.offer_ran_out", facts__member=cast["bente"].pk).latest("pk").facts
    assert (facts["waits"], facts["times"]) == (False, 2)


def test_an_answer_after_the_time_is_up_is_refused_even_before_the_sweep(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    offer = offer_of(wish)
    for answer in (actions.accept, actions.decline):
        with pytest.raises(Refused) as caught:
            answer(offer=offer, now=offer.until, by=cast["bente"])
        assert caught.value.refusal.code == "bookings.offer_over"
    actions.expire_offers(now=offer.until)
    with pytest.raises(Refused) as caught:
        actions.accept(offer=offer, now=offer.until, by=cast["bente"])
    assert caught.value.refusal.code == "bookings.offer_over"


def test_an_offer_is_kept_no_longer_than_until_a_quarter_of_an_hour_before_it_begins(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    at = TOMORROW - timedelta(minutes=30)
    actions.cancel(booking=taken, now=at, by=cast["adri"])
    assert offer_of(wish).until == TOMORROW - timedelta(minutes=15)


def test_nothing_is_offered_that_begins_within_half_an_hour(house, now, cast):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now)
    actions.cancel(booking=taken, now=TOMORROW - timedelta(minutes=29), by=cast["adri"])
    assert offer_of(wish) is None and state(wish) == "waiting"
    assert actions.serve_all(now=TOMORROW - timedelta(minutes=29)) == 0


def test_a_long_time_that_becomes_free_serves_several(house, now, cast):
    taken = full(house, cast["adri"], now, 0, 4)
    wishes = [wait(cast[name], now, not_after=17 * 60) for name in ("bente", "cas", "dirk")]
    actions.cancel(booking=taken, now=now, by=cast["adri"])
    starts = [offer and offer.booking.starts for offer in map(offer_of, wishes)]
    assert starts == [TOMORROW, TOMORROW + 2 * HOUR, None]


@pytest.mark.parametrize("how", ["shortened", "moved", "released", "declined by cancelling"])
def test_every_act_that_gives_time_back_serves_the_line(house, now, cast, how):
    taken, wish = full(house, cast["adri"], now), wait(cast["bente"], now, Need(kind="scanning station", length=60))
    at = now
    if how == "shortened":
        actions.change(booking=taken, new=actions.New(ends=TOMORROW + HOUR), now=now, by=cast["adri"])
    elif how == "moved":
        new = actions.New(starts=TOMORROW + 3 * HOUR, ends=TOMORROW + 5 * HOUR)
        actions.change(booking=taken, new=new, now=now, by=cast["adri"])
    elif how == "released":
        at = TOMORROW + timedelta(minutes=30)
        actions.release(booking=taken, now=at)
    else:
        first = wait(cast["cas"], now - timedelta(hours=1))
        actions.cancel(booking=taken, now=now, by=cast["adri"])
        assert offer_of(wish) is None
        actions.cancel(booking=offer_of(first).booking, now=now, by=cast["cas"])
        assert state(first) == "waiting"
    offer = offer_of(wish)
    assert offer is not None and offer.booking.starts >= at + timedelta(minutes=30)
