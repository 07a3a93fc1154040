"""Kit of a studio's file, item by item."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import Refused
from studiodesk.stations import actions as stations

from .. import queries
from ..rules.plan import KitPlan
from ..rules.problems import FileRefused, Findings
from .outcome import LoadOutcome


@act
def load_kit(plans: Iterable[KitPlan], now: datetime, outcome: LoadOutcome, findings: Findings) -> None:
    """Raises ``FileRefused`` where pieces that would go are still kept for somebody."""
    for number, plan in enumerate(plans, 1):
        made = not queries.is_kit(plan.code)
        try:
            _row, changed = stations.describe_kit(
                code=plan.code,
                name=plan.name,
                sort=plan.sort,
                pieces=plan.pieces,
                kinds=plan.kinds,
                process_codes=plan.processes,
                from_end_minutes=plan.from_end_minutes,
                outlasts_minutes=plan.outlasts_minutes,
                now=now,
            )
        except Refused as refused:
            findings.wrong(refused.refusal, column=f"kit[{number}].pieces")
            raise FileRefused(findings.file, findings.problems) from refused
        outcome.count("kit", made=made, changed=changed)
