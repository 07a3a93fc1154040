"""Bookings that cannot stay: where they could go, moved one by one and all at once, cancelled; on both databases."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import Booking, Hold
from studiodesk.bookings.queries.hit import Option
from studiodesk.journal.models import Notice
from studiodesk.stations import actions as stations
from studiodesk.stations.models import KitItem, Lane, Resource
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked
from tests.bookings.test_outages import shut, span


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


def moves(booking: Booking, house: Any, now: datetime, by: Any) -> list[tuple[str, float, str]]:
    found = queries.moves_of(booking, house.studio, now, by)
    return [(one.station.code, (one.starts - TOMORROW) / HOUR, one.why) for one in found]


def test_the_same_time_at_booths_that_do_the_same_comes_first(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    shut([house.stations["E1"]], 0, 4, now, kim)
    assert moves(booking, house, now, kim) == [
        ("E2", 0, "same time"),
        ("E3", 0, "same time"),
        ("E4", 0, "same time"),
    ]
    colour = booked(house, makers.member("Bente"), now, start=4.5, process="ra4")
    shut([house.stations["E1"]], 4, 7, now, kim)
    assert [code for code, _at, _why in moves(colour, house, now, kim)] == ["E3", "E4", "E1"]  # E2 does no colour


def test_when_nothing_equal_is_free_the_nearest_time_of_the_day_is_next(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now, "S1", process=None)
    shut([house.stations["S1"]], 0, 4, now, kim)
    # Open from -3 to 9; it is the day before, so nobody is asked to come earlier.
    assert moves(booking, house, now, kim)[0] == ("S1", 4, "same day")
    assert {why for _code, _at, why in moves(booking, house, now, kim)[1:]} == {"other day"}
    shut([house.stations["S1"]], 4, 9, now, kim)
    assert moves(booking, house, now, kim)[0] == ("S1", 24, "other day")


def test_a_processor_out_of_service_moves_to_another_that_runs_the_same_or_to_another_time(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    outage = shut([house.processors["P-RC"]], 1, 4, now, kim).outage
    assert moves(booking, house, now, kim)[0][1:] == (4, "same day")
    second, _new = stations.describe_processor(
        code="P-R2",
        name="Second RC",
        process=house.processes["rc"],
        feed_width_mm=508,
        booths_at_once=2,
        now=now,
    )
    best = queries.moves_of(booking, house.studio, now, kim)[0]
    assert (best.station.code, best.span, best.processor) == ("E1", span(0, 2), second)
    moved = actions.move_hit(booking=booking, option=best, outage=outage, now=now, by=kim)
    assert (moved.processor, moved.station) == (second, house.stations["E1"])
    assert queries.hits_of(outage, now) == []


def test_a_moved_booking_is_told_by_the_house_with_the_reason_and_its_time_falls_to_the_outage(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    outage = shut([house.stations["E1"]], 0, 4, now, kim).outage
    best = queries.moves_of(booking, house.studio, now, kim)[0]
    actions.move_hit(booking=booking, option=best, outage=outage, now=now, by=kim)
    booking.refresh_from_db()
    assert booking.station == house.stations["E2"]
    notice = Notice.objects.get(code="bookings.moved_by_house")
    assert (notice.person, notice.entry.facts["why"]) == (adri, "lamp")
    assert Notice.objects.get(code="bookings.hit").state == Notice.State.CALLED_OFF
    assert Hold.objects.filter(lane__resource=house.stations["E1"].resource, booking__isnull=False).count() == 0
    with pytest.raises(Refused) as caught:
        actions.move_hit(booking=booking, option=best, outage=outage, now=now, by=kim)
    assert caught.value.refusal.code == "bookings.not_hit"


def test_all_are_moved_in_one_go_each_somewhere_else_and_who_cannot_be_moved_stays(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    """Two booths for colour and light of their own kind: E1 is out, E3 and E4 share a room."""
    first = booked(house, adri, now, "E1", start=0, process="ra4")
    second = booked(house, makers.member("Bente"), now, "E1", start=2.25, process="ra4")
    third = booked(house, makers.member("Cato"), now, "E4", start=2.25, process="ra4")
    outage = shut([house.stations["E1"]], -3, 9, now, kim).outage
    plan = queries.hits_with_moves(queries.hits_of(outage, now), house.studio, now, kim)
    assert [(hit.booking.pk, hit.best.station.code, hit.best.why) for hit in plan if hit.best] == [
        (first.pk, "E3", "same time"),
        (second.pk, "E3", "same time"),
    ]
    done = actions.move_all(bookings=queries.hits_of(outage, now), outage=outage, now=now, by=kim)
    assert [(one.booking.pk, one.refusal) for one in done] == [(first.pk, None), (second.pk, None)]
    assert queries.hits_of(outage, now) == []
    third.refresh_from_db()
    assert third.station.code == "E4"


def test_the_parties_of_one_outage_are_never_shown_the_same_free_slot(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booths = [house.stations[code] for code in ("E1", "E2", "E3")]
    three = [booked(house, makers.member(f"M{n}"), now, f"E{n}") for n in (1, 2, 3)]
    outage = shut(booths, 0, 3, now, kim).outage
    plan = queries.hits_with_moves(queries.hits_of(outage, now), house.studio, now, kim)
    best = [(hit.best.station.pk, hit.best.span) for hit in plan if hit.best]
    assert len(best) == len(set(best)) == 3
    assert [hit.best.why for hit in plan if hit.best].count("same time") == 1  # E4 alone is left at that time
    chosen = {hit.booking.pk: hit.best for hit in plan if hit.best}
    done = actions.move_all(bookings=three, outage=outage, now=now, by=kim, chosen=chosen)
    assert [one.refusal for one in done] == [None, None, None], "what was shown together could not be had together"


def test_what_is_gone_meanwhile_is_said_and_the_booking_stands_as_it_stood(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    outage = shut([house.stations["E1"]], 0, 4, now, kim).outage
    best = queries.moves_of(booking, house.studio, now, kim)[0]
    booked(house, makers.member("Bente"), now, "E2")
    done = actions.move_all(bookings=[booking], outage=outage, now=now, by=kim, chosen={booking.pk: best})
    assert done[0].refusal is not None
    assert done[0].refusal.code == "bookings.taken"
    none = actions.move_all(bookings=[booking], outage=outage, now=now, by=kim, chosen={})
    assert none[0].refusal is not None
    assert none[0].refusal.code == "bookings.no_move"
    booking.refresh_from_db()
    assert booking.station == house.stations["E1"]
    assert Hold.objects.filter(booking=booking, lane__resource=booking.station.resource).exists()
    assert queries.hits_of(outage, now) == [booking]


def test_nobody_is_moved_into_another_outage(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking = booked(house, adri, now, hours=3)
    outage = shut([house.stations["E1"]], 2, 4, now, kim).outage
    into = Option(house.stations["E1"], span(1, 4))  # partly its own time, which looks free to it
    with pytest.raises(Refused):
        actions.move_hit(booking=booking, option=into, outage=outage, now=now, by=kim)
    shorter = Option(house.stations["E1"], span(0, 2.5))
    with pytest.raises(Refused) as caught:
        actions.move_hit(booking=booking, option=shorter, outage=outage, now=now, by=kim)
    assert caught.value.refusal.code == "bookings.still_hit"
    booking.refresh_from_db()
    assert (booking.starts, booking.ends) == (span(0, 3).starts, span(0, 3).ends)
    assert actions.move_hit(
        booking=booking, option=Option(house.stations["E1"], span(0, 1.75)), outage=outage, now=now, by=kim
    ).ends == (TOMORROW + 1.75 * HOUR)


def test_who_is_in_changes_booths_for_the_rest_of_the_stay(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking = booked(house, adri, now, hours=3)
    actions.arrive(booking=booking, now=TOMORROW, by=kim)
    during = TOMORROW + HOUR
    made = shut([house.stations["E1"]], 1, 6, during, kim)
    assert [one.pk for one in made.hits] == [booking.pk]
    found = moves(booking, house, during, kim)
    assert found[0] == ("E2", 0, "same time")
    assert {at for _code, at, _why in found} == {0}, "what has begun keeps its beginning"
    best = queries.moves_of(booking, house.studio, during, kim)[0]
    actions.move_hit(booking=booking, option=best, outage=made.outage, now=during, by=kim)
    booking.refresh_from_db()
    assert (booking.station, booking.starts, booking.arrived_at) == (house.stations["E2"], TOMORROW, TOMORROW)
    theirs = Hold.objects.get(booking=booking, lane__resource=house.stations["E2"].resource)
    assert (theirs.starts, theirs.ends) == (during, TOMORROW + 3.25 * HOUR)
    freed = Hold.objects.filter(lane__resource=house.stations["E1"].resource).order_by("starts")
    assert {one.outage for one in freed if one.ends > during} == {made.outage}


def test_who_needed_what_is_broken_may_keep_the_time_without_it(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    resource = Resource.objects.create(sort=Resource.Sort.KIT)
    Lane.objects.bulk_create(Lane(resource=resource, number=number) for number in (1, 2))
    lens = KitItem.objects.create(code="L80", name="80 mm lens", resource=resource, pieces=2)
    booking = actions.book(
        member=adri,
        station=house.stations["S1"],
        process=None,
        starts=TOMORROW,
        ends=TOMORROW + 2 * HOUR,
        kit={lens: 1},
        now=now,
        by=adri,
    )
    outage = shut([lens], 0, 3, now, kim).outage
    first, second, *_others = queries.moves_of(booking, house.studio, now, kim)
    assert (first.why, first.without, first.span) == ("without kit", (lens,), span(0, 2))
    assert (second.why, second.without) == ("same day", ())
    key = queries.option_of(first.key)
    assert key is not None
    actions.move_hit(booking=booking, option=key, outage=outage, now=now, by=kim)
    assert not booking.kit.exists() and queries.hits_of(outage, now) == []


def test_the_house_cancels_what_cannot_be_moved_and_says_so(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking, other = booked(house, adri, now), booked(house, makers.member("Bente"), now, "E2")
    outage = shut([house.stations["E1"]], 0, 4, now, kim).outage
    with pytest.raises(Refused) as caught:
        actions.cancel_hit(booking=other, outage=outage, now=now, by=kim)
    assert caught.value.refusal.code == "bookings.not_hit"
    for _twice in range(2):
        actions.cancel_hit(booking=booking, outage=outage, now=now, by=kim)
    notice = Notice.objects.get(code="bookings.cancelled_by_house")
    assert (notice.person, notice.entry.facts["reason"]) == (adri, "lamp")
    assert [one.pk for one in queries.became(outage, [])] == [booking.pk]
    for act in (actions.cancel_hit, actions.move_all):
        more: Any = {"booking": booking} if act is actions.cancel_hit else {"bookings": [booking]}
        with pytest.raises(Refused) as caught:
            act(now=now, by=adri, outage=outage, **more)
        assert caught.value.refusal.code == "bookings.not_yours_to_move"


def test_bookings_outside_of_shortened_hours_are_listed_moved_and_told(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    late = booked(house, adri, now, start=6)  # 19:00 to 21:00
    early = booked(house, makers.member("Bente"), now, "E2")
    assert queries.out_of_hours(now, house.studio) == []
    stations.set_opening(week={day: [(600, 1200)] for day in range(1, 7)})  # until 20:00
    assert queries.out_of_hours(now, house.studio) == [late.pk]
    for _twice in range(2):
        assert actions.tell_house_closed(now=now, by=kim) == 1
    assert Notice.objects.get(code="bookings.house_closed").person == adri
    best = queries.moves_of(late, house.studio, now, kim)[0]
    assert best.ends <= TOMORROW + 7 * HOUR and best.station.code == "E1"
    actions.move_hit(booking=late, option=best, now=now, by=kim, reason="closing earlier")
    assert queries.hit_by_hours(now, house.studio) == []
    assert Notice.objects.get(code="bookings.house_closed").state == Notice.State.CALLED_OFF
    with pytest.raises(Refused) as caught:
        actions.cancel_hit(booking=early, now=now, by=kim)
    assert caught.value.refusal.code == "bookings.not_hit"


def test_days_that_were_closed_and_shifts_that_were_called_off_hit_whoever_is_booked(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    from studiodesk.stations.rules import Shut

    booking = booked(house, adri, now)
    stations.set_closures(closures=[Shut(TOMORROW.date(), TOMORROW.date(), "wiring")])
    assert queries.out_of_hours(now, house.studio) == [booking.pk]
    moved = actions.move_all(bookings=queries.hit_by_hours(now, house.studio), now=now, by=kim)
    assert moved[0].refusal is None and queries.out_of_hours(now, house.studio) == []
    booking.refresh_from_db()
    assert booking.starts == TOMORROW + 24 * HOUR


@pytest.mark.parametrize(
    "key", ["", "1-2", "1-2-3", "x-1-2-", "1-5-4-", "999999-1-2-", "1-1-2-x", "1-1-2-²", "1--1-2-"]
)
def test_a_move_that_was_not_shown_is_none(house: Any, key: str) -> None:
    assert queries.option_of(key) is None


def test_a_move_is_read_back_as_it_was_written(house: Any) -> None:
    option = Option(house.stations["E1"], Span(TOMORROW, TOMORROW + HOUR))
    found = queries.option_of(option.key)
    assert found is not None
    assert (found.station, found.span, found.without) == (option.station, option.span, ())
