"""Shifts, keys and a processor's opening in every standing, for the pages that show them."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Bath
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.stations import actions as house
from studiodesk.stations import queries
from studiodesk.stations.models import Process, Processor
from studiodesk.timekeeping import Span
from studiodesk.units import PL_PER_L, PL_PER_ML
from tests.chemistry.shelf import mixed, shelf


def opened(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """Two weeks of shifts in every standing, and keys that are out, lost and in the house."""
    staff, keyholder = people["staff"], people["keyholder"]
    house.plan_shifts(first=now.date(), weeks=2, now=now, by=staff)
    shifts = list(queries.shifts(Span(now, now + timedelta(days=14))))
    running = house.add_shift(span=Span(now, now + timedelta(hours=8)), now=now, by=staff)
    for shift, person in ((running, keyholder), (shifts[0], people["tutor"]), (shifts[1], people["tutor"])):
        house.take_shift(shift=shift, now=now, by=person)
    house.begin_shift(shift=running, now=now, by=keyholder)
    house.hand_over(shift=running, note="The tap of the sink drips.\nFixer for film runs out.", now=now, by=keyholder)
    house.set_supervises(shift=shifts[0], supervises=True, now=now, by=people["tutor"])
    house.ask_swap(shift=shifts[1], now=now, by=people["tutor"])
    house.call_off(shift=shifts[2], now=now, by=staff)
    for code, sort in (("K-07", "key"), ("K-08", "key"), ("F-01", "fob")):
        key = doors.add_key(code=code, sort=sort, opens="front door and darkroom", now=now, by=staff)
        if sort == "key":
            doors.hand_out(key=key, holder=keyholder, now=now, by=staff)
        if code == "K-08":
            doors.report_lost(key=key, now=now, by=staff)
    return {"mine": running.pk, "uncovered": shifts[3].pk}


def stocked(people: dict[str, Member], now: datetime) -> None:
    """Two lots of fixer, one of which has expired, and a mix that was poured over in part."""
    earlier = now - timedelta(days=40)
    shelves = shelf(earlier, by=people["staff"])
    mix = mixed(shelves, earlier, 1500, "B5", by=people["keyholder"])
    can = shelves.containers["CAN"]
    chemistry.move_mix(source=mix.container, target=can, amount_pl=400 * 10**9, now=now, by=people["keyholder"])
    chemistry.review_stock(now=now)


def at_work(people: dict[str, Member], now: datetime) -> None:
    """Jobs of the house, and a processor that is being opened, its developer still too cold."""
    machine, keyholder = Processor.objects.get(code="P-RC"), people["keyholder"]
    made: list[dict[str, Any]] = [
        {"code": "eyewash", "name": "Eyewash run", "occasion": "every so many days", "every_days": 7},
        {"code": "water", "name": "Water topped up first", "occasion": "at opening", "processor": machine},
        {"code": "temperature", "name": "Developer temperature", "occasion": "at opening", "processor": machine,
         "asks": "a number", "unit": "°C", "at_least": 33, "at_most": 35, "caution": "Gloves and eye protection."},
        {"code": "lids", "name": "Lids on", "occasion": "at closing", "processor": machine},
    ]  # fmt: skip
    jobs = {fields["code"]: house.keep_job(now=now - timedelta(days=9), **fields)[0] for fields in made}
    opening = house.begin_opening(processor=machine, now=now, by=keyholder)
    chemistry.do_job(job=jobs["water"], now=now, by=keyholder, opening=opening)
    chemistry.do_job(job=jobs["temperature"], now=now, by=keyholder, opening=opening, value=Decimal("31.5"))
    house.keep_job(
        code="racks", name="Racks out, crossovers brushed", occasion="at a bath change", processor=machine, now=now
    )


def looked_after(people: dict[str, Member], now: datetime) -> None:
    """Kinds of paper, a pump measured twice, a bottle that fell by more than the book knows, two baths of a pair."""
    staff, keyholder = people["staff"], people["keyholder"]
    chemistry.keep_size(
        code="R610",
        name="61 cm roll",
        inches="24 in roll",
        centimetres="61 cm roll",
        sort="roll",
        width_mm=610,
        now=now,
    )
    for code, name in (("resin", "Resin-coated"), ("baryta", "Baryta, fibre based")):
        through = Process.objects.filter(code__in=["rc", "fb"] if code == "baryta" else ["rc"])
        chemistry.keep_paper(code=code, name=name, processes=through, now=now, by=staff)
    dev = Bath.objects.get(processor__code="P-RC", code="dev")
    for ago, caught in ((9, (12, 12, 12)), (2, (13, 13, 14))):
        at = now - timedelta(days=ago)
        chemistry.calibrate_pump(
            bath=dev, strokes_each=1, caught_pl=[one * PL_PER_ML for one in caught], at=at, now=at, by=keyholder
        )
    bottle = chemistry.keep_bottle(
        bath=dev, code="R-1", name="Developer replenisher", capacity_pl=20 * PL_PER_L, floating_lid=True, now=now
    )
    for ago, level, poured in ((14, 6000, 0), (7, 4000, 9000), (0, 9000, 0)):
        at = now - timedelta(days=ago)
        chemistry.read_bottle(
            container=bottle, at=at, level_pl=level * PL_PER_ML, poured_in_pl=poured * PL_PER_ML, now=at, by=keyholder
        )
    first = Bath.objects.get(processor__code="T-FB", code="fix1")
    second = Bath.objects.filter(processor=first.processor_id).exclude(pk=first.pk).latest("position")
    chemistry.put_figures_in_force(
        bath=first, figures={"rotations_limit": 4}, since=now, now=now, next_bath=second, keep_next=False, by=staff
    )


def kept_apart(people: dict[str, Member], now: datetime) -> None:
    """Control strips against their aims, the last past its limits; waste by stream, with a permit and a receipt."""
    staff, keyholder, machine = people["staff"], people["keyholder"], Processor.objects.get(code="P-CO")
    limits = {f"{kind}_{side}": sign * Decimal(far) for kind, far in (("action", "0.08"), ("control", "0.10"))
              for side, sign in (("below", -1), ("above", 1))}  # fmt: skip
    aims = {("LD", one): {"reference": Decimal("0.80"), "correction": Decimal(0), **limits} for one in ("R", "G", "B")}
    chemistry.set_strip_aims(
        processor=machine, aims=aims, since=now - timedelta(days=30), now=now, batch="7", source="Its sheet", by=staff
    )
    for ago, off in enumerate(("0.09", "0.06", "0.03", "0.02", "-0.01", "0.01")):
        read = {("LD", one): Decimal("0.80") + Decimal(off) * part for one, part in (("R", 1), ("G", -1), ("B", 0))}
        at = now - timedelta(days=ago)
        chemistry.record_strip(processor=machine, read_at=at, now=now, readings=read, by=keyholder)
    baths = list(Bath.objects.filter(code__in=["fix", "blix"]))
    stream = chemistry.keep_stream(
        code="fixer",
        name="Fixer and bleach-fix",
        bears_silver=True,
        conditions="Kept apart.",
        baths=baths,
        now=now,
        by=staff,
    )
    drums = [
        chemistry.keep_waste_container(
            code=code, name=f"Drum {code}", stream=stream, capacity_pl=20 * PL_PER_L, place="Yard", now=now, by=staff
        )
        for code in ("W-1", "W-2")
    ]
    chemistry.connect_container(container=drums[0], at=now - timedelta(days=3), now=now, by=keyholder)
    chemistry.measure_container(container=drums[0], level_pl=17 * PL_PER_L, at=now, now=now, by=keyholder)
    chemistry.keep_permit(
        number="OM-1", issued_by="Water authority", conditions="Nothing that bears silver.", valid_from=now.date(),
        valid_until=now.date() + timedelta(days=30), now=now, by=staff,
    )  # fmt: skip
    chemistry.pick_up(
        containers=drums[1:], contractor="Yard", receipt="R 1", keep_until=now.date() + timedelta(days=1095),
        silver_mg=12_000, at=now, now=now, by=keyholder,
    )  # fmt: skip
