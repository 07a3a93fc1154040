"""Who has a place, who waits, who is asked: the rules alone."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.classes.rules import places
from studiodesk.classes.rules.places import ASKED, BOOKED, ENDED, OFFERED, WAITING, Party, Terms

ZONE = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 11, 1, 12, tzinfo=UTC)
STARTS = NOW + timedelta(days=20)
DAY = STARTS.date()


def terms(most: int = 8, **more: object) -> Terms:
    plain = {"heads_most": most, "starts": STARTS, "ends": STARTS + timedelta(hours=3), "free_cancel_days": 7}
    return Terms(**{**plain, **more})  # type: ignore[arg-type]


def party(key: int, heads: int = 1, state: str = WAITING, **more: object) -> Party:
    plain = {"in_line_since": NOW + timedelta(minutes=key)}
    return Party(key, heads, state, **{**plain, **more})  # type: ignore[arg-type]


def code(refusal: object) -> str | None:
    return getattr(refusal, "code", None)


def test_seats_are_those_of_whoever_booked_was_offered_or_has_still_to_confirm() -> None:
    many = [party(1, 2, BOOKED), party(2, 3, OFFERED), party(3, 1, ASKED), party(4, 4), party(5, 4, ENDED)]
    assert places.seats_left(terms(8), many) == 2
    assert places.fits(terms(8), many, 2) and not places.fits(terms(8), many, 3)


@pytest.mark.parametrize(
    ("more", "heads", "refused"),
    [
        ({}, 1, None),
        ({}, 8, None),
        ({}, 9, "classes.never_so_many"),
        ({"heads_most": 30}, 13, "classes.is_a_group"),
        ({}, 0, "classes.no_heads"),
        ({"is_off": True}, 1, "classes.called_off"),
        ({"drop_in": True}, 1, "classes.just_come"),
        ({"starts": NOW}, 1, "classes.has_begun"),
    ],
)
def test_who_may_sign_up(more: dict[str, object], heads: int, refused: str | None) -> None:
    most = more.pop("heads_most", 8)
    assert code(places.may_sign_up(terms(most, **more), NOW, heads=heads, day=DAY)) == refused  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("born", "adult", "refused"),
    [
        (date(2010, 11, 21), "", "classes.needs_adult"),  # 16 on that very day
        (date(2010, 11, 22), "", "classes.too_young"),
        (date(2010, 11, 22), "Somebody", "classes.too_young"),
        (date(2010, 11, 21), "Somebody", None),
        (date(2008, 11, 21), "", None),  # 18 on that very day
        (date(2008, 11, 22), "  ", "classes.needs_adult"),
    ],
)
def test_a_minor_comes_with_an_adult_and_not_below_the_age(born: date, adult: str, refused: str | None) -> None:
    assert date(2026, 11, 21) == DAY
    asked = places.may_sign_up(terms(minimum_age=16), NOW, heads=1, day=DAY, born=born, adult_name=adult)
    assert code(asked) == refused


def test_years_are_whole_and_a_leap_day_counts_from_the_first_of_march() -> None:
    assert places.age_on(date(2008, 2, 29), date(2026, 2, 28)) == 17
    assert places.age_on(date(2008, 2, 29), date(2026, 3, 1)) == 18


def test_the_first_in_line_whom_it_fits_is_asked_first() -> None:
    full = [party(9, 6, BOOKED)]
    waiting = [party(1, 3), party(2, 1), party(3, 2), party(4, 1)]
    assert [one.key for one in places.to_ask(terms(8), [*full, *waiting], NOW)] == [2, 4]
    assert [one.key for one in places.to_ask(terms(9), [*full, *waiting], NOW)] == [1]
    assert places.to_ask(terms(8, is_off=True), [*full, *waiting], NOW) == []


def test_two_who_got_in_line_at_one_instant_stand_as_they_signed_up() -> None:
    same = [party(7, in_line_since=NOW), party(3, in_line_since=NOW)]
    assert [one.key for one in places.line(same)] == [3, 7]


def test_an_offer_lasts_a_day_and_never_to_the_last_hour() -> None:
    assert places.offer_until(terms(), NOW) == NOW + timedelta(hours=24)
    soon = terms(starts=NOW + timedelta(hours=5))
    assert places.offer_until(soon, NOW) == NOW + timedelta(hours=4)
    assert places.offer_until(terms(starts=NOW + timedelta(hours=1)), NOW) is None
    assert places.to_ask(terms(starts=NOW + timedelta(hours=1)), [party(1)], NOW) == []


def test_an_offer_is_answered_in_time_or_not_at_all() -> None:
    offered = party(1, 1, OFFERED, until=NOW + timedelta(hours=1))
    assert places.may_answer(offered, NOW) is None
    assert code(places.may_answer(offered, NOW + timedelta(hours=1))) == "classes.offer_over"
    assert code(places.may_answer(party(1), NOW)) == "classes.no_offer"


def test_whoever_lets_two_offers_run_out_waits_no_longer() -> None:
    assert places.waits_on(party(1, offers_run_out=0))
    assert not places.waits_on(party(1, offers_run_out=1))


def test_terms_of_giving_a_place_up() -> None:
    booked = party(1, 1, BOOKED)
    assert not places.is_late(terms(), STARTS - timedelta(days=7), ZONE)
    assert places.is_late(terms(), STARTS - timedelta(days=7) + timedelta(seconds=1), ZONE)
    assert places.may_give_up(terms(), booked, STARTS - timedelta(seconds=1)) is None
    assert code(places.may_give_up(terms(), booked, STARTS)) == "classes.has_begun"
    assert places.may_give_up(terms(), booked, STARTS, by_house=True) is None
    assert code(places.may_give_up(terms(), party(1, 1, ENDED), NOW)) == "classes.place_ended"


def test_days_before_a_class_are_local_days_also_over_a_clock_change() -> None:
    """Summer time ends in the European Union on the last Sunday of October at 01:00 UTC (Directive 2000/84/EC)."""
    starts = datetime(2026, 10, 28, 18, tzinfo=UTC)  # 19:00 in Amsterdam, after the change
    until = datetime(2026, 10, 21, 17, tzinfo=UTC)  # 19:00 in Amsterdam, a week before
    assert not places.is_late(terms(starts=starts), until, ZONE)
    assert places.is_late(terms(starts=starts), until + timedelta(seconds=1), ZONE)


@pytest.mark.parametrize(
    ("state", "booked_at", "moved_at", "by_house", "does"),
    [
        (BOOKED, NOW, None, False, True),
        (BOOKED, NOW, None, True, False),
        (BOOKED, NOW, NOW, False, False),
        (BOOKED, NOW + timedelta(seconds=1), NOW, False, True),
        (OFFERED, None, None, False, False),
        (WAITING, None, None, False, False),
        (ASKED, None, None, False, False),
    ],
)
def test_what_is_given_up_late_costs_unless_the_house_took_it_or_moved_it(
    state: str, booked_at: datetime | None, moved_at: datetime | None, by_house: bool, does: bool
) -> None:
    one = party(1, 2, state, booked_at=booked_at)
    late, early = STARTS - timedelta(days=1), STARTS - timedelta(days=8)
    assert places.costs(terms(), one, late, ZONE, moved_at=moved_at, by_house=by_house) is does
    assert not places.costs(terms(), one, early, ZONE, moved_at=moved_at, by_house=by_house)


def test_who_waits_takes_what_is_free_and_a_guest_confirms_only_in_time() -> None:
    free, full = [party(1, 2)], [party(1, 2), party(2, 7, BOOKED)]
    assert places.may_take(terms(8), free, free[0], STARTS - timedelta(seconds=1)) is None
    assert code(places.may_take(terms(8), full, full[0], NOW)) == "classes.no_offer"
    assert code(places.may_take(terms(8), free, free[0], STARTS)) == "classes.has_begun"
    assert code(places.may_take(terms(8, is_off=True), free, free[0], NOW)) == "classes.called_off"
    assert places.asked_until(terms(), NOW) == NOW + timedelta(hours=2)
    assert places.asked_until(terms(), STARTS - timedelta(minutes=10)) == STARTS
    asked = party(1, 1, ASKED, until=NOW + timedelta(hours=2))
    assert places.may_confirm(asked, NOW + timedelta(hours=2) - timedelta(seconds=1)) is None
    assert code(places.may_confirm(asked, NOW + timedelta(hours=2))) == "classes.place_ended"


def test_a_party_may_only_become_smaller() -> None:
    booked = party(1, 3, BOOKED)
    assert places.may_shrink(booked, 2) is None and places.may_shrink(booked, 3) is None
    assert code(places.may_shrink(booked, 4)) == "classes.only_fewer"
    assert code(places.may_shrink(booked, 0)) == "classes.no_heads"


def test_the_lowest_free_seats_are_given() -> None:
    assert places.free_numbers([1, 2, 4, 7], 3) == [3, 5, 6]
    assert places.free_numbers([], 2) == [1, 2]


def test_a_class_goes_with_enough_who_booked() -> None:
    many = [party(1, 2, BOOKED), party(2, 5, OFFERED), party(3, 1, BOOKED)]
    assert places.decision(3, many) and not places.decision(4, many)
