"""How Ostermill's chemistry is looked after: names of sizes, a pump, a bottle, control strips, waste.  All invented."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Bath, SheetSize
from studiodesk.chemistry.queries.bottles import given_until
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import studio_day
from studiodesk.units import PL_PER_L, PL_PER_ML

from .people import Cast

D, DAY, WEEK = Decimal, timedelta(days=1), timedelta(weeks=1)
#: What the trade calls the sizes of the example in centimetres; in inches they have their names already.
IN_CENTIMETRES = {
    "127x178": "13×18 cm",
    "203x254": "20×25 cm",
    "240x305": "24×30 cm",
    "279x356": "28×36 cm",
    "305x406": "30×40 cm",
    "406x508": "40×50 cm",
    "508x610": "50×60 cm",
}
#: Channel → what the reference strip reads.
REFERENCE = {"R": "0.80", "G": "0.78", "B": "0.82"}
LIMITS = {
    "action_below": D("-0.08"),
    "action_above": D("0.08"),
    "control_below": D("-0.10"),
    "control_above": D("0.10"),
}
#: How many days ago a strip was read, and how far each channel lay from its aim.
STRIPS = ((9, "0.01", "0.00", "-0.01"), (5, "0.03", "0.01", "0.02"), (2, "0.02", "0.02", "0.03"))
STREAMS = (
    ("fixer", "Fixer and bleach-fix", True, (("P-RC", "fix"), ("P-CO", "blix"), ("T-FB", "fix1"))),
    ("developer", "Developer", False, (("P-RC", "dev"), ("P-CO", "dev"), ("T-FB", "dev"))),
)
UNSEEN_PL = 90 * PL_PER_ML


def call_sizes_by_both_names(now: datetime) -> None:
    """ "20×25 cm / 8×10 in" """
    for size in SheetSize.objects.filter(code__in=IN_CENTIMETRES):
        chemistry.keep_size(
            code=size.code, name=size.name, sort=size.sort, width_mm=size.width_mm, length_mm=size.length_mm,
            inches=size.name, centimetres=IN_CENTIMETRES[size.code], now=now,
        )  # fmt: skip


def look_after_chemistry(cast: Cast, *, now: datetime, zone: ZoneInfo) -> None:
    """After everything that went through: a pump, a bottle, strips, waste in the weeks before ``now``."""
    baths = {(bath.processor.code, bath.code): bath for bath in Bath.objects.select_related("processor")}
    dev = baths.get(("P-RC", "dev"))
    if dev is not None:
        _pump_and_bottle(dev, cast, now)
    machine = Processor.objects.filter(code="P-CO").first()
    if machine is not None:
        _strips(machine, cast, now)
    _waste(baths, cast, now, zone)


def _pump_and_bottle(dev: Bath, cast: Cast, now: datetime) -> None:
    """Its stroke is what it always was; the bottle fell by a little more than the book knows."""
    caught = [int(D(ml) * PL_PER_ML) for ml in ("11.9", "12.0", "12.1")]
    at = now - 41 * DAY
    chemistry.calibrate_pump(bath=dev, strokes_each=1, caught_pl=caught, at=at, now=at, by=cast.staff)
    bottle = chemistry.keep_bottle(
        bath=dev, code="can-dev", name="Can of developer replenisher", capacity_pl=20 * PL_PER_L, floating_lid=True,
        place="Under the RC processor", now=at, by=cast.staff,
    )  # fmt: skip
    level = 18 * PL_PER_L
    first = now - WEEK
    chemistry.read_bottle(container=bottle, at=first, level_pl=level, poured_in_pl=0, now=first, by=cast.keyholder)
    last = now - timedelta(hours=2)
    fell = given_until(dev, last) - given_until(dev, first) + UNSEEN_PL
    chemistry.read_bottle(
        container=bottle, at=last, level_pl=max(0, level - fell), poured_in_pl=0, now=last, by=cast.keyholder
    )


def _strips(machine: Processor, cast: Cast, now: datetime) -> None:
    since = now - 30 * DAY
    aims = {("LD", one): {"reference": D(value), "correction": D(0), **LIMITS} for one, value in REFERENCE.items()}
    aims["LD", "spread"] = {"reference": None, "action_above": D("0.08"), "control_above": D("0.10")}
    chemistry.set_strip_aims(
        processor=machine, aims=aims, since=since, now=since, batch="Batch 7", source="Invented for the demo",
        by=cast.staff,
    )  # fmt: skip
    for ago, *off in STRIPS:
        at = now - ago * DAY
        readings = {("LD", one): D(value) + D(by) for (one, value), by in zip(REFERENCE.items(), off, strict=True)}
        chemistry.record_strip(processor=machine, read_at=at, now=at, readings=readings, by=cast.keyholder)


def _waste(baths: dict[tuple[str, str], Bath], cast: Cast, now: datetime, zone: ZoneInfo) -> None:
    since = now - 60 * DAY
    drums = []
    for code, name, bears_silver, of in STREAMS:
        stream = chemistry.keep_stream(
            code=code, name=name, bears_silver=bears_silver, baths=[baths[key] for key in of if key in baths],
            conditions="Invented: kept apart, fetched by the contractor.", now=since, by=cast.staff,
        )  # fmt: skip
        drum = chemistry.keep_waste_container(
            code=f"drum-{code}", name=f"Drum for {name.lower()}", stream=stream, capacity_pl=120 * PL_PER_L,
            place="Yard", now=since, by=cast.staff,
        )  # fmt: skip
        chemistry.connect_container(container=drum, at=since, now=since, by=cast.keyholder)
        drums.append(drum)
    today = studio_day(now, zone)
    chemistry.keep_permit(
        number="OM-2026-14", issued_by="Water authority (invented)", valid_from=today - 200 * DAY,
        valid_until=today + 900 * DAY, conditions="Invented: no silver-bearing liquid and no developer to the sewer.",
        now=since, by=cast.staff,
    )  # fmt: skip
    at = now - 20 * DAY
    chemistry.pick_up(
        containers=drums, contractor="Haul and Recover (invented)", receipt="HR-0412", keep_until=today + 1095 * DAY,
        silver_mg=21_400, at=at, now=at, by=cast.keyholder,
    )  # fmt: skip
