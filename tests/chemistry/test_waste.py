"""Waste containers by stream, the balance of the silver, pick-ups with their receipts."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert, ContainerEntry, PickUp
from studiodesk.chemistry.queries import waste as reads
from studiodesk.chemistry.rules.waste import (
    COLLECTED,
    CONNECTED,
    DISCONNECTED,
    MEASURED,
    POURED_IN,
    Line,
    Out,
    content,
    ends_soon,
    is_nearly_full,
)
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.chemistry.test_recount import NOW, at, do, steps, taken_back
from tests.desk.baths import log, write

T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
FIX = ("P-RC", "fix")
SHEET = 203 * 254


def steadily(moment: datetime) -> Out:
    """A litre with a gram of silver runs off each hour."""
    hours = max(0, int((moment - T0) / HOUR))
    return Out(hours * PL_PER_L, hours * 1e12)


# --- the rule -----------------------------------------------------------------------------------------------------


def test_a_container_takes_what_runs_off_while_it_is_connected() -> None:
    lines = [Line(T0 + HOUR, CONNECTED), Line(T0 + 4 * HOUR, DISCONNECTED), Line(T0 + 6 * HOUR, CONNECTED)]
    now = content(lines, steadily, T0 + 8 * HOUR)
    assert (now.level_pl, now.silver_pg, now.is_connected) == (5 * PL_PER_L, 5e12, True)
    assert content(lines, steadily, T0 + 5 * HOUR).level_pl == 3 * PL_PER_L  # nothing came after it was taken off
    assert not content(lines, steadily, T0 + 5 * HOUR).is_connected
    assert content(lines[:1], steadily, T0).level_pl == 0


def test_a_measured_level_corrects_the_reckoned_one_and_leaves_the_silver() -> None:
    lines = [Line(T0, CONNECTED), Line(T0 + 4 * HOUR, MEASURED, 3 * PL_PER_L)]
    now = content(lines, steadily, T0 + 5 * HOUR)
    assert (now.level_pl, now.corrected_pl, now.silver_pg) == (4 * PL_PER_L, -PL_PER_L, 5e12)


def test_what_is_collected_takes_its_share_of_the_silver() -> None:
    lines = [
        Line(T0, CONNECTED),
        Line(T0 + 2 * HOUR, POURED_IN, 2 * PL_PER_L, 1e12),
        Line(T0 + 4 * HOUR, COLLECTED, 3 * PL_PER_L),
    ]
    half = content(lines, steadily, T0 + 4 * HOUR)
    assert (half.level_pl, half.gone_pl) == (3 * PL_PER_L, 3 * PL_PER_L)
    assert half.silver_pg == half.gone_silver_pg == pytest.approx(2.5e12)
    everything = content([*lines[:2], Line(T0 + 4 * HOUR, COLLECTED)], steadily, T0 + 4 * HOUR)
    assert (everything.level_pl, everything.silver_pg, everything.gone_silver_pg) == (0, 0.0, 5e12)


kinds = st.sampled_from([CONNECTED, DISCONNECTED, POURED_IN, MEASURED, COLLECTED])


@given(
    st.lists(
        st.tuples(st.integers(0, 50), kinds, st.none() | st.integers(0, 9 * PL_PER_L), st.floats(0, 1e12)), max_size=12
    ),
    st.integers(0, 60),
)
def test_of_what_went_in_nothing_is_lost(rows: list[tuple[int, str, int | None, float]], until: int) -> None:
    """Liquid to the picolitre: in = standing + gone − corrections.  Silver likewise, a level corrects none of it."""
    lines = [
        Line(T0 + hours * HOUR, what, pl, silver if what == POURED_IN else 0.0)
        for hours, what, pl, silver in sorted(rows, key=lambda row: row[0])
        if not (what in (POURED_IN, MEASURED) and pl is None)
    ]
    now = content(lines, steadily, T0 + until * HOUR)
    poured = sum(one.pl or 0 for one in lines if one.what == POURED_IN and one.at <= T0 + until * HOUR)
    assert now.took.pl + poured == now.level_pl + now.gone_pl - now.corrected_pl
    assert now.took.silver_pg + now.poured_in_pg == pytest.approx(now.silver_pg + now.gone_silver_pg, abs=1e3)
    assert now.level_pl >= 0 and now.silver_pg >= 0


def test_nearly_full_and_ending_soon() -> None:
    assert is_nearly_full(80, 100) and not is_nearly_full(79, 100)
    today = date(2026, 11, 25)
    assert ends_soon(today + timedelta(days=60), today) and not ends_soon(today + timedelta(days=61), today)
    assert not ends_soon(None, today)


# --- the acts -----------------------------------------------------------------------------------------------------


@pytest.fixture
def drum(house: Any, now: Any) -> Any:
    stream = actions.keep_stream(
        code="fixer", name="Fixer", bears_silver=True, conditions="Kept apart.", baths=[house.baths[FIX]], now=now
    )
    return actions.keep_waste_container(
        code="W-1", name="Fixer drum", stream=stream, capacity_pl=10 * PL_PER_L, place="Yard", now=now - 9 * DAY
    )


def stands(drum: Any, now: datetime) -> Any:
    [one] = reads.stood(now, of=[drum])
    return one


def refused(act: Any, **given: Any) -> str:
    with pytest.raises(Refused) as found:
        act(**given)
    return found.value.refusal.code


def test_a_drum_takes_the_overflow_and_the_dumps_of_its_stream(house: Any, now: Any, drum: Any) -> None:
    write(house, "refill", now - 8 * DAY)
    actions.connect_container(container=drum, at=now - 8 * DAY, now=now - 8 * DAY)
    log(house, now - 7 * DAY, count=40)  # 40 sheets bring 40·w·l·0.95 g/m² of silver
    write(house, "given", now - 7 * DAY + HOUR, amount_pl=1000 * PL_PER_ML)  # over the weir
    over = stands(drum, now - 6 * DAY).content
    assert over.level_pl == 1000 * PL_PER_ML
    brought = 40 * SHEET * 950_000
    assert over.silver_pg == pytest.approx(brought * (1 - 9 / 10))  # Ag·V/(V + d) stays
    assert stands(drum, now - 7 * DAY - HOUR).content.level_pl == 0
    write(house, "refill", now - 2 * DAY)  # the old tank is poured away as it stood: all 9 L of it
    assert drum.capacity_pl == 10 * PL_PER_L
    full = stands(drum, now)
    assert full.content.level_pl == 10 * PL_PER_L and full.used == 1.0
    assert full.content.silver_pg == pytest.approx(brought)
    balance = reads.balance(now)
    assert balance.brought_pg == brought and balance.missing_pg == pytest.approx(0, abs=1e3)
    assert balance.in_containers_pg == pytest.approx(brought) and balance.uncaught_pg == pytest.approx(0, abs=1e3)
    [alert] = Alert.objects.filter(kind="waste full", cleared_at=None) or [None]
    assert alert is None  # the timer has not looked yet
    actions.review_waste(now=now)
    assert Alert.objects.get(kind="waste full", cleared_at=None).facts == {"percent": 100}
    actions.pick_up(
        containers=[drum], contractor="Yard & Sons", receipt="R 17", keep_until=now.date() + timedelta(days=1095),
        silver_mg=9_800, at=now, now=now,
    )  # fmt: skip
    assert stands(drum, now).content.level_pl == 0
    assert reads.balance(now).collected_pg == pytest.approx(brought)
    assert not Alert.objects.filter(kind="waste full", cleared_at=None).exists()


def test_another_container_of_the_stream_takes_over(house: Any, now: Any, drum: Any) -> None:
    other = actions.keep_waste_container(
        code="W-2", name="Second drum", stream=drum.stream, capacity_pl=10 * PL_PER_L, place="", now=now
    )
    write(house, "refill", now - 8 * DAY)
    actions.connect_container(container=drum, at=now - 8 * DAY, now=now)
    write(house, "given", now - 7 * DAY, amount_pl=300 * PL_PER_ML)
    actions.connect_container(container=other, at=now - 6 * DAY, now=now)
    write(house, "given", now - 5 * DAY, amount_pl=200 * PL_PER_ML)
    assert [one.content.level_pl // PL_PER_ML for one in reads.stood(now)] == [300, 200]
    assert [one.content.is_connected for one in reads.stood(now)] == [False, True]


def test_streams_are_never_mixed(house: Any, now: Any, drum: Any) -> None:
    dev = actions.keep_stream(
        code="dev", name="Developer", bears_silver=False, conditions="", baths=[house.baths["P-RC", "dev"]], now=now
    )
    good = {"container": drum, "what": drum.stream, "amount_pl": PL_PER_L, "at": now, "now": now}
    for change, said in (
        ({"what": dev}, "chemistry.other_waste"),
        ({"amount_pl": 11 * PL_PER_L}, "chemistry.waste_over_its_edge"),
        ({"amount_pl": 0}, "chemistry.amount_needed"),
        ({"at": now + HOUR}, "chemistry.in_the_future"),
    ):
        assert refused(actions.pour_into_container, **good | change) == said
    entry = actions.pour_into_container(**good)
    kept = {"code": "W-1", "name": "x", "capacity_pl": PL_PER_L, "place": "", "now": now}
    assert refused(actions.keep_waste_container, **kept, stream=dev) == "chemistry.stream_stays"
    actions.take_back_container_entry(entry=entry, now=now)
    assert stands(drum, now).content.level_pl == 0
    assert refused(actions.take_back_container_entry, entry=entry, now=now) == "chemistry.already_corrected"
    later = actions.pour_into_container(**good)
    assert refused(actions.take_back_container_entry, entry=later, now=now + DAY) == "chemistry.not_of_today"


def test_a_bath_keeps_the_stream_that_a_container_was_connected_for(house: Any, now: Any, drum: Any) -> None:
    fix, dev = house.baths[FIX], house.baths["P-RC", "dev"]
    other = {"code": "other", "name": "Other", "bears_silver": False, "conditions": "", "now": now}
    same = {"code": "fixer", "name": "Fixer", "bears_silver": True, "conditions": "", "now": now}
    actions.keep_stream(**same, baths=[fix, dev])
    actions.keep_stream(**same, baths=[fix])  # nothing is connected yet: it may leave
    actions.connect_container(container=drum, at=now, now=now)
    assert refused(actions.keep_stream, **other, baths=[fix]) == "chemistry.bath_keeps_stream"
    assert refused(actions.keep_stream, **same, baths=[]) == "chemistry.bath_keeps_stream"
    actions.keep_stream(**same, baths=[fix, dev])


def test_a_pick_up_has_a_receipt_that_is_kept(house: Any, now: Any, drum: Any) -> None:
    actions.pour_into_container(container=drum, what=drum.stream, amount_pl=PL_PER_L, at=now, now=now)
    good = {"containers": [drum], "contractor": "Yard", "receipt": "R 1", "keep_until": now.date() + 365 * DAY,
            "at": now, "now": now}  # fmt: skip
    assert refused(actions.pick_up, **good | {"containers": []}) == "chemistry.nothing_collected"
    assert refused(actions.pick_up, **good | {"keep_until": now.date()}) == "chemistry.kept_too_short"
    assert refused(actions.pick_up, **good | {"at": now + HOUR}) == "chemistry.in_the_future"
    assert not PickUp.objects.exists() and stands(drum, now).content.level_pl == PL_PER_L
    actions.pick_up(**good)
    assert refused(actions.pick_up, **good) == "chemistry.receipt_there"
    [entry] = ContainerEntry.objects.filter(event="collected")
    assert refused(actions.take_back_container_entry, entry=entry, now=now) == "chemistry.is_of_a_receipt"


def test_a_permit_that_ends_is_said_until_a_newer_one_follows(house: Any, now: Any) -> None:
    first = {
        "number": "P-1",
        "issued_by": "Water authority",
        "conditions": "No silver.",
        "valid_from": date(2026, 1, 1),
    }
    actions.keep_permit(**first, valid_until=date(2027, 1, 5), now=now)
    [alert] = Alert.objects.filter(kind="permit ends", cleared_at=None)
    assert alert.facts == {"number": "P-1", "day": "2027-01-05"}
    actions.keep_permit(**first | {"number": "P-2"}, valid_until=date(2029, 1, 5), now=now)
    assert not Alert.objects.filter(kind="permit ends", cleared_at=None).exists()
    assert (
        refused(actions.keep_permit, **first, valid_until=date(2025, 1, 1), now=now) == "chemistry.permit_ends_before"
    )


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=steps, connected=st.integers(0, 600), taken=st.integers(0, 600))
def test_the_silver_of_a_whole_house_closes(house: Any, steps: Any, connected: int, taken: int) -> None:
    """In by area + corrections = tanks + containers + collected + lost + uncaught, whatever was done in what order."""
    with taken_back():
        keyholder = makers.member("Kim", is_keyholder=True)
        stream = actions.keep_stream(
            code="f", name="F", bears_silver=True, conditions="", baths=[house.baths[FIX]], now=at(0)
        )
        drum = actions.keep_waste_container(
            code="W", name="W", stream=stream, capacity_pl=90 * PL_PER_L, place="", now=at(0)
        )
        for step in steps:
            try:
                do(house, step, keyholder)
            except Refused:
                continue
        actions.connect_container(container=drum, at=at(connected), now=NOW)
        actions.pick_up(
            containers=[drum], contractor="x", receipt="x", keep_until=NOW.date() + 365 * DAY, at=at(taken), now=NOW
        )
        balance = reads.balance(NOW)
        assert balance.missing_pg == pytest.approx(0, abs=1e-6 * max(1e12, balance.brought_pg))
        assert balance.uncaught_pg >= -1e6 and balance.in_containers_pg >= 0
        lines = queries.standings(NOW, recount=True)
        in_tanks = sum((line.silver_ug_per_l or 0) * line.level_pl / PL_PER_L * 1e6 for line in lines)
        assert balance.in_tanks_pg == pytest.approx(in_tanks, rel=1e-6, abs=1e6)


# --- the pages ----------------------------------------------------------------------------------------------------


def test_from_a_stream_to_a_receipt_by_the_pages(house: Any, now: Any, people: Any) -> None:
    staff, keyholder = client_of(people["staff"]), client_of(people["keyholder"])
    fix = house.baths[FIX]
    staff.post("/waste/streams/new/", {"name": "Fixer", "bears_silver": "on", "baths": [str(fix.pk)], "key": "a"})
    staff.post("/waste/permits/new/", {"number": "P-1", "issued_by": "Water", "conditions": "pH 6 to 9",
                                       "valid_from": "2026-01-01", "key": "b"})  # fmt: skip
    staff.post("/waste/containers/new/", {"name": "Drum", "code": "W-1", "stream": "fixer", "litres": "20",
                                          "in_use": "on", "key": "c"})  # fmt: skip
    stamp = now.astimezone().strftime("%Y-%m-%dT%H:%M")
    assert "Its conditions" in soup_of(staff.get("/waste/permits/new/")).get_text(" ")
    page = "/waste/containers/W-1/"
    wrong = keyholder.post(page, {"deed": "level", "level-at": "2026-11-25T14:00", "level-level": "21", "key": "d"})
    assert wrong.status_code == 422 and "holds 20" in soup_of(wrong).get_text(" ") and stamp
    keyholder.post(page, {"deed": "connect", "connect-at": "2026-11-25T14:00", "key": "e"})
    keyholder.post(page, {"deed": "level", "level-at": "2026-11-25T14:30", "level-level": "17", "key": "f"})
    said = " ".join(soup_of(keyholder.get("/waste/")).main.get_text(" ").split())
    assert "17 L of 20 L, 85 %" in said and "pH 6 to 9" in said and "connected" in said
    assert "Local rules, the water authority and the waste contractor decide" in said and "drain" not in said
    taken = {"at": "2026-11-25T14:45", "containers": ["W-1"], "contractor": "Yard", "receipt": "R 9",
             "keep_until": "2029-11-25", "silver": "12.5", "key": "g"}  # fmt: skip
    keyholder.post("/waste/pick-up/", taken)
    keyholder.post("/waste/pick-up/", taken)  # sent twice: written once
    said = " ".join(soup_of(keyholder.get("/waste/")).main.get_text(" ").split())
    assert "0 L of 20 L" in said and "receipt R 9" in said and "12.5 g of silver measured" in said
    assert PickUp.objects.count() == 1
    entry = ContainerEntry.objects.get(event="measured")
    keyholder.post(f"{page}entry/{entry.pk}/undo/")
    assert ContainerEntry.objects.filter(undoes=entry).exists()
