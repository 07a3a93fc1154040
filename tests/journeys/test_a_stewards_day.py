"""A steward's day with the chemistry, from opening to closing, with JavaScript and without."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Outage
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry import queries
from studiodesk.chemistry.models import Alert, Bath, BathEntry, Feed, Mix, PickUp, StripCase
from studiodesk.chemistry.queries.mixing import content_of
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations import actions as house
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.units import PL_PER_ML
from tests.chemistry.shelf import shelf
from tests.statement import keeps

from .conftest import NOW, page_of
from .desk import Desk
from .people import log_in

HOUR, WEEK = timedelta(hours=1), timedelta(weeks=1)
WHEN = "2026-11-25T14:00"


#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "desk"),
    [("sqlite", False), ("postgres", True)],
    ids=["sqlite-without-javascript", "postgres-with-javascript"],
    indirect=True,
)


@pytest.fixture
def desk(request: pytest.FixtureRequest, site: Any, browser: Any) -> Any:
    """The house as it stands at two in the afternoon: stock on the shelves, a list for opening, one colour booking."""
    staff = Member.objects.get(name="Staff")
    fix = Bath.objects.get(processor__code="T-FB", code="stop")
    shelf(NOW - WEEK, by=staff, feeds_bath=fix)
    machine = Processor.objects.get(code="P-RC")
    for code, name, occasion in (
        ("levels", "Levels looked at", "at opening"),
        ("racks", "Racks out and brushed", "at a bath change"),
        ("lids", "Lids on", "at closing"),
    ):
        house.keep_job(code=code, name=name, occasion=occasion, processor=machine, now=NOW - WEEK, by=staff)
    for bath in Bath.objects.all():
        chemistry.record_bath_entry(bath=bath, event="refill", at=NOW - 8 * WEEK / 7, now=NOW - 8 * WEEK / 7)
    page = page_of(browser, javascript=request.param)
    log_in(page, site, "staff")
    yield Desk(page, site)
    assert page.faults == []


def colour_booking() -> Any:
    member = Member.objects.get(name="Member")
    for note in SafetyNote.objects.all():
        safety.acknowledge(note=note, member=member, now=NOW - WEEK)
    return bookings.book(
        member=member, by=member, station=Station.objects.get(code="E3"), process=Process.objects.get(code="ra4"),
        starts=NOW + 4 * HOUR, ends=NOW + 6 * HOUR, now=NOW - WEEK / 7,
    )  # fmt: skip


@keeps("plain")
def test_open_mix_and_replenish(desk: Any) -> None:
    desk.go("/processors/P-RC/day/")
    desk.press("Begin its opening")
    desk.press("^Done.*Levels looked at")
    desk.press("Ready for paper")
    desk.says("ready since|open since")
    # what wants replenishing is mixed first, from the lot that expires first, and gets its label
    desk.go("/mixing/")
    desk.press("Fixer for RC", role="link")
    desk.page.get_by_label("How much in all").fill("1")
    desk.press("Show the steps")
    desk.says("200 mL", "600 mL", "Lot A", "Splashes: eye protection", "acid goes into water")
    desk.page.get_by_label("Poured into").select_option("CAN")
    desk.press("It is mixed")
    mix = Mix.objects.get()
    assert mix.made_pl == 1000 * PL_PER_ML and [one.lot.code for one in mix.parts.all() if one.lot] == ["A"]
    desk.go(f"/mixing/mix/{mix.number}/")
    desk.says("Fixer for RC", "Staff", "Irritates the eyes")
    # sheets through the trays make the stop bath ask; it is given from the can
    desk.go("/sheets/")
    desk.page.get_by_label("Processor").select_option("T-FB")
    desk.page.get_by_label("Size").select_option("305x406")
    desk.page.get_by_label("Sheets").fill("12")
    desk.page.get_by_label("What they were").select_option("print")
    desk.page.get_by_label("Whose they were").select_option("house")
    desk.press("Log the sheets")
    assert Feed.objects.get().sheets == 12
    desk.go("/desk/")
    desk.says("Stop bath")
    desk.go("/baths/T-FB/stop/replenishment/")
    # 12 · 305 · 406 mm² · 150 mL/m² = 222.9 mL: four measures of 50 mL
    assert desk.page.get_by_label("Amount in mL").input_value() == "200"
    desk.press("Log what was given")
    entry = BathEntry.objects.get(event="given")
    assert entry.amount_pl == 200 * PL_PER_ML
    assert entry.mix == mix and content_of(mix.container, NOW + HOUR).level_pl == 800 * PL_PER_ML
    [line] = queries.standings(NOW + HOUR, of=[Bath.objects.get(processor__code="T-FB", code="stop")])
    assert line.outstanding_pl == 12 * 305 * 406 * 150_000 - 200 * PL_PER_ML
    desk.go("/processors/P-RC/day/")
    desk.press("^Done.*Lids on")
    desk.press("Closed for today")
    desk.says("closed 14:0")


def test_a_bad_strip_holds_the_processor_until_a_good_one(desk: Any) -> None:
    mine = colour_booking()
    desk.go("/processors/P-CO/strips/aims/")
    desk.write(patch="LD", references="0.80 0.78 0.82", action_above="0.08", action_below="0.08",
               control_above="0.10", control_below="0.10", source="Strip maker's sheet")  # fmt: skip
    desk.press("Put them in force")
    for number, red in enumerate(("0.95", "0.96", "0.81")):
        desk.go("/processors/P-CO/strips/new/")
        desk.write(read_of_LD_of_R=red, read_of_LD_of_G="0.78", read_of_LD_of_B="0.82")
        desk.press("Write down the strip")
        if number == 0:
            desk.page.get_by_text("A second strip is asked for").wait_for()
            assert not Outage.objects.exists()
        elif number == 1:
            desk.page.get_by_text("Held.").wait_for()
            outage = StripCase.objects.get().outage
            assert outage is not None
            desk.press("Its bookings", role="link")
            desk.says("Member")
            desk.go("/alerts/")
            desk.says("held, its control strips are past their limits")
    desk.says("Leave everything as it is")
    assert StripCase.objects.get().ended_at is not None
    assert not Outage.objects.filter(ends__gt=NOW + HOUR).exists()
    assert not Alert.objects.filter(processor__code="P-CO", cleared_at=None).exists()
    mine.refresh_from_db()
    assert mine.cancelled_at is None


def test_change_a_bath_look_after_its_waste_and_close_the_trays(desk: Any) -> None:
    desk.go("/waste/")
    desk.press("Add a stream", role="link")
    desk.page.get_by_label("Name").fill("Fixer")
    desk.page.get_by_label("It bears silver").check()
    desk.page.get_by_label("Fixer, RC processor, 51 cm").check()
    desk.press("Keep the stream")
    desk.press("Add a container", role="link")
    desk.page.get_by_label("What stands on it").fill("Drum")
    desk.page.get_by_label("Its mark").fill("W-1")
    desk.page.get_by_label("Its stream").select_option("fixer")
    desk.page.get_by_label("It holds, in L").fill("20")
    desk.press("Keep the container")
    desk.press("Drum", role="link")
    desk.press("It is connected")
    desk.says("It takes what its baths give off")
    desk.go("/baths/P-RC/fix/change/")
    desk.press("The steps of a bath change", role="link")
    desk.press("^Done.*Racks out")
    desk.says("1 of 1 steps")
    desk.press("^Fixer$", role="link")
    desk.press("The bath was changed")
    desk.go("/waste/")
    desk.says("9 L of 20 L, 45 %")  # the old tank, as it stood
    desk.press("Write down a pick-up", role="link")
    desk.page.get_by_label("Drum").check()
    desk.write(contractor="Yard")
    desk.page.get_by_label("Number of the receipt").fill("R 1")
    desk.press("Write down the pick-up")
    desk.says("0 L of 20 L", "receipt R 1")
    assert PickUp.objects.get().keep_until.year == 2029
    desk.go("/processors/T-FB/trays/?closing=1")
    desk.press("The trays are closed")
    bottled = [line.bath for line in queries.standings(NOW + HOUR) if line.bottled_at or line.is_empty]
    assert {"dev", "fix1"} <= set(bottled)
    desk.go("/baths/P-RC/dev/figures/")
    desk.page.get_by_label("Where these figures come from").fill("Data sheet 4")
    desk.press("See what they lead to")
    desk.says("Nothing is changed yet")
    desk.press("Put them in force")
    desk.go("/cost/")
    desk.says("What the chemistry cost", "EUR")
