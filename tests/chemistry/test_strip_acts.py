"""The processor held and let go by its control strips, by the acts and by the pages; both databases."""

from __future__ import annotations

from decimal import Decimal as D
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings.models import Booking, Outage
from studiodesk.chemistry import actions
from studiodesk.chemistry.models import Alert, ControlStrip, Feed, StripCase, StripReading
from studiodesk.chemistry.queries import strips as reads
from studiodesk.chemistry.rules.strips import ACTION
from studiodesk.journal.models import Notice
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.chemistry.test_strips import DAY, HOUR, LIMITS


def test_the_aim_is_the_reference_with_the_correction_of_its_batch(house: Any, now: Any, people: Any) -> None:
    # aim = reference-strip reading + code-number correction factor.  Source: sapiens.itgo.com; minilab manual mirror
    machine = house.processors["P-CO"]
    values = {"reference": D("0.80"), "correction": D("-0.03"), **LIMITS}
    actions.set_strip_aims(processor=machine, aims={("LD", "R"): values}, since=now - DAY, now=now, by=people["staff"])
    assert reads.aims(machine, now)["LD", "R"].aim == D("0.77")
    assert reads.aims(machine, now - 2 * DAY) == {}


@pytest.fixture
def machine(house: Any, now: Any) -> Any:
    aims = {("LD", one): {"reference": D("0.80"), "correction": D(0), **LIMITS} for one in ("R", "G", "B")}
    actions.set_strip_aims(processor=house.processors["P-CO"], aims=aims, since=now - 30 * DAY, now=now)
    return house.processors["P-CO"]


def read(machine: Any, at: Any, red: str, by: Any, **more: Any) -> ControlStrip:
    readings = {("LD", "R"): D(red), ("LD", "G"): D("0.80"), ("LD", "B"): D("0.80")}
    return actions.record_strip(processor=machine, read_at=at, now=at, readings=readings, by=by, **more)


def open_kinds(machine: Any) -> set[str]:
    return set(Alert.objects.filter(processor=machine, cleared_at=None).values_list("kind", flat=True))


def will_come(house: Any, now: Any, who: Any) -> Booking:
    from studiodesk.bookings import actions as bookings

    return bookings.book(
        member=who, station=house.stations["E1"], process=house.processes["ra4"], starts=now + 4 * HOUR,
        ends=now + 6 * HOUR, now=now, by=who,
    )  # fmt: skip


def test_past_action_prints_on_and_a_good_strip_ends_it(machine: Any, now: Any, people: Any) -> None:
    by = people["keyholder"]
    strip = read(machine, now, "0.89", by)
    assert (strip.verdict, strip.rule) == (ACTION, "LD R") and open_kinds(machine) == {"strip past action"}
    assert not StripCase.objects.exists() and not Outage.objects.exists()
    assert Alert.objects.get(kind="strip past action").facts == {"rule": "LD R", "off": "0.0900"}
    read(machine, now + HOUR, "0.81", by)
    assert open_kinds(machine) == set()


def test_a_confirmed_strip_holds_the_processor_and_tells_its_bookings(
    house: Any, machine: Any, now: Any, people: Any
) -> None:
    by = people["keyholder"]
    mine = will_come(house, now, people["member"])
    other = will_come_rc(house, now)
    first = read(machine, now, "0.95", by)
    assert open_kinds(machine) == {"second strip"} and not Outage.objects.exists()
    second = read(machine, now + HOUR / 4, "0.69", by)
    assert open_kinds(machine) == {"processor held"}
    case = StripCase.objects.get()
    assert (case.first, case.second, case.ended_at) == (first, second, None)
    outage = case.outage
    assert outage is not None and outage.cause == "fault"
    assert list(outage.resources.values_list("pk", flat=True)) == [machine.resource_id]
    told = Notice.objects.filter(code="bookings.hit").values_list("person", flat=True)
    assert list(told) == [mine.member_id] and other.member_id not in told
    read(machine, now + HOUR / 2, "0.89", by)  # past action only: held on
    assert open_kinds(machine) == {"processor held"} and StripCase.objects.get().ended_at is None
    good = read(machine, now + HOUR, "0.80", by)
    case.refresh_from_db()
    assert case.ended_by == good and open_kinds(machine) == set()
    assert not Outage.objects.filter(ends__gt=now + HOUR).exists()
    mine.refresh_from_db()
    assert mine.cancelled_at is None


