"""A bath and its figures: what was counted before a change keeps the figures of its time."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from studiodesk.chemistry.actions import tanks
from studiodesk.chemistry.actions.figures import carried_over
from studiodesk.chemistry.models import Bath, BathSetting
from studiodesk.stations.models import Processor

from .. import queries
from ..rules.plan import BathPlan
from .outcome import LoadOutcome

#: The first figures that are known of a bath hold for all that was recorded before them as well.
FROM_THE_BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)
FIGURES = (
    "dosing",
    "volume_pl",
    "rate_ul_per_m2",
    "unit_pl",
    "capacity_mm2_per_l",
    "turnover_limit",
    "age_limit_s",
    "idle_pl_per_day",
    "silver_ug_per_m2",
    "silver_limit_ug_per_l",
    "low_use_turnovers",
    "refill_cost_minor",
    "replenisher_minor_per_kl",
)


def load_bath(processor: Processor, plan: BathPlan, position: int, now: datetime, outcome: LoadOutcome) -> None:
    """Inside the act of loading: make the bath, or change its name and place, or put new figures in force."""
    row = Bath.objects.filter(processor=processor, code=plan.code).first()
    if row is None:
        row = Bath.objects.create(processor=processor, code=plan.code, name=plan.name, position=position)
        _put_in_force(row, plan, FROM_THE_BEGINNING, now)
        outcome.count("baths", made=True, changed=True)
        return
    values = {"name": plan.name, "position": position}
    differing = [name for name, value in values.items() if getattr(row, name) != value]
    for name in differing:
        setattr(row, name, values[name])
    if differing:
        row.save(update_fields=differing)
    last = queries.settings_now(row)
    other = [] if last is None else [name for name in FIGURES if getattr(last, name) != getattr(plan, name)]
    if last is None:
        _put_in_force(row, plan, FROM_THE_BEGINNING, now)
    elif other:
        # Nothing was counted with the old figures yet: a slip put right before the first sheet leaves no trace.
        _put_in_force(row, plan, last.in_force_from if queries.is_untouched(row) else now, now)
        if queries.has_events_from(row, now):
            recount([row])
        before = {**last.as_entered, "dosing": last.dosing}
        after: dict[str, Any] = {**plan.as_entered, "dosing": plan.dosing}
        keys = sorted({*before, *after})
        outcome.figures[f"{processor.code}/{plan.code}"] = [k for k in keys if before.get(k) != after.get(k)]
    outcome.count("baths", made=False, changed=bool(differing or other or last is None))


def recount(baths: Iterable[Bath]) -> None:
    """The running sums once more from the rows, where a figure or the zone changed under what is recorded already."""
    listed = list(baths)
    held = tanks.lock({bath.processor for bath in listed})
    for bath in listed:
        tanks.rebuild(held, bath, everything=True)


def _put_in_force(bath: Bath, plan: BathPlan, since: datetime, now: datetime) -> None:
    """One version of the figures from ``since`` on; figures entered twice for one moment: the later entry holds."""
    values = {name: getattr(plan, name) for name in FIGURES}
    # A file says less than the page of a bath's figures: what it does not speak of stays as it was.
    changed = {**values, "as_entered": dict(plan.as_entered), "source": ""}
    BathSetting.objects.update_or_create(
        bath=bath,
        in_force_from=since,
        defaults={**carried_over(queries.settings_now(bath), changed), "entered_at": now, "entered_by": None},
    )
