"""The search on the real database: every offer can be booked, nothing that could be had is missed."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.rules.needs import Need
from studiodesk.people.models import Membership, MembershipPlan
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote, SignOffNeed
from studiodesk.stations import actions as house_acts
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Shift
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings import test_finding as small
from tests.bookings.small_world import NOW, OPENING, QUANTA, QUANTUM, STATIONS, Wanted, build

DAY = OPENING.date()


def search(who: Any, need: Need, now: datetime = NOW, **more: Any) -> list[queries.Found]:
    house = queries.house_map(who)
    return queries.search(need, studio=stations.studio(), house=house, member=who, now=now, by=who, **more)


def preview_of(who: Any, one: queries.Found, now: datetime = NOW) -> Any:
    wanted = queries.Wanted(who, one.station, one.process, Span(one.starts, one.ends), one.kit)
    return queries.preview(wanted, now=now, by=who).refusal


def test_every_offer_passes_the_preview_and_what_could_be_had_is_never_missed(db: Any) -> None:
    """Against the model of the small world, which counts quanta and shares no line with the search."""
    world, dice, offered = build(), random.Random(7), 0
    who = world.people[0]
    for _ in range(10):
        with transaction.atomic():
            model = small.filled(world, dice)
            for process, length in (("dark", 1), ("dark", 3), ("safe", 2), ("", 2)):
                need = Need(process=process, kind="booth", length=15 * length, first_day=DAY, last_day=DAY)
                found = search(who, need)
                offered += len(found)
                assert [preview_of(who, one) for one in found] == [None] * len(found)
                could = [
                    code
                    for code in STATIONS
                    for first in range(QUANTA)
                    if model.accepts(Wanted(code, process or None, first, length))
                ]
                assert {one.station.code for one in found} == set(could), f"{process} {length}: {model.standing}"
            transaction.set_rollback(True)
    assert offered > 60, "hardly anything was offered: this proved little"


def test_beside_a_friend_both_stations_can_be_booked(db: Any) -> None:
    world, dice, pairs = build(), random.Random(11), 0
    adri, bente = world.people
    for _ in range(8):
        with transaction.atomic():
            model = small.filled(world, dice)
            need = Need(process="dark", length=30, first_day=DAY, last_day=DAY, beside=True)
            for one in search(adri, need):
                pairs += 1
                with transaction.atomic():
                    for who, station in ((adri, one.station), (bente, one.beside)):
                        assert station is not None
                        actions.book(
                            member=who,
                            station=station,
                            process=one.process,
                            starts=one.starts,
                            ends=one.ends,
                            now=NOW,
                            by=who,
                        )
                    transaction.set_rollback(True)
            assert model.standing is not None
            transaction.set_rollback(True)
    assert pairs > 5, "hardly ever two were free: this proved nothing"


def test_beside_a_friend_needs_two_places_and_room_for_two(db: Any) -> None:
    """One place at the "safe" processor: two of them never work at it at once, though two booths are free."""
    world = build()
    who = world.people[0]
    assert search(who, Need(process="safe", length=30, first_day=DAY, last_day=DAY))
    assert search(who, Need(process="safe", length=30, first_day=DAY, last_day=DAY, beside=True)) == []
    # Heads: three at once.  With two scanners taken for all of the time there is room for one, not for two.
    for code in ("S", "T"):
        small.book(world, Wanted(code, None, 0, QUANTA))
    assert search(who, Need(process="dark", length=30, first_day=DAY, last_day=DAY))
    assert search(who, Need(process="dark", length=30, first_day=DAY, last_day=DAY, beside=True)) == []


def kit(code: str, pieces: int, **more: Any) -> KitItem:
    item, _made = house_acts.describe_kit(code=code, name=code.title(), pieces=pieces, now=NOW, **more)
    return item


def test_with_kit_only_times_at_which_enough_pieces_are_free(db: Any) -> None:
    world = build()
    adri, bente = world.people
    tank = kit("TANK", 2)

    def tanks(pieces: int, first: int, length: int, code: str) -> None:
        actions.book(
            member=bente,
            station=world.stations[code],
            process=None,
            starts=OPENING + first * QUANTUM,
            ends=OPENING + (first + length) * QUANTUM,
            now=NOW,
            by=bente,
            kit={tank: pieces},
        )

    tanks(1, 0, 3, "S")
    need = Need(kind="booth", length=30, first_day=DAY, last_day=DAY)
    one, two = (Need(**{**need.__dict__, "kit": (("TANK", n),)}) for n in (1, 2))
    assert min(f.starts for f in search(adri, one)) == OPENING
    assert min(f.starts for f in search(adri, two)) == OPENING + 3 * QUANTUM
    assert all(preview_of(adri, found) is None for found in search(adri, two))
    tanks(2, 4, 4, "T")
    assert search(adri, two) == [], "both are free for a quarter of an hour alone"


def test_drying_that_outlasts_the_booking_is_looked_at_too(db: Any) -> None:
    world = build()
    adri, bente = world.people
    cabinet = kit("DRY", 1, from_end_minutes=0, outlasts_minutes=45)
    actions.book(
        member=bente,
        station=world.stations["S"],
        process=None,
        starts=OPENING,
        ends=OPENING + QUANTUM,
        now=NOW,
        by=bente,
        kit={cabinet: 1},
    )
    found = search(adri, Need(kind="booth", length=15, first_day=DAY, last_day=DAY, kit=(("DRY", 1),)))
    # The other's is kept from the first quantum's end for three: ours may end no sooner than that is over.
    assert min(one.ends for one in found) == OPENING + 4 * QUANTUM
    assert all(preview_of(adri, one) is None for one in found)


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def rule(code: str, value: int, now: datetime) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=date(2026, 1, 1), now=now, by=None)


RC = Need(process="rc", length=120)


def test_the_times_are_spread_over_days_and_stations(house: Any, adri: Any, now: datetime) -> None:
    found = search(adri, RC, now)
    days = [one.starts.date() for one in found]
    assert len(found) == 10
    assert len(set(days)) >= 5
    assert len({one.station.code for one in found}) >= 3
    assert all(2 <= len(one.reasons) <= 4 for one in found)
    assert [one.starts for one in found] == sorted(one.starts for one in found)
    assert all(one.one_tap for one in found)


def test_what_a_rule_of_the_house_refuses_is_left_out(house: Any, adri: Any, now: datetime) -> None:
    rule("days_ahead", 1, now)
    found = search(adri, RC, now)
    assert {one.starts.date().day for one in found} == {25, 26}
    assert all(preview_of(adri, one, now) is None for one in found)


def test_if_a_rule_refuses_everything_some_are_shown_with_its_sentence(house: Any, adri: Any, now: datetime) -> None:
    rule("membership_needed", 1, now)
    found = search(adri, RC, now)
    assert {one.refusal.code for one in found if one.refusal} == {"bookings.no_membership"}
    assert len(found) == 3
    assert not any(one.one_tap for one in found)


def test_a_membership_that_ends_within_the_days_searched_ends_the_offers(house: Any, adri: Any, now: datetime) -> None:
    rule("membership_needed", 1, now)
    plan = MembershipPlan.objects.create(code="month", name="Month")
    Membership.objects.create(
        member=adri, plan=plan, first_day=date(2026, 11, 1), last_day=date(2026, 11, 27), made_at=now
    )
    found = search(adri, RC, now)
    assert found
    assert {one.starts.date().day for one in found} == {25, 26, 27}
    assert all(preview_of(adri, one, now) is None for one in found)


def test_hours_of_a_month_are_counted_in_the_month_of_the_offer(house: Any, adri: Any, now: datetime) -> None:
    rule("month_hours", 3, now)
    actions.book(
        member=adri,
        station=house.stations["E1"],
        process=house.processes["rc"],
        starts=now + timedelta(hours=3),
        ends=now + timedelta(hours=5),
        now=now,
        by=adri,
    )
    found = search(adri, RC, now)
    assert found
    assert {one.starts.month for one in found} == {12}
    assert all(preview_of(adri, one, now) is None for one in found)


def test_a_beginner_is_offered_supervised_times_and_they_are_marked(house: Any, adri: Any, now: datetime) -> None:
    SignOffNeed.objects.create(kind="enlarger booth", made_at=now)
    none = search(adri, RC, now)
    assert {one.refusal.code for one in none if one.refusal} == {"bookings.no_sign_off"}
    tutor = makers.member("Tut", is_tutor=True)
    starts = datetime(2026, 11, 27, 14, tzinfo=now.tzinfo)
    Shift.objects.create(starts=starts, ends=starts + timedelta(hours=4), person=tutor, supervises=True, made_at=now)
    found = search(adri, RC, now)
    assert found
    assert all(starts <= one.starts and one.ends <= starts + timedelta(hours=4) for one in found)
    assert all("supervised" in one.reasons for one in found)
    assert all(preview_of(adri, one, now) is None for one in found)


def test_who_has_not_read_the_note_is_led_to_it(house: Any, adri: Any, now: datetime) -> None:
    note = SafetyNote.objects.create(
        processor=house.processors["P-RC"], version=1, title="N", body="Gloves.", published_at=makers.LONG_AGO
    )
    assert all(one.unread and not one.one_tap for one in search(adri, RC, now))
    SafetyAcknowledgement.objects.create(note=note, member=adri, acknowledged_at=now)
    assert all(one.one_tap for one in search(adri, RC, now))


def test_who_is_under_age_fills_in_an_adult_first(house: Any, adri: Any, now: datetime) -> None:
    adri.born_on = date(2010, 5, 1)
    adri.save()
    found = search(adri, RC, now)
    assert found
    assert all(one.asks_more and one.refusal is None and not one.one_tap for one in found)


@pytest.mark.parametrize("busy", [False, True])
def test_the_search_asks_the_same_few_queries_however_much_is_booked(
    house: Any, adri: Any, now: datetime, busy: bool
) -> None:
    rule("open_bookings", 50, now)
    SignOffNeed.objects.create(kind="enlarger booth", made_at=now)
    if busy:
        for start in range(10):
            actions.book(
                member=adri,
                station=house.stations["S1"],
                process=None,
                starts=now + timedelta(days=1, hours=start / 2 - 3),
                ends=now + timedelta(days=1, hours=start / 2 - 2.5),
                now=now,
                by=adri,
            )
    studio = stations.studio()
    with CaptureQueriesContext(connection) as seen:
        house_now = queries.house_map(adri)
        queries.search(RC, studio=studio, house=house_now, member=adri, now=now, by=adri)
    # With session, person and studio the page is at ten even for a beginner whose hours are counted.
    assert len(seen) == 7, [query["sql"] for query in seen.captured_queries]


def test_what_is_kept_as_usual_is_without_days_and_counts_for_the_ranking(house: Any, adri: Any, now: datetime) -> None:
    need = Need(process="rc", length=120, weekdays=(5,), first_day=DAY, last_day=DAY)
    actions.keep_usual(need=need, now=now, by=adri)
    actions.keep_usual(need=need, now=now, by=adri)
    kept = queries.usual_need(adri)
    assert kept == Need(process="rc", length=120, weekdays=(5,))
    usual = [one for one in search(adri, RC, now) if "usual_day" in one.reasons]
    assert usual
    assert {one.starts.weekday() for one in usual} == {5}
    actions.forget_usual(now=now, by=adri)
    assert queries.usual_need(adri) is None
    with pytest.raises(Refused):
        actions.keep_usual(need=Need(), now=now, by=adri)