def will_come_rc(house: Any, now: Any) -> Booking:
    from studiodesk.bookings import actions as bookings

    who = makers.member("Rik")
    return bookings.book(
        member=who, station=house.stations["E2"], process=house.processes["rc"], starts=now + 4 * HOUR,
        ends=now + 6 * HOUR, now=now, by=who,
    )  # fmt: skip


def test_a_second_strip_that_is_good_ends_the_case(machine: Any, now: Any, people: Any) -> None:
    read(machine, now, "0.95", people["keyholder"])
    second = read(machine, now + HOUR, "0.80", people["keyholder"])
    assert StripCase.objects.get().ended_by == second and open_kinds(machine) == set()
    assert not Outage.objects.exists()


def test_a_strip_taken_back_is_as_if_it_had_not_been(machine: Any, now: Any, people: Any) -> None:
    by = people["keyholder"]
    first = read(machine, now, "0.95", by)
    second = read(machine, now + HOUR, "0.95", by)
    assert open_kinds(machine) == {"processor held"}
    actions.take_back_strip(strip=second, now=now + HOUR, by=by)
    assert open_kinds(machine) == {"second strip"} and not Outage.objects.filter(ends__gt=now + HOUR).exists()
    actions.take_back_strip(strip=first, now=now + HOUR, by=by)
    assert open_kinds(machine) == set() and StripCase.objects.get().ended_at == now + HOUR
    with pytest.raises(Refused) as refused:
        actions.take_back_strip(strip=first, now=now + HOUR, by=by)
    assert refused.value.refusal.code == "chemistry.already_corrected"
    third = read(machine, now + HOUR, "0.80", by)
    with pytest.raises(Refused) as refused:
        actions.take_back_strip(strip=third, now=now + 2 * DAY, by=by)
    assert refused.value.refusal.code == "chemistry.not_of_today"


def test_a_late_strip_that_a_later_one_answered_holds_nothing(machine: Any, now: Any, people: Any) -> None:
    by = people["keyholder"]
    read(machine, now, "0.80", by)
    for ago in (2, 1):
        readings = {("LD", "R"): D("0.99")}
        actions.record_strip(processor=machine, read_at=now - ago * HOUR, now=now, readings=readings, by=by)
    assert open_kinds(machine) == set() and not Outage.objects.exists()


def test_by_eye_is_enough_and_the_strip_is_logged_with_it(house: Any, machine: Any, now: Any, people: Any) -> None:
    by = people["keyholder"]
    strip = actions.record_strip(
        processor=machine, read_at=now, now=now, eye="darker", sheet=house.sizes["203x254"], by=by
    )
    assert strip.verdict == ACTION and Feed.objects.get().kind == "control strip"
    for more, code in (
        ({}, "chemistry.strip_says_nothing"),
        ({"readings": {("HD", "R"): D(1)}}, "chemistry.no_aim"),
        ({"readings": {("LD", "R"): D(100)}}, "chemistry.reading_absurd"),
        ({"eye": "matches", "read_at": now + HOUR}, "chemistry.in_the_future"),
    ):
        with pytest.raises(Refused) as refused:
            actions.record_strip(**{"processor": machine, "read_at": now, "now": now, "by": by, **more})
        assert refused.value.refusal.code == code
    assert ControlStrip.objects.count() == 1 and not StripReading.objects.exists()


def test_six_in_a_row_raise_a_drift_and_a_turn_clears_it(machine: Any, now: Any, people: Any) -> None:
    for number in range(6):
        assert open_kinds(machine) == set()
        read(machine, now + number * HOUR, f"0.8{number}", people["keyholder"])
    assert open_kinds(machine) == {"drift"}
    assert Alert.objects.get(kind="drift").facts["patch"] == "LD R"
    read(machine, now + 7 * HOUR, "0.82", people["keyholder"])
    assert open_kinds(machine) == set()


def test_a_held_processor_stays_so_when_its_outage_ends(machine: Any, now: Any, people: Any) -> None:
    by = people["keyholder"]
    read(machine, now, "0.95", by)
    read(machine, now + HOUR, "0.95", by)
    first = StripCase.objects.get().outage
    assert first is not None and actions.review_strips(now=now + 2 * HOUR) == 0
    later = first.ends - HOUR
    assert actions.review_strips(now=later) == 1 and actions.review_strips(now=later) == 0
    second = StripCase.objects.get().outage
    assert second is not None and (second.starts, second.ends > first.ends + 20 * HOUR) == (first.ends, True)
    read(machine, second.starts + HOUR, "0.80", by)
    assert not Outage.objects.filter(ends__gt=second.starts + HOUR).exists() and open_kinds(machine) == set()


