"""The real acts on the real database against an independent model, in a small world; and mutants that must die."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold
from studiodesk.bookings.queries import looking
from studiodesk.timekeeping import Span
from tests.bookings.small_world import NOW, OPENING, QUANTA, QUANTUM, STATIONS, Model, Wanted, World, build

EXAMPLES, STEPS = 40, 16
#: What can be asked for; two of them make no sense and must be refused.
PAIRS = [(code, process) for code, (does, *_) in STATIONS.items() for process in sorted(does) or [None]]
PAIRS += [("C", "safe"), ("A", None)]
EVERYTHING = [
    Wanted(*pair, first, length, lenses)
    for pair in PAIRS
    for first in range(QUANTA)
    for length in range(1, 7)
    for lenses in range(3)
]


def span(first: int, length: int) -> Span:
    return Span(OPENING + first * QUANTUM, OPENING + (first + length) * QUANTUM)


class Desk(RuleBasedStateMachine):
    """Each run is a savepoint that is thrown away; ``world`` is set on a subclass by the test."""

    world: World

    def __init__(self) -> None:
        super().__init__()
        self.model = Model()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    @rule(
        asked=st.sampled_from(PAIRS),
        first=st.integers(0, QUANTA - 1),
        length=st.integers(1, 4),
        lenses=st.integers(0, 3),
        who=st.integers(0, 1),
    )
    def book(self, asked: tuple[str, str | None], first: int, length: int, lenses: int, who: int) -> None:
        self._ask(Wanted(*asked, first, length, lenses), who)

    @rule(data=st.data(), who=st.integers(0, 1))
    def book_what_can_be_had(self, data: st.DataObject, who: int) -> None:
        """Fills the world: in an empty one nearly every rule is idle."""
        free = [one for one in EVERYTHING if one.length >= 3 and not one.lenses and self.model.accepts(one)]
        if free:
            self._ask(data.draw(st.sampled_from(free)), who)

    @rule(data=st.data(), who=st.integers(0, 1), lenses=st.sampled_from([0, 0, 2]))
    def book_what_just_cannot_be_had(self, data: st.DataObject, who: int, lenses: int) -> None:
        """The station is free, and still the model says no: places, light, heads or lenses."""
        asked = [one for one in EVERYTHING if one.lenses == lenses and self.model.station_is_free(one)]
        edge = [one for one in asked if not self.model.accepts(one)]
        if edge:
            self._ask(data.draw(st.sampled_from(edge)), who)

    def _ask(self, wanted: Wanted, who: int) -> None:
        member, when = self.world.people[who], span(wanted.first, wanted.length)
        expected = self.model.accepts(wanted)
        try:
            booking = actions.book(
                member=member,
                station=self.world.stations[wanted.station],
                process=self.world.processes[wanted.process] if wanted.process else None,
                starts=when.starts,
                ends=when.ends,
                now=NOW,
                by=member,
                kit={self.world.lens: wanted.lenses},
            )
        except Refused as refused:
            assert not expected, f"refused {wanted} with {refused.refusal.code}, the model accepts it"
        else:
            assert expected, f"accepted {wanted}, the model refuses it"
            self.model.standing[booking.pk] = wanted

    @precondition(lambda self: self.model.standing)
    @rule(data=st.data())
    def cancel(self, data: st.DataObject) -> None:
        pk = data.draw(st.sampled_from(sorted(self.model.standing)))
        booking = Booking.objects.get(pk=pk)
        actions.cancel(booking=booking, now=NOW, by=booking.member)
        del self.model.standing[pk]

    @precondition(lambda self: self.model.standing)
    @rule(data=st.data(), likely=st.booleans())
    def change(self, data: st.DataObject, likely: bool) -> None:
        """To anywhere else; it is not in its own way, and if it is refused it stands as it stood."""
        pk = data.draw(st.sampled_from(sorted(self.model.standing)))
        was = self.model.standing[pk]
        fitting = [one for one in EVERYTHING if self.model.accepts(one, was)] if likely else EVERYTHING
        wanted = data.draw(st.sampled_from(fitting or EVERYTHING))
        expected, when = self.model.accepts(wanted, was), span(wanted.first, wanted.length)
        booking = Booking.objects.get(pk=pk)
        new = actions.New(
            station=self.world.stations[wanted.station],
            process=self.world.processes[wanted.process] if wanted.process else None,
            starts=when.starts,
            ends=when.ends,
            kit={self.world.lens: wanted.lenses},
        )
        try:
            actions.change(booking=booking, new=new, now=NOW, by=booking.member)
        except Refused as refused:
            assert not expected, f"refused {was} → {wanted} with {refused.refusal.code}, the model accepts it"
        else:
            assert expected, f"accepted {was} → {wanted}, the model refuses it"
            self.model.standing[pk] = wanted

    @rule(station=st.sampled_from(sorted(STATIONS)), first=st.integers(0, QUANTA - 1), length=st.integers(1, 2))
    def shut(self, station: str, first: int, length: int) -> None:
        """A station is closed around whoever stands there, and nobody is pushed out."""
        quanta = set(range(first, min(first + length, QUANTA)))
        actions.close_station(
            station=self.world.stations[station],
            span=span(first, len(quanta)),
            reason="lamp",
            now=NOW,
            by=self.world.keyholder,
        )
        self.model.shut[station] |= quanta

    @precondition(lambda self: any(self.model.shut.values()))
    @rule(data=st.data(), length=st.integers(1, 3))
    def reopen(self, data: st.DataObject, length: int) -> None:
        station = data.draw(st.sampled_from(sorted(code for code, quanta in self.model.shut.items() if quanta)))
        first = data.draw(st.sampled_from(sorted(self.model.shut[station])))
        actions.reopen(thing=self.world.stations[station], span=span(first, length), now=NOW, by=self.world.keyholder)
        self.model.shut[station] -= set(range(first, first + length))

    @invariant()
    def raw_rows_add_up_and_no_lane_is_held_twice(self) -> None:
        held = {"station": timedelta(), "processor": timedelta(), "kit": timedelta()}
        last: dict[int, datetime] = {}
        rows = Hold.objects.order_by("lane_id", "starts").values_list(
            "lane_id", "starts", "ends", "lane__resource__sort"
        )
        for lane, starts, ends, sort in rows:
            assert lane not in last or last[lane] <= starts, "a lane is held twice"
            last[lane] = ends
            held[sort] += ends - starts
        assert {sort: round(length / QUANTUM) for sort, length in held.items()} == self.model.held_quanta()


def run(world: World, examples: int = EXAMPLES, *, shrink: bool = False) -> None:
    """Drive the desk.  The seed is fixed, so that a green run is green tomorrow."""
    desk = type("DeskInThisWorld", (Desk,), {"world": world})
    phases = [Phase.generate, Phase.shrink] if shrink else [Phase.generate]
    run_state_machine_as_test(
        desk,
        settings=settings(
            max_examples=examples,
            stateful_step_count=STEPS,
            deadline=None,
            derandomize=True,
            database=None,
            phases=phases,
            suppress_health_check=list(HealthCheck),
            report_multiple_bugs=False,
        ),
    )


def test_the_acts_accept_exactly_what_an_independent_model_accepts(db: Any) -> None:
    run(build(), shrink=True)


def drop_the_constraint() -> None:
    """Inside the test's transaction, so it is back afterwards."""
    statements = {
        "sqlite": ['DROP TRIGGER "a_lane_is_held_once_insert"', 'DROP TRIGGER "a_lane_is_held_once_update"'],
        "postgresql": ['ALTER TABLE "studiodesk_hold" DROP CONSTRAINT "a_lane_is_held_once"'],
    }
    with connection.cursor() as cursor:
        for statement in statements[connection.vendor]:
            cursor.execute(statement)


