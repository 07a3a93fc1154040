"""The demo shows something worth looking at, at any minute of any day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, FaultReport, Hold, Offer, Outage, Series, Visit, WaitingWish
from studiodesk.bookings.queries import outages, persons
from studiodesk.bookings.rules import own
from studiodesk.chemistry import queries as baths
from studiodesk.chemistry.queries import mixing
from studiodesk.classes.models import Meeting, Seat
from studiodesk.people.models import HouseKey, KeyLoan, Membership
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as hours_rules
from studiodesk.stations.models import Process, Service, ShiftSwap, Station
from studiodesk.tasks import do_chores
from studiodesk.timekeeping import Span, is_missing, studio_day, week_shifted
from studiodesk.upkeep.demo import Demo, build, hours, shifting
from tests.upkeep.taught import something_is_taught

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "ostermill"
ZONE = ZoneInfo("Europe/Amsterdam")
MOMENTS = {
    "an ordinary Friday afternoon": datetime(2026, 11, 27, 15, 3, tzinfo=UTC),
    "a closed Monday in the small hours": datetime(2026, 12, 7, 2, 12, 41, tzinfo=UTC),
    "two minutes before midnight on a Sunday": datetime(2027, 1, 3, 22, 58, tzinfo=UTC),
    "a Saturday evening after the house closed": datetime(2027, 1, 9, 18, 40, tzinfo=UTC),
    "just after midnight": datetime(2026, 11, 25, 23, 1, tzinfo=UTC),
    "the hour that the clock jumps over": datetime(2027, 3, 28, 1, 0, tzinfo=UTC),
    "the hour that comes twice": datetime(2027, 10, 31, 1, 20, tzinfo=UTC),
}


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
@pytest.mark.parametrize("now", MOMENTS.values(), ids=MOMENTS.keys())
def test_the_demo_has_people_in_one_late_baths_that_want_something_and_a_full_evening(
    db: Any, clock_at: Any, outbox: Any, now: datetime
) -> None:
    with clock_at(now):
        said: list[str] = []
        demo = build(now=now, example=EXAMPLE, seed=7, say=said.append)
        assert not [line for line in said if "left out" in line]
        here = Booking.objects.filter(
            cancelled_at=None, starts__lte=now, ends__gt=now, arrived_at__isnull=False, left_at=None
        )
        assert here.count() >= 2
        late = Booking.objects.filter(cancelled_at=None, starts__lt=now, ends__gt=now, arrived_at=None)
        assert late.count() >= 1
        lines = baths.standings(now)
        assert [line for line in lines if line.word == "tired"]
        assert [line for line in lines if line.replenishment_due]
        assert evening_is_full(now)

        client = Client()
        assert client.login(email=demo.cast.keyholder.email, password=demo.password)
        page = client.get("/desk/").content.decode()
        assert late[0].member.name in page and "<b>Give " in page and "Change soon:" in page
        for role, email in demo.cast.log_ins():
            assert Client().login(email=email, password=demo.password), role

        the_member_finds_something_of_everything(demo, now)
        the_member_cannot_print_fibre_alone_before_the_tutor_has_seen_it(demo, now)
        the_house_is_looked_after(demo, now)
        something_does_not_work(demo, now)
        something_is_mixed_and_something_to_order(demo, now)
        something_is_taught(demo, now)
        the_first_round_sends_few_letters_and_the_line_stands_as_it_stood(outbox, now)


def the_member_finds_something_of_everything(demo: Demo, now: datetime) -> None:
    member = demo.cast.member
    ahead = list(Booking.objects.filter(member=member, cancelled_at=None, starts__gt=now).order_by("starts"))
    (offer,) = Offer.objects.filter(wish__member=member, answer="")
    assert offer.until > now + timedelta(minutes=30) and offer.booking.offered_until == offer.until
    (series,) = Series.objects.filter(member=member)
    assert len([one for one in ahead if one.series_id == series.pk]) == 5
    assert not any(before.ends > after.starts for before, after in pairwise(ahead))
    (film,) = (one for one in ahead if one.station.kind == "film sink")
    assert film.holds.filter(lane__resource__kit__code="CABINET", ends=film.ends + timedelta(minutes=90)).exists()
    assert len(ahead) == 10

    day = studio_day(now, ZONE)
    rules = persons.rules_for(member, now)
    month = [persons.own_stay(one, now) for one in Booking.objects.filter(member=member, cancelled_at=None)]
    limit = rules.limit("month_hours")
    assert limit is not None and own.used_in_month(month, day, rules, ZONE) < timedelta(hours=limit)
    assert Membership.objects.filter(last_day=day + timedelta(days=10)).count() == 1

    client = Client()
    assert client.login(email=member.email, password=demo.password)
    page = client.get("/waiting/").content.decode()
    assert "Take it" in page and offer.booking.station.name in page


def the_member_cannot_print_fibre_alone_before_the_tutor_has_seen_it(demo: Demo, now: datetime) -> None:
    fibre, booth = Process.objects.get(code="fb"), Station.objects.get(code="E1")
    helped = stations.supervised_spans(Span(now, now + timedelta(days=14)))
    stays = (
        Span(opening.starts + timedelta(hours=1), opening.starts + timedelta(hours=3))
        for days in range(1, 14)
        for opening in hours_rules.open_spans(studio_day(now, ZONE) + timedelta(days=days), stations.hours(), ZONE)
        if opening.length >= timedelta(hours=4)
    )
    alone = next(stay for stay in stays if not any(span.covers(stay) for span in helped))
    member = demo.cast.member
    with pytest.raises(Refused) as caught:
        bookings.book(
            member=member, station=booth, process=fibre, starts=alone.starts, ends=alone.ends, now=now, by=member
        )
    assert caught.value.refusal.code == "bookings.no_sign_off_yet"
    assert Booking.objects.filter(process=fibre, starts__lte=now, ends__gt=now, arrived_at__isnull=False).exists()


def the_house_is_looked_after(demo: Demo, now: datetime) -> None:
    keyholder = demo.cast.keyholder
    assert [one.person for one in stations.on_now(now) if one.starts <= now < one.ends] == [keyholder]
    assert Visit.objects.filter(person=keyholder, left_at=None, kind="keyholder").exists()
    assert Visit.objects.filter(kind="walk-in", left_at=None).exists()
    note = stations.last_note()
    assert note is not None and note.hand_over
    everything = list(stations.shifts(Span(now, now + timedelta(weeks=4))))
    assert everything[-1].ends > now + timedelta(days=25)
    for within in (timedelta(hours=48), timedelta(days=5)):
        if any(now < one.starts <= now + within for one in everything):
            assert [one for one in stations.uncovered(now) if one.starts <= now + within]
    assert sum(one.person_id is None for one in everything) <= 2
    assert ShiftSwap.objects.filter(settled_at=None).count() == 1
    assert not stations.studio().opens_by_shifts
    assert sorted(key.sort for key in HouseKey.objects.all()) == ["fob"] * 2 + ["key"] * 4
    assert KeyLoan.objects.filter(back_at=None).count() >= 3


def something_does_not_work(demo: Demo, now: datetime) -> None:
    (fault,) = FaultReport.objects.filter(settled_at=None, outage=None)
    out = Outage.objects.get(cause="fault")
    assert len(outages.hits_of(out, now)) >= 2
    assert {"water", "hot water", "power", "extraction"} <= set(Service.objects.values_list("name", flat=True))
    client = Client()
    assert client.login(email=demo.cast.staff.email, password=demo.password)
    page = client.get("/desk/").content.decode()
    assert fault.resource.station.name in page and f"/out/{out.pk}/" in page
    assert "Move" in client.get(f"/out/{out.pk}/").content.decode()


def something_is_mixed_and_something_to_order(demo: Demo, now: datetime) -> None:
    boxes = mixing.contents(mixing.containers(), now).values()
    assert sum(one.mix is not None and not one.is_past and one.use_by is not None for one in boxes) == 3
    kinds = {one.kind for one in baths.open_alerts(now).now if one.product}
    assert kinds == {"reorder", "expired"}
    client = Client()
    assert client.login(email=demo.cast.keyholder.email, password=demo.password)
    for address in (
        "/mixing/",
        "/mixing/developer-1-9/?amount=2&unit=L",
        "/mixing/mix/1/",
        "/stock/",
        "/stock/stop-conc/",
    ):
        assert client.get(address).status_code == 200, address


def the_first_round_sends_few_letters_and_the_line_stands_as_it_stood(outbox: Any, now: datetime) -> None:
    line = list(WaitingWish.objects.values_list("pk", "state"))
    assert [state for _pk, state in line].count("waiting") == 2
    done = do_chores(now)
    assert not done.failed and 0 < done.answers["letters"].sent < 20
    assert len(outbox) == done.answers["letters"].sent
    assert list(WaitingWish.objects.values_list("pk", "state")) == line


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_the_same_moment_and_seed_give_the_same_studio(db: Any, clock_at: Any) -> None:
    now = datetime(2026, 11, 27, 15, 3, tzinfo=UTC)

    def told() -> list[Any]:
        with clock_at(now), transaction.atomic():
            build(now=now, example=EXAMPLE, seed=3)
            facts = ("member__number", "station__code", "process__code", "starts", "ends", "made_at", "cancelled_at")
            found = sorted(Booking.objects.values_list(*facts, "arrived_at", "left_at", "offered_until"), key=repr)
            seats = ("course__title", "number", "name", "place__made_at", "attendance__station__code")
            found += sorted(Seat.objects.values_list(*seats), key=repr)
            found += Meeting.objects.values_list("course__title", "stay__starts", "notes").order_by("pk")
            transaction.set_rollback(True)
        return found

    assert told() == told()


def evening_is_full(now: datetime) -> bool:
    """In some two hours of the next day and a half every booth of some kind of process is taken."""
    booths = [station for station in stations.stations() if station.processes.all()]
    lanes = {lane for booth in booths for lane in booth.resource.lanes.values_list("pk", flat=True)}
    for quarter in range(36 * 4):
        starts = now + quarter * timedelta(minutes=15)
        taken = Hold.objects.filter(lane__in=lanes, starts__lt=starts + timedelta(hours=1), ends__gt=starts)
        if len(set(taken.values_list("lane", flat=True))) >= len(lanes) - 1 and starts > now + timedelta(minutes=30):
            return True
    return False


@given(st.datetimes(datetime(2026, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)))
def test_the_lengthened_hours_hold_the_present_on_any_day(now: datetime) -> None:
    week = hours.lengthened({1: [(780, 1320)], 4: [(600, 1320)]}, now, ZONE)
    first = (now - timedelta(days=1)).date()
    opened = hours_rules.open_around(first, first + timedelta(days=3), hours_rules.Hours(week), ZONE)
    assert any(span.covers(Span(now - timedelta(hours=3), now + timedelta(hours=3))) for span in opened)


@given(st.integers(-200, 400), st.datetimes(datetime(2026, 8, 1), datetime(2026, 11, 24), timezones=st.just(UTC)))
def test_a_shifted_booking_stands_at_the_same_hour_of_the_same_weekday(weeks: int, moment: datetime) -> None:
    moment = moment.replace(second=0, microsecond=0)
    wall = moment.astimezone(ZONE).replace(tzinfo=None)
    target = wall + timedelta(weeks=weeks)
    moved = week_shifted(moment, weeks, ZONE).astimezone(ZONE).replace(tzinfo=None)
    if not is_missing(target, ZONE):
        assert moved == target
    assert moved.weekday() == wall.weekday()


@given(st.datetimes(datetime(2025, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)))
def test_the_history_ends_within_the_last_week_and_never_after_now(now: datetime) -> None:
    last = datetime(2026, 11, 24, 20, 30, tzinfo=UTC)
    weeks = shifting.weeks_to(now, last, ZONE)
    moved = week_shifted(last, weeks, ZONE)
    assert timedelta(0) <= now - moved <= timedelta(days=7, hours=1)
