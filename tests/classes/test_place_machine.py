"""Places and their line against a model that knows no line of the code, in a small world; and mutants that must die."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from studiodesk.answers import Refused
from studiodesk.classes import actions
from studiodesk.classes.models import Place, Seat
from studiodesk.classes.rules import places as rules
from studiodesk.timekeeping import Span
from tests import makers
from tests.cast import NOON_ISH
from tests.machines import run_seeded

from .making import course
from .place_model import SEATS, STARTS, Model, Party

STEPS = 26


class Signing(RuleBasedStateMachine):
    """Each run is a savepoint that is thrown away.  The clock goes on by a minute an act."""

    made: Any
    staff: Any
    #: The clock stands so long before the class in the beginning, and in the end.
    begins, nearest = STARTS - NOON_ISH, timedelta(days=5)
    #: Who has a place to begin with.
    booked: tuple[int, ...] = (2, 2)
    examples = 40

    def __init__(self) -> None:
        super().__init__()
        self.model, self.now, self.number = Model(), STARTS - self.begins, 0
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    def tick(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now

    @initialize(line=st.lists(st.sampled_from([1, 1, 2, 3]), max_size=4))
    def is_full_with_a_line(self, line: list[int]) -> None:
        for heads in (*self.booked, *line):
            self.sign_up(heads=heads, wait=True, guest=False)

    def refused(self, act: Callable[..., Any], place: Place, now: datetime) -> str:
        """The code with which it was refused; "" if it was not."""
        try:
            act(place=place, now=now)
        except Refused as refused:
            return refused.refusal.code
        return ""

    def drawn(self, data: st.DataObject, *states: str) -> int:
        return data.draw(st.sampled_from(self.model.having(*states)))

    @rule(
        heads=st.sampled_from([1, 1, 2, 2, 4, SEATS + 1]),
        wait=st.sampled_from([True, True, False]),
        guest=st.booleans(),
    )
    def sign_up(self, heads: int, wait: bool, guest: bool) -> None:
        self.number += 1
        who = {"email": f"g{self.number}@example.org"} if guest else {"member": makers.member("Joins")}
        now = self.tick()
        before = deepcopy(self.model.parties)
        self.model.serve(now)  # the line comes before a stranger
        fits = heads <= self.model.left()
        try:
            place = actions.sign_up(course=self.made, heads=heads, wait=wait, now=now, **who)
        except Refused as refused:
            code = "classes.never_so_many" if heads > SEATS else "classes.full"
            assert refused.refusal.code == code and not (fits or (wait and heads <= SEATS))
            self.model.parties = before
        else:
            assert heads <= SEATS and (fits or wait)
            state = ("asked" if guest else "booked") if fits else "waiting"
            until = min(now + timedelta(hours=2), self.model.starts) if state == "asked" else None
            self.model.parties[place.pk] = Party(heads, state, until)

    @precondition(lambda self: self.model.having("asked", "offered"))
    @rule(data=st.data(), yes=st.booleans())
    def answer(self, data: st.DataObject, yes: bool) -> None:
        key = self.drawn(data, "asked", "offered")
        place, one, now = Place.objects.get(pk=key), self.model.parties[key], self.tick()
        if one.until is not None and one.until <= now:
            late = {"offered": "classes.offer_over", "asked": "classes.place_ended"}[one.state]
            act = actions.accept_offer if one.state == "offered" else actions.confirm_place
            assert self.refused(act, place, now) == late
            return
        if not yes and one.state == "offered":
            actions.decline_offer(place=place, now=now)
            self.model.end(key, now)
        elif yes:
            (actions.accept_offer if one.state == "offered" else actions.confirm_place)(place=place, now=now)
            one.state, one.until = "booked", None

    @precondition(lambda self: self.model.having("asked", "waiting", "booked"))
    @rule(data=st.data())
    def give_up(self, data: st.DataObject) -> None:
        key = self.drawn(data, "asked", "waiting", "booked")
        now = self.tick()
        actions.give_up(place=Place.objects.get(pk=key), now=now)
        self.model.end(key, now)

    @precondition(lambda self: any(self.model.parties[key].heads > 1 for key in self.model.having("booked")))
    @rule(data=st.data())
    def one_fewer(self, data: st.DataObject) -> None:
        larger = [key for key in self.model.having("booked") if self.model.parties[key].heads > 1]
        key, now = data.draw(st.sampled_from(larger)), self.tick()
        self.model.parties[key].heads -= 1
        actions.shrink(place=Place.objects.get(pk=key), heads=self.model.parties[key].heads, now=now)
        self.model.serve(now)

    def later(self, hours: int) -> None:
        self.now = max(self.now, min(self.now + timedelta(hours=hours), self.model.starts - self.nearest))

    @rule(hours=st.sampled_from([3, 25]))
    def time_passes(self, hours: int) -> None:
        self.later(hours)
        assert actions.end_run_out(now=self.now) == self.model.lapse(self.now)

    @invariant()
    def both_know_the_same(self) -> None:
        found = {one.pk: (one.heads, one.state, one.until) for one in Place.objects.filter(course=self.made)}
        assert found == {key: (one.heads, one.state, one.until) for key, one in self.model.parties.items()}
        seats = list(Seat.objects.filter(course=self.made).values_list("number", "place_id"))
        assert len(seats) == SEATS - self.model.left() <= SEATS
        assert all(1 <= number <= SEATS for number, _place in seats)
        for key, one in self.model.parties.items():
            has = sum(place == key for _number, place in seats)
            assert has == (one.heads if one.state in ("asked", "offered", "booked") else 0)


class LastDay(Signing):
    """The same from eight hours before it on: it moves, nobody is asked in the last hour, links are opened too late."""

    begins, nearest, booked = timedelta(hours=8), timedelta(minutes=30), (2,)
    examples = 90

    @rule(days=st.sampled_from([-1, 0, 1]))
    def the_class_moves(self, days: int) -> None:
        starts = STARTS + timedelta(days=days)
        if starts <= self.now + self.nearest or starts == self.model.starts:
            return
        span = Span(starts, starts + timedelta(hours=3))
        actions.move_course(course=self.made, spans=[span], now=self.tick(), by=self.staff)
        self.model.starts = starts
        for one in self.model.parties.values():
            one.until = min(one.until, starts) if one.until is not None else None

    @precondition(lambda self: self.model.having("waiting"))
    @rule(data=st.data())
    def take_what_is_free(self, data: st.DataObject) -> None:
        key, now = self.drawn(data, "waiting"), self.tick()
        place, before = Place.objects.get(pk=key), deepcopy(self.model.parties)
        self.model.serve(now)  # who stands before them comes first
        one = self.model.parties[key]
        if one.state == "offered" or one.heads <= self.model.left():
            assert self.refused(actions.accept_offer, place, now) == ""
            one.state, one.until = "booked", None
        else:
            assert self.refused(actions.accept_offer, place, now) == "classes.no_offer"
            self.model.parties = before

    @precondition(lambda self: self.model.having("booked") and self.model.having("waiting"))
    @rule(data=st.data())
    def something_is_given_back_at_the_last_moment(self, data: st.DataObject) -> None:
        self.now = max(self.now, self.model.starts - self.nearest)
        self.give_up(data)
        if self.model.having("waiting"):
            self.take_what_is_free(data)

    @rule()
    def a_guest_opens_the_link_too_late(self) -> None:
        self.sign_up(heads=1, wait=False, guest=True)
        for key in self.model.having("asked"):
            until = self.model.parties[key].until
            if until is not None and until <= self.model.starts - self.nearest:
                self.now = max(self.now, until)
                assert self.refused(actions.confirm_place, Place.objects.get(pk=key), self.now) == "classes.place_ended"


def run(machine: type[Signing], made: Any) -> None:
    staff = makers.member("Staff", is_staff=True)
    run_seeded(machine, examples=machine.examples, steps=STEPS, made=made, staff=staff)


@pytest.mark.parametrize("machine", [Signing, LastDay])
def test_places_go_exactly_to_whom_an_independent_model_gives_them(
    house: Any, now: datetime, machine: type[Signing]
) -> None:
    run(machine, course(house, now))


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")
@pytest.mark.parametrize(
    ("machine", "rule", "broken"),
    [
        (Signing, "line", lambda honest: lambda parties: honest(parties)[::-1]),
        (Signing, "seats_left", lambda honest: lambda terms, parties: honest(terms, parties) + 1),
        (
            Signing,
            "seats_left",
            lambda honest: lambda terms, parties: honest(terms, [p for p in parties if p.state != "asked"]),
        ),
        (Signing, "to_ask", lambda honest: lambda terms, parties, now: honest(terms, parties, now)[:1]),
        (Signing, "to_ask", lambda honest: lambda terms, parties, now: []),
        (Signing, "waits_on", lambda honest: lambda party: True),
        (Signing, "fits", lambda honest: lambda terms, parties, heads: True),
        (LastDay, "asked_until", lambda honest: lambda terms, now: now + rules.CONFIRM_WITHIN),
        (LastDay, "may_confirm", lambda honest: lambda party, now: None),
        (LastDay, "may_take", lambda honest: lambda terms, parties, party, now: rules.may_answer(party, now)),
        (LastDay, "offer_until", lambda honest: lambda terms, now: now + rules.OFFER_LASTS),
    ],
    ids=[
        "the last in line first",
        "one seat too many",
        "guests hold no seats",
        "one offer at a time",
        "nobody is asked",
        "offers run out for ever",
        "everybody fits",
        "guests keep seats beyond the start",
        "guests confirm for ever",
        "who waits takes nothing",
        "offers last a day beyond the start",
    ],
)
def test_mutants_die(
    house: Any, now: datetime, monkeypatch: pytest.MonkeyPatch, machine: type[Signing], rule: str, broken: Any
) -> None:
    made = course(house, now)
    monkeypatch.setattr(rules, rule, broken(getattr(rules, rule)))
    with pytest.raises(AssertionError):
        run(machine, made)
