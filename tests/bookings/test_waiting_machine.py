"""The waiting list against a model that knows no line of it, in a small world; and mutants that must die."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Offer, WaitingWish
from studiodesk.bookings.queries import waiting as queries
from studiodesk.bookings.rules.needs import Need
from tests.bookings.waiting_world import (
    BEGINNING,
    DAY,
    FIRST_MINUTE,
    OPENING,
    QUANTA,
    QUANTUM,
    STATIONS,
    Model,
    Stay,
    Wish,
    World,
    build,
)
from tests.machines import run_seeded

EXAMPLES, STEPS = 20, 16
ANSWER = timedelta(minutes=120)


class Line(RuleBasedStateMachine):
    """Each run is a savepoint that is thrown away.  The clock goes on by a minute an act."""

    world: World

    def __init__(self) -> None:
        super().__init__()
        self.model, self.now = Model(), BEGINNING
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    def tick(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now

    @property
    def until(self) -> datetime:
        return self.now + ANSWER

    def booking(self, number: int) -> Booking:
        stay = self.model.stays[number]
        return Booking.objects.get(
            station__code=stay.station, starts=OPENING + stay.first * QUANTUM, cancelled_at__isnull=True
        )

    def kept(self) -> list[int]:
        return sorted(number for number, stay in self.model.stays.items() if stay.wish is not None)

    @rule(
        code=st.sampled_from(sorted(STATIONS)),
        first=st.integers(0, QUANTA - 1),
        length=st.integers(1, 6),
        who=st.integers(0, 2),
    )
    def book(self, code: str, first: int, length: int, who: int) -> None:
        stay, member = Stay(code, first, length, who), self.world.people[who]
        expected = self.model.fits(stay)
        try:
            actions.book(
                member=member,
                station=self.world.stations[code],
                process=None,
                starts=OPENING + first * QUANTUM,
                ends=OPENING + (first + length) * QUANTUM,
                now=self.tick(),
                by=member,
            )
        except Refused as refused:
            assert not expected, refused.refusal.code
        else:
            assert expected, f"accepted {stay}"
            self.model.add(stay)

    @rule(
        first=st.integers(0, QUANTA - 1),
        room=st.integers(1, QUANTA),
        length=st.integers(1, 3),
        who=st.integers(0, 2),
    )
    def wait(self, first: int, room: int, length: int, who: int) -> None:
        last = min(first + room, QUANTA)
        member = self.world.people[who]
        need = Need(kind="bench", length=15 * length)
        window = {"not_before": FIRST_MINUTE + 15 * first, "not_after": FIRST_MINUTE + 15 * last}
        try:
            wish = actions.wait(
                member=member, need=need, first_day=DAY, last_day=DAY, now=self.tick(), by=member, **window
            )
        except Refused as refused:
            assert refused.refusal.code in {
                "bookings.wish_without_room", "bookings.wished_before", "bookings.too_many_wishes",
            }  # fmt: skip
        else:
            self.model.line.append(Wish(wish.pk, who, set(range(first, last)), length))

    @precondition(lambda self: self.model.stays)
    @rule(data=st.data())
    def cancel(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.model.stays)))
        booking = self.booking(number)
        actions.cancel(booking=booking, now=self.tick(), by=booking.member)
        self.model.give_back(number, self.until)

    @precondition(lambda self: self.kept())
    @rule(data=st.data(), yes=st.booleans())
    def answer(self, data: st.DataObject, yes: bool) -> None:
        number = data.draw(st.sampled_from(self.kept()))
        booking = self.booking(number)
        act = actions.accept if yes else actions.decline
        act(offer=Offer.objects.get(booking=booking), now=self.tick(), by=booking.member)
        if yes:
            self.model.take(number)
        else:
            self.model.give_back(number, self.until)

    @precondition(lambda self: self.kept())
    @rule()
    def nobody_answers_the_oldest(self) -> None:
        """Until its time is up; the sweep gives back all that is up by then, each with the next in line."""
        self.now = max(self.now, min(self.model.stays[number].until for number in self.kept()))  # type: ignore[type-var]
        due = sorted(
            (self.model.stays[number].until, number) for number in self.kept()
            if self.model.stays[number].until <= self.now  # type: ignore[operator]
        )  # fmt: skip
        assert actions.expire_offers(now=self.now) == len(due)
        for _until, number in due:
            self.model.run_out(number, self.until)

    @precondition(lambda self: any(wish.state in ("waiting", "offered") for wish in self.model.line))
    @rule(data=st.data())
    def stop(self, data: st.DataObject) -> None:
        open_ones = sorted(wish.key for wish in self.model.line if wish.state in ("waiting", "offered"))
        wish = self.model.wish_of(data.draw(st.sampled_from(open_ones)))
        row = WaitingWish.objects.get(pk=wish.key)
        actions.stop_waiting(wish=row, now=self.tick(), by=row.member)
        self.model.stop(wish, self.until)

    @rule()
    def sweep(self) -> None:
        actions.serve_all(now=self.tick())
        self.model.serve(self.until)

    @invariant()
    def both_know_the_same(self) -> None:
        number = {member.pk: place for place, member in enumerate(self.world.people)}
        rows = Booking.objects.filter(cancelled_at__isnull=True).select_related("station", "offer")
        there = []
        for row in rows:
            offer = getattr(row, "offer", None)
            wish = offer.wish_id if offer is not None and offer.answer == "" else None
            assert (wish is not None) == (row.offered_until is not None)
            first, length = (row.starts - OPENING) // QUANTUM, (row.ends - row.starts) // QUANTUM
            there.append((row.station.code, first, length, number[row.member_id], wish))
        assert sorted(there, key=str) == sorted(self.model.standing(), key=str)
        states = dict(WaitingWish.objects.values_list("pk", "state"))
        assert states == {wish.key: wish.state for wish in self.model.line}


def run(world: World, examples: int = EXAMPLES) -> None:
    run_seeded(Line, examples=examples, steps=STEPS, world=world)


def test_the_line_serves_exactly_whom_an_independent_model_serves(db: Any) -> None:
    run(build())


def test_mutant_dies_that_asks_whoever_came_last_first(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    world, honest = build(), queries.line
    monkeypatch.setattr(queries, "line", lambda span=None: honest(span)[::-1])
    with pytest.raises(AssertionError):
        run(world)


def test_mutant_dies_that_stops_at_the_first_who_is_served(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A long time that becomes free serves several."""
    world, honest = build(), queries.line
    monkeypatch.setattr(queries, "line", lambda span=None: honest(span)[:1])
    with pytest.raises(AssertionError):
        run(world)


def test_mutant_dies_that_offers_the_same_time_to_the_same_wish_again(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    world = build()
    monkeypatch.setattr(queries, "_not_again", lambda wish, now: [])
    with pytest.raises(AssertionError):
        run(world)


def test_mutant_dies_that_serves_nobody_when_an_offer_runs_out(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from studiodesk.bookings.actions import offers

    world = build()
    monkeypatch.setattr(offers, "serve_freed", lambda *given: None)
    with pytest.raises(AssertionError):
        run(world)