def test_mutant_dies_without_the_constraint_and_with_a_blind_look(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    drop_the_constraint()
    world = build()
    monkeypatch.setattr(looking, "holds_touching", lambda span: Hold.objects.none())
    with pytest.raises(AssertionError, match=r"the model refuses it|held twice"):
        run(world)


def test_mutant_dies_that_forgets_clear_up(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    world = build()
    monkeypatch.setattr(Span, "widened", lambda self, before, after: self)
    with pytest.raises(AssertionError, match=r"the model refuses it|==|held twice"):
        run(world)


def test_mutant_dies_that_lets_one_head_too_many_in(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A limit that is off by one is found as well."""
    from studiodesk.bookings.rules import asking

    world = build()
    honest = asking.peak
    monkeypatch.setattr(asking, "peak", lambda spans, within: honest(spans, within) - 1)
    with pytest.raises(AssertionError, match="the model refuses it"):
        run(world)


def test_mutant_dies_that_keeps_kit_for_the_stay_alone(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    world = build()
    monkeypatch.setattr(looking, "kept_span", lambda stay, from_end, outlasts: stay)
    with pytest.raises(AssertionError, match=r"the model refuses it|=="):
        run(world)


def test_mutant_dies_that_gives_nothing_back_when_a_booking_is_changed(
    db: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from studiodesk.bookings.actions import changing

    world = build()
    monkeypatch.setattr(changing, "give_back", lambda booking: [])
    with pytest.raises((AssertionError, Refused), match=r"the model accepts it|==|taken"):
        run(world)


def test_a_blind_look_alone_cannot_hold_a_station_twice(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The constraint is the guarantee: with the look blind no lane is ever held twice, whatever else goes wrong."""
    world = build()
    monkeypatch.setattr(looking, "holds_touching", lambda span: Hold.objects.none())
    for first in range(QUANTA):
        for member in world.people:
            try:
                actions.book(
                    member=member,
                    station=world.stations["S"],
                    process=None,
                    starts=span(first, 1).starts,
                    ends=span(first, 1).ends,
                    now=NOW,
                    by=member,
                )
            except Refused as refused:
                assert refused.refusal.code == "bookings.taken"
    assert Hold.objects.count() == QUANTA