def test_who_puts_it_back_in_service_at_the_desk_is_not_overruled(machine: Any, now: Any, people: Any) -> None:
    from studiodesk.bookings import actions as bookings

    by = people["keyholder"]
    read(machine, now, "0.95", by)
    read(machine, now + HOUR, "0.95", by)
    outage = StripCase.objects.get().outage
    bookings.end_early(outage=outage, now=now + 2 * HOUR, by=by)
    assert actions.review_strips(now=now + 3 * HOUR) == 0 == actions.review_strips(now=now + 3 * DAY)
    assert not Outage.objects.filter(ends__gt=now + 2 * HOUR).exists()
    assert open_kinds(machine) == {"processor held"}  # until a strip is good
    read(machine, now + 4 * HOUR, "0.80", by)
    assert open_kinds(machine) == set()


# --- the pages ----------------------------------------------------------------------------------------------------


def words(response_: Any) -> str:
    return " ".join(soup_of(response_).main.get_text(" ").split())


def test_from_aims_to_a_released_processor_by_the_pages(house: Any, now: Any, people: Any) -> None:
    staff, keyholder = client_of(people["staff"]), client_of(people["keyholder"])
    page = "/processors/P-CO/strips/"
    assert "No strip was read here yet" in words(keyholder.get(page))
    aims = {"patch": "LD", "channels": "R G B", "references": "0,80 0.78 0.82", "correction": "0.01", "batch": "7",
            "action_below": "0.08", "action_above": "0.08", "control_below": "0.10", "control_above": "0,10",
            "spread_action": "0.08", "source": "Strip maker's sheet", "since": "2026-11-25T14:30",
            "key": "a"}  # fmt: skip
    answer = staff.post(page + "aims/", aims | {"references": "0.80 0.78", "key": "b"})
    assert answer.status_code == 422 and "one figure for each channel" in words(answer)
    assert "batch 7" in words(staff.post(page + "aims/", aims, follow=True))
    new = soup_of(keyholder.get(page + "new/")).main
    assert "Aim 0.81" in new.get_text(" ")
    sent = {"at": "2026-11-25T14:45", "read:LD:R": "0,95", "read:LD:G": "0.79", "read:LD:B": "0.83", "key": "c"}
    said = soup_of(keyholder.post(page + "new/", sent, follow=True)).get_text(" ")
    assert "past a control limit" in said and "Run a second strip now" in said
    assert "LD R: +0.14, its limit is +0.1" in words(keyholder.get(page))
    said = soup_of(keyholder.post(page + "new/", sent | {"at": "2026-11-25T14:50", "key": "d"}, follow=True))
    assert "Nothing goes through" in said.get_text(" ")
    assert ControlStrip.objects.count() == 2
    assert "held" in soup_of(keyholder.get("/alerts/")).get_text(" ")
    table = words(keyholder.get(page + "?view=table"))
    assert "LD R +0.14; LD G 0; LD B 0; LD spread +0.14" in table
    good = sent | {"at": "2026-11-25T14:55", "read:LD:R": "0.81", "key": "e"}
    assert "inside its limits" in soup_of(keyholder.post(page + "new/", good, follow=True)).get_text(" ")
    assert StripCase.objects.get().ended_at is not None
    nothing = keyholder.post(page + "new/", {"at": "2026-11-25T14:58", "key": "f"})
    assert nothing.status_code == 422 and "says nothing yet" in words(nothing)
    assert keyholder.get(page + "aims/").status_code == 403


def test_readings_of_a_file_are_drawn_against_their_own_aims(house: Any, now: Any, people: Any) -> None:
    machine = house.processors["P-CO"]
    for number in range(3):
        StripReading.objects.create(
            processor=machine, read_at=now - (3 - number) * DAY, recorded_at=now, patch="LD", channel="R",
            aim=D("0.80"), reading=D("0.80") + D(number) / 100, file_key=f"k{number}",
        )  # fmt: skip
    page = client_of(people["keyholder"]).get("/processors/P-CO/strips/")
    soup = soup_of(page)
    assert len(soup.select("svg.history path.reading")) == 3 and "from a file" in soup.get_text(" ")
    assert "LD R +0.02" in words(page)
