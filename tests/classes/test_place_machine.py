"""Places and their line against a model that knows no line of the code, in a small world; and mutants that must die."""

from __future__ import annotations

from dataclasses import dataclass, field
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
from tests import makers
from tests.cast import NOON_ISH
from tests.machines import run_seeded

from .making import course

SEATS, EXAMPLES, STEPS = 4, 40, 26
STARTS = NOON_ISH + timedelta(days=14)


@dataclass
class Party:
    heads: int
    state: str
    until: datetime | None = None
    lapsed: int = 0


@dataclass
class Model:
    """Who has what, by first come first served; keys are in the order of the line."""

    parties: dict[int, Party] = field(default_factory=dict)

    def left(self) -> int:
        return SEATS - sum(one.heads for one in self.parties.values() if one.state in ("asked", "offered", "booked"))

    def serve(self, now: datetime, but: int | None = None) -> None:
        for key, one in self.parties.items():
            if one.state == "waiting" and key != but and one.heads <= self.left():
                one.state, one.until = "offered", now + timedelta(hours=24)

    def end(self, key: int, now: datetime) -> None:
        self.parties[key].state, self.parties[key].until = "ended", None
        self.serve(now)

    def lapse(self, now: datetime) -> int:
        due = sorted(
            (one.until, key) for key, one in self.parties.items() if one.until is not None and one.until <= now
        )
        for _until, key in due:
            one = self.parties[key]
            again = one.state == "offered" and one.lapsed == 0
            one.state, one.until = ("waiting" if again else "ended"), None
            one.lapsed += again
            self.serve(now, but=key)
        return len(due)

    def having(self, *states: str) -> list[int]:
        return sorted(key for key, one in self.parties.items() if one.state in states)


class Signing(RuleBasedStateMachine):
    """Each run is a savepoint that is thrown away.  The clock goes on by a minute an act."""

    made: Any

    def __init__(self) -> None:
        super().__init__()
        self.model, self.now, self.number = Model(), NOON_ISH, 0
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
        for heads in (2, 2, *line):
            self.sign_up(heads=heads, wait=True, guest=False)

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
        fits = heads <= self.model.left()
        now = self.tick()
        try:
            place = actions.sign_up(course=self.made, heads=heads, wait=wait, now=now, **who)
        except Refused as refused:
            code = "classes.never_so_many" if heads > SEATS else "classes.full"
            assert refused.refusal.code == code and not (fits or (wait and heads <= SEATS))
        else:
            assert heads <= SEATS and (fits or wait)
            state = ("asked" if guest else "booked") if fits else "waiting"
            until = now + timedelta(hours=2) if state == "asked" else None
            self.model.parties[place.pk] = Party(heads, state, until)

    @precondition(lambda self: self.model.having("asked", "offered"))
    @rule(data=st.data(), yes=st.booleans())
    def answer(self, data: st.DataObject, yes: bool) -> None:
        key = self.drawn(data, "asked", "offered")
        place, one, now = Place.objects.get(pk=key), self.model.parties[key], self.tick()
        if one.until is not None and one.until <= now:
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

    @rule(hours=st.sampled_from([3, 25]))
    def time_passes(self, hours: int) -> None:
        self.now = min(self.now + timedelta(hours=hours), STARTS - timedelta(days=5))
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


def run(made: Any) -> None:
    run_seeded(Signing, examples=EXAMPLES, steps=STEPS, made=made)


def test_places_go_exactly_to_whom_an_independent_model_gives_them(house: Any, now: datetime) -> None:
    run(course(house, now))


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")
@pytest.mark.parametrize(
    ("rule", "broken"),
    [
        ("line", lambda honest: lambda parties: honest(parties)[::-1]),
        ("seats_left", lambda honest: lambda terms, parties: honest(terms, parties) + 1),
        ("seats_left", lambda honest: lambda terms, parties: honest(terms, [p for p in parties if p.state != "asked"])),
        ("to_ask", lambda honest: lambda terms, parties, now: honest(terms, parties, now)[:1]),
        ("to_ask", lambda honest: lambda terms, parties, now: []),
        ("waits_on", lambda honest: lambda party: True),
        ("fits", lambda honest: lambda terms, parties, heads: True),
    ],
    ids=[
        "the last in line first",
        "one seat too many",
        "guests hold no seats",
        "one offer at a time",
        "nobody is asked",
        "offers run out for ever",
        "everybody fits",
    ],
)
def test_mutants_die(house: Any, now: datetime, monkeypatch: pytest.MonkeyPatch, rule: str, broken: Any) -> None:
    made = course(house, now)
    monkeypatch.setattr(rules, rule, broken(getattr(rules, rule)))
    with pytest.raises(AssertionError):
        run(made)
