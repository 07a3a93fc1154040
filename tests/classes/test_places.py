"""Signing up, confirming, waiting, offers, giving up, passing on: the acts, on both databases."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.classes import actions
from studiodesk.classes.models import Place, PrivateNeed, Seat
from studiodesk.classes.queries import place_key, place_of_key
from studiodesk.journal.models import Entry, Notice
from tests import makers

from .making import HOUR, course, outline


def code_of(work) -> str:
    with pytest.raises(Refused) as refused:
        work()
    return refused.value.refusal.code


def join(made, now, heads=1, who=None, **more):
    who = who or makers.member("Joiner")
    return actions.sign_up(course=made, heads=heads, member=who, by=who, now=now, **more)


def guest(made, now, email="kim@example.org", heads=1, **more):
    return actions.sign_up(course=made, heads=heads, name="Kim", email=email, now=now, **more)


def told(code: str) -> list[str]:
    """To whom: a member's name, or a guest's address."""
    rows = Notice.objects.filter(code=code).order_by("pk")
    return [notice.person.name if notice.person else notice.address for notice in rows]


def seats(made) -> int:
    return Seat.objects.filter(course=made).count()


def test_members_have_a_place_at_once_and_pay_their_own_price(house, now) -> None:
    made = course(house, now)
    place = join(made, now, 2)
    assert (place.state, place.price_minor, place.until) == ("booked", 9000, None)
    assert [(s.number, s.name) for s in place.seats.all()] == [(1, "Joiner"), (2, "")]


def test_a_guest_has_the_seats_until_the_link_is_opened_and_they_are_free_if_it_never_is(house, now) -> None:
    made = course(house, now)
    place = guest(made, now, heads=2)
    assert (place.state, place.until, place.price_minor, seats(made)) == ("asked", now + 2 * HOUR, 12000, 2)
    assert told("classes.asked") == ["kim@example.org"]
    assert actions.end_run_out(now=now + 2 * HOUR - timedelta(seconds=1)) == 0
    assert actions.end_run_out(now=now + 2 * HOUR) == 1
    place.refresh_from_db()
    assert (place.state, seats(made)) == ("ended", 0)
    assert code_of(lambda: actions.confirm_place(place=place, now=now + 3 * HOUR)) == "classes.place_ended"


def test_a_guest_confirms_once_or_twice_with_one_effect(house, now) -> None:
    place = guest(course(house, now), now)
    for _ in range(2):
        confirmed = actions.confirm_place(place=place_of_key(place_key(place)), now=now + HOUR)
    assert (confirmed.state, confirmed.until) == ("booked", None)
    assert told("classes.booked") == ["kim@example.org"]
    assert actions.end_run_out(now=now + 5 * HOUR) == 0


def test_a_mistyped_address_is_corrected_and_the_link_before_opens_nothing(house, now) -> None:
    place = guest(course(house, now), now, email="kim@exmaple.org")
    before = place_key(place)
    right = actions.correct_address(place=place, email="kim@example.org", now=now)
    with pytest.raises(Place.DoesNotExist):
        place_of_key(before)
    assert place_of_key(place_key(right)).pk == place.pk
    letters = Notice.objects.filter(code="classes.asked").values_list("address", "state").order_by("pk")
    assert list(letters) == [("kim@exmaple.org", "called off"), ("kim@example.org", "waiting")]
    actions.confirm_place(place=right, now=now)
    assert code_of(lambda: actions.correct_address(place=right, email="x@example.org", now=now)) == (
        "classes.address_stands"
    )


@pytest.mark.parametrize("word", ["", "x", "ImEi:1:x", "☃"])
def test_a_link_that_is_none_leads_nowhere(db, word) -> None:
    with pytest.raises(Place.DoesNotExist):
        place_of_key(word)


def test_who_signs_up_twice_has_one_place(house, now) -> None:
    made, who = course(house, now), makers.member("Twice")
    assert join(made, now, 1, who).pk == join(made, now, 3, who).pk
    assert guest(made, now).pk == guest(made, now, email="KIM@example.org").pk
    assert seats(made) == 2


def test_capacity_is_never_exceeded_and_the_refusal_says_how_many_are_left(house, now) -> None:
    made = course(house, now)
    join(made, now, 3)
    with pytest.raises(Refused) as refused:
        join(made, now, 2)
    assert (refused.value.refusal.code, refused.value.refusal.facts) == ("classes.full", {"left": 1})
    assert (join(made, now, 2, wait=True).state, join(made, now, 1).state, seats(made)) == ("waiting", "booked", 4)


def test_what_is_given_up_is_offered_to_the_first_it_fits_and_to_nobody_twice(house, now) -> None:
    made = course(house, now)
    leaver = join(made, now, 2)
    join(made, now, 2)
    big = join(made, now, 3, makers.member("Big"), wait=True)
    small = join(made, now, 2, makers.member("Small"), wait=True)
    actions.give_up(place=leaver, now=now + HOUR, by=leaver.member)
    big.refresh_from_db(), small.refresh_from_db()
    assert (big.state, small.state, small.until) == ("waiting", "offered", now + 25 * HOUR)
    assert told("classes.offered") == ["Small"] and seats(made) == 4
    taken = actions.accept_offer(place=small, now=now + 2 * HOUR, by=small.member)
    assert (taken.state, taken.until) == ("booked", None)
    assert actions.accept_offer(place=small, now=now + 2 * HOUR, by=small.member).state == "booked"


def test_an_offer_that_runs_out_goes_to_the_next_and_twice_is_enough(house, now) -> None:
    made = course(house, now)
    leaver = join(made, now, 4)
    first = join(made, now, 4, makers.member("First"), wait=True)
    second = join(made, now, 4, makers.member("Second"), wait=True)
    actions.give_up(place=leaver, now=now, by=leaver.member)
    after = now + 24 * HOUR
    assert actions.end_run_out(now=after) == 1
    first.refresh_from_db(), second.refresh_from_db()
    assert (first.state, first.offers_run_out, second.state) == ("waiting", 1, "offered")
    assert actions.end_run_out(now=after + 24 * HOUR) == 1
    first.refresh_from_db(), second.refresh_from_db()
    assert (first.state, second.state) == ("offered", "waiting")
    assert code_of(lambda: actions.accept_offer(place=first, now=first.until, by=first.member)) == "classes.offer_over"
    assert actions.end_run_out(now=after + 48 * HOUR) == 1
    first.refresh_from_db()
    assert (first.state, first.ended_because) == ("ended", "ran out")
    assert told("classes.offer_ran_out") == ["First", "Second", "First"]


def test_whoever_declines_waits_no_longer_and_the_next_is_asked_at_once(house, now) -> None:
    made = course(house, now)
    leaver = join(made, now, 4)
    first, second = (join(made, now, 4, makers.member(n), wait=True) for n in ("First", "Second"))
    actions.give_up(place=leaver, now=now, by=leaver.member)
    for _ in range(2):
        assert actions.decline_offer(place=first, now=now, by=first.member).state == "ended"
    second.refresh_from_db()
    assert second.state == "offered" and told("classes.offered") == ["First", "Second"]


def test_given_up_late_is_late_and_by_the_house_never(house, now) -> None:
    made = course(house, now, days=8)
    one, two = join(made, now), join(made, now)
    assert not actions.give_up(place=one, now=now + 23 * HOUR, by=one.member).was_late
    assert not actions.give_up(place=two, now=now + 48 * HOUR, by=None, by_house=True).was_late
    three = join(made, now)
    gone = actions.give_up(place=three, now=now + 48 * HOUR, by=three.member)
    assert (
        gone.was_late and actions.give_up(place=three, now=now + 48 * HOUR, by=three.member).ended_at == gone.ended_at
    )


def test_a_group_that_shrinks_gives_its_nameless_seats_to_whoever_waits(house, now) -> None:
    made = course(house, now)
    party = join(made, now, 4, makers.member("Party"))
    actions.name_heads(place=party, names=["Ann", "", "Çağla 小林", ""], now=now)
    waiting = join(made, now, 1, wait=True)
    smaller = actions.shrink(place=party, heads=3, now=now, by=party.member)
    waiting.refresh_from_db()
    assert (smaller.heads, smaller.price_minor, waiting.state) == (3, 13500, "offered")
    assert [seat.name for seat in party.seats.order_by("number")] == ["Ann", "", "Çağla 小林"]
    assert code_of(lambda: actions.shrink(place=party, heads=4, now=now, by=party.member)) == "classes.only_fewer"


def test_a_place_is_passed_on_with_its_price_and_both_are_told(house, now) -> None:
    made = course(house, now)
    desk = makers.member("Desk", is_staff=True)
    old, new = makers.member("Old"), makers.member("New")
    place = join(made, now, 2, old)
    actions.say_need(place=place, words="Latex", now=now)
    given = actions.transfer(place=place, now=now, by=desk, to=new)
    assert (given.member_id, given.price_minor, given.seats.first().name) == (new.pk, 9000, "New")
    assert told("classes.passed_on") == ["Old"] and "New" in told("classes.booked")
    assert not PrivateNeed.objects.exists(), "what one person told the tutor is not the next one's"
    join(made, now, 1, old)
    assert code_of(lambda: actions.transfer(place=given, now=now, by=desk, to=old)) == "classes.has_place"


def test_a_minor_signs_up_with_an_adult(house, now) -> None:
    made = course(house, now, of=outline(house, now, minimum_age=12))
    young = makers.member("Young", born_on=date(2012, 1, 1))
    assert code_of(lambda: join(made, now, 1, young)) == "classes.needs_adult"
    assert join(made, now, 1, young, adult_name="A Parent").adult_name == "A Parent"
    child = makers.member("Child", born_on=date(2016, 1, 1))
    assert code_of(lambda: join(made, now, 1, child, adult_name="A Parent")) == "classes.too_young"


def test_on_the_day_of_decision_it_goes_or_is_called_off_and_everybody_is_told(house, now) -> None:
    goes, off = course(house, now, days=14), course(house, now, days=20)
    both = join(goes, now, 2)
    one, waits = join(off, now, 1, makers.member("One")), guest(off, now)
    actions.confirm_place(place=waits, now=now)
    actions.give_up(place=waits, now=now)
    assert actions.decide_due(now=goes.decide_at - timedelta(seconds=1)) == 0
    assert actions.decide_due(now=goes.decide_at) == 1
    assert actions.decide_due(now=off.decide_at) == 1
    goes.refresh_from_db(), off.refresh_from_db(), one.refresh_from_db()
    assert (goes.decided, off.decided, one.state) == ("go", "off", "ended")
    assert told("classes.goes") == [both.member.name, "Tutor"] and told("classes.called_off") == ["One"]
    assert off.meetings.get().stay.cancelled_at == off.decided_at
    assert actions.decide_due(now=off.decide_at) == 0


def test_after_a_class_was_called_off_nobody_signs_up_or_is_offered_anything(house, now) -> None:
    made, staff = course(house, now), makers.member("Staff", is_staff=True)
    join(made, now, 4), join(made, now, 1, wait=True)
    assert code_of(lambda: actions.call_off_course(course=made, because=" ", now=now, by=staff)) == "classes.say_why"
    actions.call_off_course(course=made, because="No water", now=now, by=staff)
    assert set(Place.objects.values_list("state", "ended_because")) == {("ended", "called off")}
    assert seats(made) == 0
    assert code_of(lambda: join(made, now)) == "classes.called_off"


def test_what_the_tutor_has_to_know_is_nowhere_in_the_journal_and_gone_a_fortnight_after(house, now) -> None:
    made = course(house, now)
    place = join(made, now)
    actions.say_need(place=place, words="A nut allergy; comes in a wheelchair", now=now)
    assert not [entry for entry in Entry.objects.all() if "allergy" in str(entry.facts)]
    ends = made.meetings.get().stay.ends
    assert actions.forget_needs(now=ends + timedelta(days=14) - timedelta(seconds=1)) == 0
    assert actions.forget_needs(now=ends + timedelta(days=14)) == 1
    assert Place.objects.get().pk == place.pk
    actions.say_need(place=place, words="Again", now=now)
    actions.say_need(place=place, words="  ", now=now)
    assert not PrivateNeed.objects.exists()
