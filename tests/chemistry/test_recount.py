"""The running sums that the acts keep are the recount from the rows, whatever order things came in."""

import json
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Bath, Feed, Fill
from studiodesk.chemistry.queries import reckoning
from studiodesk.chemistry.rules.past import PastEntry, PastFeed, PastStrip
from studiodesk.chemistry.rules.tank import fold
from studiodesk.stations import queries as stations
from studiodesk.units import PL_PER_ML
from tests import makers

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
minutes = st.integers(0, 600)
steps = st.lists(
    st.one_of(
        st.tuples(st.just("sheets"), minutes, st.sampled_from(["50x203", "203x254", "406x508"]), st.integers(1, 6)),
        st.tuples(st.just("undo"), st.integers(0, 5)),
        st.tuples(st.just("refill"), minutes, st.sampled_from([("P-RC", "dev"), ("P-RC", "fix")])),
        st.tuples(
            st.sampled_from(["given", "working solution", "lost", "partial dump"]), minutes,
            st.sampled_from([("P-RC", "dev"), ("P-RC", "fix")]), st.integers(1, 800),
        ),
        st.tuples(st.just("strip"), minutes, st.just(("P-RC", "fix")), st.integers(0, 3_000_000)),
        st.tuples(st.just("pump"), st.integers(-600, 600), st.integers(3, 30)),
        st.tuples(st.just("rate"), st.sampled_from([("P-RC", "dev"), ("P-RC", "fix")]), minutes, st.integers(100, 900)),
    ),
    max_size=14,
)  # fmt: skip

REFUSED = {"chemistry.refilled_already", "chemistry.already_undone", "chemistry.figures_before_others"}


