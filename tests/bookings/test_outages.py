"""Shutting over bookings, giving back, services: on both databases."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import Hold, Outage
from studiodesk.journal.models import Entry, Notice
from studiodesk.stations import actions as stations
from studiodesk.stations.models import KitItem, Lane, Resource, Service
from studiodesk.timekeeping import Span, merged
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked, refused


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


def span(start: float, end: float) -> Span:
    return Span(TOMORROW + start * HOUR, TOMORROW + end * HOUR)


def shut(things: list[Any], start: float, end: float, now: datetime, by: Any, **more: Any) -> Any:
    more = {"reason": "lamp", "cause": "fault"} | more
    return actions.shut(things=things, span=span(start, end), now=now, by=by, **more)


def kept(thing: Any, **of: Any) -> list[tuple[int, float, float]]:
    """(lane number, from, until) of a thing's holds, in hours of tomorrow's 13:00."""
    rows = Hold.objects.filter(lane__resource=thing.resource, **of).order_by("lane__number", "starts")
    return [
        (n, (a - TOMORROW) / HOUR, (b - TOMORROW) / HOUR)
        for n, a, b in rows.values_list("lane__number", "starts", "ends")
    ]


def test_a_processor_with_four_places_is_shut_around_the_two_that_are_booked(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    machine = house.processors["P-RC"]
    first, second = booked(house, adri, now, "E1"), booked(house, makers.member("Bente"), now, "E2", start=1)
    made = shut([machine], 0, 4, now, kim)
    assert [one.pk for one in made.hits] == [first.pk, second.pk]
    theirs = kept(machine, booking__isnull=False)
    out = kept(machine, outage=made.outage)
    lanes = Lane.objects.filter(resource=machine.resource).count()
    for number in range(1, lanes + 1):
        spans = [span(a, b) for n, a, b in [*theirs, *out] if n == number]
        assert merged(spans) == [span(0, 4)], "a place is free, or nobody keeps it"
    assert sum(b - a for _n, a, b in out) == 4 * 4 - 2 - 2
    assert (
        refused(house, makers.member("Cato"), now, "E3", start=3, hours=1).code == "bookings.processor_out_of_service"
    )
    assert refused(house, makers.member("Cato"), now, "E3", hours=1).code == "bookings.processor_out_of_service"
    assert [one.pk for one in queries.hits_of(made.outage, now)] == [first.pk, second.pk]


def test_everybody_who_is_hit_is_told_once_and_nobody_else(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    mine, _other = booked(house, adri, now), booked(house, makers.member("Bente"), now, "S1", process=None)
    shut([house.stations["E1"], house.processors["P-RC"]], 0, 4, now, kim)
    hit = Notice.objects.filter(code="bookings.hit")
    assert [(one.person, one.entry.about_id, one.entry.facts["reason"]) for one in hit] == [(adri, mine.pk, "lamp")]


def test_what_a_member_gives_back_of_a_hit_booking_falls_to_the_outage_and_nobody_can_book_it(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking, station, machine = booked(house, adri, now, hours=4), house.stations["E1"], house.processors["P-RC"]
    outage = shut([station, machine], 1, 6, now, kim).outage
    actions.change(booking=booking, new=actions.New(ends=TOMORROW + 2 * HOUR), now=now, by=adri)
    assert kept(station) == [(1, 0, 2.25), (1, 2.25, 4.25), (1, 4.25, 6)]
    assert kept(station, outage=outage) == [(1, 2.25, 4.25), (1, 4.25, 6)]
    assert {n for n, a, b in kept(machine, outage=outage) if (a, b) == (1, 6)} == {2, 3, 4}
    assert (1, 2, 4) in kept(machine, outage=outage)
    assert refused(house, makers.member("Bente"), now, start=3, hours=1).code == "bookings.out_of_service"
    assert [one.pk for one in queries.hits_of(outage, now)] == [booking.pk]  # an hour of it is left in there
    actions.change(booking=booking, new=actions.New(ends=TOMORROW + 0.75 * HOUR), now=now, by=adri)
    assert queries.hits_of(outage, now) == []
    with pytest.raises(Refused) as caught:
        actions.change(booking=booking, new=actions.New(ends=TOMORROW + 2 * HOUR), now=now, by=adri)
    assert caught.value.refusal.code == "bookings.out_of_service"


def test_a_cancelled_booking_cannot_be_taken_back_into_an_outage(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now, "S1", process=None)
    outage = shut([house.stations["S1"]], 0, 4, now, kim).outage
    actions.cancel(booking=booking, now=now, by=adri)
    assert kept(house.stations["S1"], outage=outage) == [(1, 0, 2), (1, 2, 4)]
    with pytest.raises(Refused) as caught:
        actions.undo_last_change(booking=booking, now=now, by=adri)
    assert caught.value.refusal.code == "bookings.out_of_service"


def test_an_outage_over_an_outage_takes_over_when_the_first_lets_go(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    station = house.stations["S1"]
    first = shut([station], 0, 4, now, kim).outage
    second = shut([station], 2, 6, now, kim, reason="paint", cause="closure").outage
    assert kept(station) == [(1, 0, 4), (1, 4, 6)]
    actions.end_early(outage=first, now=now, by=kim)
    assert not Outage.objects.filter(pk=first.pk).exists()  # it had not begun
    assert kept(station, outage=second) == [(1, 2, 4), (1, 4, 6)]
    assert booked(house, adri, now, "S1", process=None).pk
    actions.reopen(thing=station, span=span(3, 5), now=now, by=kim)
    assert kept(station, booking__isnull=True) == [(1, 2, 3), (1, 5, 6)]
    left = Outage.objects.order_by("starts")
    assert [(one.starts, one.ends, one.reason) for one in left] == [
        (span(2, 3).starts, span(2, 3).ends, "paint"),
        (span(5, 6).starts, span(5, 6).ends, "paint"),
    ]
    assert [Hold.objects.get(outage=one).starts for one in left] == [TOMORROW + 2 * HOUR, TOMORROW + 5 * HOUR]


def test_one_thing_of_several_is_put_back_and_the_others_stay_out(house: Any, kim: Any, now: datetime) -> None:
    scanner, booth = house.stations["S1"], house.stations["E2"]
    outage = shut([scanner, booth], 0, 50, now, kim).outage
    assert actions.reopen(thing=scanner, span=span(20, 30), now=now, by=kim, outage=outage) == 2
    outage.refresh_from_db()
    assert (outage.starts, outage.ends) == (TOMORROW, TOMORROW + 50 * HOUR)
    assert queries.things_of(outage) == [booth]
    parts = Outage.objects.exclude(pk=outage.pk).order_by("starts")
    assert [queries.things_of(one) for one in parts] == [[scanner], [scanner]]
    assert kept(scanner, outage=parts[0]) == [(1, 0, 20)]
    assert kept(scanner, outage=parts[1]) == [(1, 30, 48), (1, 48, 50)]
    assert kept(booth, outage=outage) == [(1, 0, 24), (1, 24, 48), (1, 48, 50)]


def test_what_has_gone_by_stays_out_of_service_and_an_outage_that_began_ends_now(
    house: Any, kim: Any, now: datetime
) -> None:
    station, during = house.stations["S1"], TOMORROW + HOUR
    report = actions.report_fault(resource=station.resource, kind="lamp", now=now, by=kim)
    outage = shut([station], 0, 4, now, kim, report=report).outage
    assert not queries.open_faults(now).exists()
    actions.end_early(outage=outage, now=during, by=kim)
    outage.refresh_from_db()
    assert outage.ends == during and kept(station) == [(1, 0, 1)]
    report.refresh_from_db()
    assert (report.outage, report.settled_at, report.settled_by) == (outage, during, kim)
    with pytest.raises(Refused) as caught:
        actions.end_early(outage=outage, now=during, by=kim)
    assert caught.value.refusal.code == "bookings.outage_over"


def test_whoever_was_told_is_told_that_it_stands_after_all_and_whoever_was_not_is_not(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booked(house, adri, now, "S1", process=None)
    outage = shut([house.stations["S1"]], 0, 4, now, kim).outage
    actions.end_early(outage=outage, now=now, by=kim)
    assert Notice.objects.get(code="bookings.hit").state == Notice.State.CALLED_OFF
    assert not Notice.objects.filter(code="bookings.hit_no_more").exists()
    again = shut([house.stations["S1"]], 0, 4, now, kim).outage
    also = shut([house.stations["S1"]], 1, 2, now, kim).outage
    Notice.objects.filter(code="bookings.hit").update(state=Notice.State.SENT)
    actions.end_early(outage=again, now=now, by=kim)
    assert not Notice.objects.filter(code="bookings.hit_no_more").exists()  # the other one is still in its way
    actions.end_early(outage=also, now=now, by=kim)
    assert Notice.objects.get(code="bookings.hit_no_more").person == adri


def test_a_service_shuts_exactly_what_needs_it_and_hits_exactly_who_is_there(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    def needs(code: str, *names: str) -> None:
        one = house.stations[code]
        stations.describe_station(
            code=code, name=one.name, kind=one.kind, processes=one.processes.all(), needs=names, clear_up_minutes=15
        )

    needs("E2", "Extraction", "water")
    machine = house.processors["P-CO"]
    stations.describe_processor(
        code="P-CO",
        name=machine.name,
        process=machine.process,
        feed_width_mm=406,
        booths_at_once=2,
        warm_up_minutes=45,
        dry_to_dry_minutes=6,
        now=now,
        needs=["extraction"],
    )
    by_station = booked(house, adri, now, "E2")
    by_processor = booked(house, makers.member("Bente"), now, "E1", process="ra4")
    booked(house, makers.member("Cato"), now, "S1", process=None)
    booked(house, makers.member("Dirk"), now, "E3")
    # Names differ in their capitals only: it is one service to whoever shuts it.
    extraction = Service.objects.get(name="Extraction")
    made = actions.shut_service(service=extraction, span=span(0, 4), reason="filter", now=now, by=kim)
    assert queries.things_of(made.outage) == [house.stations["E2"], machine] or {
        thing.code for thing in queries.things_of(made.outage)
    } == {"E2", "P-CO"}
    assert {one.pk for one in made.hits} == {by_station.pk, by_processor.pk}
    assert (made.outage.service, made.outage.cause) == (extraction, "service")
    assert refused(house, adri, now, "E1", start=2.5, hours=1.5, process="ra4").code == (
        "bookings.processor_out_of_service"
    )
    assert booked(house, adri, now, "E1", start=2.5, hours=1.5).pk  # black-and-white does without it
    heating = Service.objects.create(name="heating")
    with pytest.raises(Refused) as caught:
        actions.shut_service(service=heating, span=span(0, 4), reason="", now=now, by=kim)
    assert caught.value.refusal.code == "bookings.nothing_needs_it"


def test_kit_is_shut_like_anything_else(house: Any, adri: Any, kim: Any, now: datetime) -> None:
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
    made = shut([lens], 1, 3, now, kim)
    assert [one.pk for one in made.hits] == [booking.pk]
    assert kept(lens, outage=made.outage) == [(1, 2, 3), (2, 1, 3)]


def test_who_has_left_and_what_is_over_is_hit_by_nothing(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    actions.arrive(booking=booking, now=TOMORROW, by=adri)
    during = TOMORROW + HOUR
    actions.leave(booking=booking, now=during, by=adri)
    assert shut([house.stations["E1"]], 0, 6, during, kim).hits == []
    assert queries.who_is_hit([house.stations["E1"].resource_id], span(0, 6), TOMORROW + 2 * HOUR) == []


def test_the_desk_counts_what_is_unsettled_by_outage_and_asks_no_more_when_nothing_is_left(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    both = shut([house.stations["E1"], house.processors["P-RC"]], 0, 4, now, kim).outage
    shut([house.stations["S1"]], 0, 4, now, kim)
    assert [(one.pk, one.hits) for one in queries.unsettled(now)] == [(both.pk, 1)]
    assert queries.outages_hitting(booking, now) == [both]
    assert not queries.unsettled(TOMORROW + 3 * HOUR).exists()  # it is over
    actions.cancel(booking=booking, now=now, by=adri)
    assert not queries.unsettled(now).exists()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"things": []}, "bookings.nothing_to_close"),
        ({"now": TOMORROW + 4 * HOUR}, "bookings.in_the_past"),
    ],
)
def test_what_cannot_be_shut_is_refused_and_writes_nothing(
    house: Any, kim: Any, now: datetime, change: dict[str, Any], code: str
) -> None:
    asked = {"things": [house.stations["S1"]], "now": now, "by": kim} | change
    with pytest.raises(Refused) as caught:
        actions.shut(span=span(0, 4), reason="x", cause="closure", **asked)
    assert caught.value.refusal.code == code
    with pytest.raises(Refused) as caught:
        actions.shut(span=span(0, 4), reason="x", cause="closure", **(asked | {"by": makers.member("Bente")}))
    assert caught.value.refusal.code == "bookings.not_yours_to_close"
    assert (Outage.objects.count(), Hold.objects.count()) == (0, 0)
    assert not Entry.objects.filter(code="bookings.closed").exists()


def test_closures_from_before_there_were_outages_are_given_back_as_ever(house: Any, kim: Any, now: datetime) -> None:
    station = house.stations["S1"]
    lane = station.resource.lanes.get()
    Hold.objects.create(lane=lane, starts=TOMORROW, ends=TOMORROW + 4 * HOUR, cause="closure", reason="old")
    outage = shut([station], 2, 6, now, kim).outage
    assert kept(station, outage=outage) == [(1, 4, 6)]
    actions.reopen(thing=station, span=span(1, 3), now=now, by=kim)
    assert kept(station, outage__isnull=True) == [(1, 0, 1), (1, 3, 4)]
    assert kept(station, outage__isnull=False) == [(1, 4, 6)]
    assert [(o.starts - TOMORROW) / HOUR for o in Outage.objects.all()] == [3.0]
    with pytest.raises(Refused) as caught:
        actions.reopen(thing=house.stations["E2"], span=span(1, 3), now=now, by=kim)
    assert caught.value.refusal.code == "bookings.not_closed"
