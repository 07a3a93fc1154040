"""What is taught, and how many people a shared room takes, as a studio's file describes them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from studiodesk.classes.actions import write_outline
from studiodesk.classes.actions.outlines import SAID
from studiodesk.stations.actions import describe_room
from studiodesk.stations.models import Process

from .. import queries
from ..rules.plan import OutlinePlan, Plan
from .outcome import LoadOutcome


def load_rooms(plan: Plan, outcome: LoadOutcome) -> None:
    """After the stations: a room comes about with the first station that names it."""
    for room in plan.rooms:
        _row, changed = describe_room(name=room.name, heads_at_most=room.heads_at_most)
        outcome.count("rooms", made=False, changed=changed)


def load_outlines(plan: Plan, processes: Mapping[str, Process], now: datetime, outcome: LoadOutcome) -> None:
    """After the sign-offs.  Dates that were made from an outline keep what it said then."""
    here, signed_off = queries.outline_codes(), queries.sign_offs()
    for one in plan.outlines:
        _row, written = write_outline(
            code=one.code,
            says=_says(one, processes),
            needs=[(need.kind, processes[need.process] if need.process else None, need.number) for need in one.needs],
            papers=[(paper.width_mm, paper.length_mm, paper.sheets_a_head) for paper in one.papers],
            tutor_needs=[signed_off[key] for key in one.tutor_needs],
            signs_off=[signed_off[key] for key in one.signs_off],
            now=now,
            by=None,
        )
        outcome.count("outlines", made=written and one.code not in here, changed=written)


def _says(one: OutlinePlan, processes: Mapping[str, Process]) -> dict[str, Any]:
    return {name: getattr(one, name) for name in SAID} | {"process": processes[one.process] if one.process else None}