@contextmanager
def taken_back():
    """Each example of hypothesis in a savepoint of the test's own transaction."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def at(minute):
    return NOW - timedelta(minutes=600 - minute)


def do(house, step, keyholder):
    what, *how = step
    if what == "sheets":
        minute, size, sheets = how
        actions.log_sheets(
            processor=house.processors["P-RC"], sheet=house.sizes[size], sheets=sheets, kind="print", who="walk-in",
            fed_at=at(minute), now=NOW,
        )  # fmt: skip
    elif what == "undo":
        logged = list(Feed.objects.filter(undoes=None).order_by("pk"))
        if logged:
            actions.undo_sheets(feed=logged[how[0] % len(logged)], now=NOW, by=keyholder)
    elif what == "pump":
        actions.calibrate_pump(
            bath=house.baths["P-RC", "dev"], strokes_each=1, caught_pl=[how[1] * PL_PER_ML] * 3, at=at(how[0]), now=NOW
        )
    elif what == "rate":
        bath, minute, rate = how
        figures = {"rate_ul_per_m2": rate * 1000}
        actions.put_figures_in_force(bath=house.baths[bath], figures=figures, since=at(minute), now=NOW)
    else:
        minute, bath, *amount = how
        more = {}
        if what == "strip":
            more = {"silver_ug_per_l": amount[0]}
        elif amount:
            more = {"amount_pl": amount[0] * PL_PER_ML}
        actions.record_bath_entry(bath=house.baths[bath], event=what, at=at(minute), now=NOW, **more)


def check_every_fill():
    zone = stations.zone()
    known = reckoning.histories(Bath.objects.values_list("pk", flat=True))
    for fill in Fill.objects.select_related("bath"):
        events = reckoning.events_between(fill.bath, fill.began_at, fill.ended_at)
        recounted = fold(fill.began_at, events, known[fill.bath_id], zone)
        assert reckoning.state_of(fill) == recounted
        assert (fill.area_mm2, fill.due_pl, fill.given_pl) == (
            recounted.area_mm2, recounted.due_pl, recounted.given_pl,
        )  # fmt: skip
    for bath in Bath.objects.all():
        edges = [(f.began_at, f.ended_at) for f in Fill.objects.filter(bath=bath)]
        edges.sort(key=lambda edge: (edge[0] is not None, edge[0]))
        assert [ended for _, ended in edges[:-1]] == [began for began, _ in edges[1:]]  # one after the other


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=steps)
def test_running_sums_equal_a_recount_after_any_acts_in_any_order(house, steps):
    with taken_back():
        keyholder = makers.member("Kim", is_keyholder=True)
        for step in steps:
            try:
                do(house, step, keyholder)
            except Refused as refused:
                assert refused.refusal.code in REFUSED
        check_every_fill()
        assert queries.standings(NOW) == queries.standings(NOW, recount=True)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=steps, data=st.data())
def test_the_order_in_which_things_are_written_down_changes_no_exact_sum(house, steps, data):
    # A version of the figures is no event of the tank: what is put in force first decides whether a later one may be.
    steps = [step for step in steps if step[0] not in ("undo", "pump", "rate")]
    found = []
    for order in (steps, data.draw(st.permutations(steps))):
        with taken_back():
            for step in order:
                try:
                    do(house, step, None)
                except Refused as refused:
                    assert refused.refusal.code == "chemistry.refilled_already"
            found.append([(o.since, o.area_mm2, o.due_pl, o.outstanding_pl) for o in queries.standings(NOW)])
    assert found[0] == found[1]


def past(house, number, *, minute, sheets=2, size="203x254", processor="P-RC"):
    return PastFeed(
        at(minute), house.processors[processor].pk, house.sizes[size].pk, sheets,
        house.sizes[size].width_mm * house.sizes[size].length_mm, "print", "walk-in", None, None, f"k{number}",
    )  # fmt: skip


def test_the_past_in_bulk_gives_the_sums_of_the_acts_and_is_read_only_once(house):
    entries = [
        PastEntry(at(100), house.baths["P-RC", "dev"].pk, "refill", None, None, "", "e1"),
        PastEntry(at(200), house.baths["P-RC", "fix"].pk, "refill", None, None, "", "e2"),
        PastEntry(at(300), house.baths["P-RC", "fix"].pk, "given", 70 * PL_PER_ML, None, "", "e3"),
    ]
    feeds = [past(house, n, minute=n * 7 % 600, sheets=1 + n % 5) for n in range(120)]
    assert actions.record_past_entries(entries, NOW) == 3
    assert actions.record_past_feeds(feeds[:50], NOW) == 50
    assert actions.record_past_feeds([*feeds, feeds[0]], NOW) == 70
    assert actions.record_past_feeds(feeds, NOW) == 0
    assert actions.record_past_entries(entries, NOW) == 0
    check_every_fill()
    assert queries.standings(NOW) == queries.standings(NOW, recount=True)
    dev = next(o for o in queries.standings(NOW) if (o.processor, o.bath) == ("P-RC", "dev"))
    assert dev.area_mm2 == sum(f.sheets * f.sheet_area_mm2 for f in feeds if f.fed_at >= at(100))
    strip = PastStrip(at(1), house.processors["P-RC"].pk, "LD", "R", 1, 2, "s1")
    assert [actions.record_past_strips([strip], NOW) for _ in range(2)] == [1, 0]


def test_entries_may_be_read_before_or_after_the_sheets(house):
    feeds = [past(house, n, minute=n * 11 % 600) for n in range(40)]
    refill = PastEntry(at(250), house.baths["P-RC", "fix"].pk, "refill", None, None, "", "e")
    found = []
    for first_entries in (True, False):
        with taken_back():
            if first_entries:
                actions.record_past_entries([refill], NOW)
            actions.record_past_feeds(feeds, NOW)
            actions.record_past_entries([refill], NOW)
            found.append(queries.standings(NOW))
    assert found[0] == found[1]


def test_the_board_asks_the_same_few_questions_however_long_the_history_is(house, db):
    counts = []
    for batch in ([], [past(house, n, minute=n % 600) for n in range(400)]):
        actions.record_past_feeds(batch, NOW)
        with CaptureQueriesContext(db) as asked:
            queries.standings(NOW)
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 6


def baths_json(*args):
    out = StringIO()
    call_command("baths", "--json", *args, stdout=out)
    return {(line["processor"], line["bath"]): line for line in json.loads(out.getvalue())}


def test_the_command_tells_nanolitres_exactly_and_null_for_what_does_not_apply(house):
    actions.record_past_entries([PastEntry(at(0), house.baths["P-RC", "fix"].pk, "refill", None, None, "", "e")], NOW)
    actions.record_past_feeds([past(house, 1, minute=10, sheets=3)], NOW)
    lines = baths_json("--at", "2026-11-25T14:00:00Z")
    fix, colour = lines["P-RC", "fix"], lines["P-CO", "dev"]
    asked = Fraction(3 * 203 * 254) * 500_000 / 1000  # nL: mm² × µL/m² = pL
    assert (fix["area_mm2"], fix["due_nl"], fix["outstanding_nl"]) == (3 * 203 * 254, asked, asked)
    assert (fix["strokes_due"], fix["remainder_nl"]) == (1, asked - 50_000_000)
    assert fix["since"] == "2026-11-25T04:00:00Z"
    assert fix["age_days"] == pytest.approx(10 / 24)
    assert fix["silver_g_per_l"] == pytest.approx(3 * 203 * 254 / 1e6 * 0.95 / 9)
    assert colour["due_nl"] is None and colour["turnovers"] is None and colour["capacity_used"] == 0
    assert all(isinstance(fix[key], int) for key in ("due_nl", "given_nl", "outstanding_nl", "remainder_nl"))
    assert list(lines) == [("P-CO", "dev"), ("P-RC", "dev"), ("P-RC", "fix")]
    assert lines == baths_json("--at", "2026-11-25T15:00:00+01:00")
    assert baths_json("--at", "2026-11-25T03:59:59Z")["P-RC", "fix"]["since"] is None


def test_the_command_refuses_a_time_without_an_offset_and_prints_a_table(house):
    with pytest.raises(CommandError, match="offset"):
        call_command("baths", "--at", "2026-11-25T14:00:00")
    with pytest.raises(CommandError, match="ISO 8601"):
        call_command("baths", "--at", "yesterday")
    out = StringIO()
    call_command("baths", stdout=out)
    assert [row.split()[:2] for row in out.getvalue().splitlines()[1:]] == [
        ["P-CO", "dev"], ["P-RC", "dev"], ["P-RC", "fix"],
    ]  # fmt: skip
