"""New figures of a bath, put in force from a moment; what went through before keeps the figures of its time."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.journal.actions import record

from ..models import Bath, BathEntry, BathSetting, Feed
from ..queries import reckoning
from . import tanks
from .alerts import set_alerts

#: Everything that a version of the figures says, but for when and by whom.
FIGURES = (*reckoning.FIGURES, "by_paper", "refill_cost_minor", "replenisher_minor_per_kl", "as_entered", "source")


def carried_over(last: BathSetting | None, changed: Mapping[str, Any]) -> dict[str, Any]:
    """The figures of the last version with what is ``changed``: what nobody spoke of stays as it is."""
    before = {name: getattr(last, name) for name in FIGURES} if last is not None else {}
    return before | dict(changed)


@act
def put_figures_in_force(
    *,
    bath: Bath,
    figures: Mapping[str, Any],
    since: datetime,
    now: datetime,
    by: Any = None,
    next_bath: Bath | None = None,
    keep_next: bool = True,
) -> BathSetting:
    """A version of the figures from ``since`` on; what is left out of ``figures`` stays as it was then.

    What went through since is counted anew with them.  ``next_bath``: the second of a pair of fixing baths
    (``keep_next`` leaves that as it is).  Refused: chemistry.figures_in_the_future, figures_before_others (a later
    version is there already), next_bath_elsewhere.
    """
    held = tanks.lock([bath.processor], only=bath)
    if since > now:
        refuse("chemistry.figures_in_the_future", at=since)
    last = BathSetting.objects.filter(bath=bath).order_by("-in_force_from").first()
    if last is not None and last.in_force_from > since:
        refuse("chemistry.figures_before_others", at=last.in_force_from)
    if (
        not keep_next
        and next_bath is not None
        and (next_bath.pk == bath.pk or next_bath.processor_id != bath.processor_id)
    ):
        refuse("chemistry.next_bath_elsewhere", bath=bath.name)
    row, _made = BathSetting.objects.update_or_create(
        bath=bath,
        in_force_from=since,
        defaults={**carried_over(last, figures), "entered_at": now, "entered_by": by},
    )
    if not keep_next and bath.next_bath_id != (next_bath.pk if next_bath else None):
        bath.next_bath = next_bath
        bath.save(update_fields=["next_bath"])
    record(code="chemistry.figures", happened_at=since, now=now, by=by, about=row, facts={"bath": bath.pk})
    if _has_events_from(bath, since):
        held = tanks.lock([bath.processor], only=bath)  # with the new version in it
        tanks.rebuild(held, bath, everything=True)
    held = tanks.lock([bath.processor], only=bath)
    set_alerts(bath=bath, stands=tanks.now_standing(held, bath, now), now=now, may_end=True, by=by)
    return row


def _has_events_from(bath: Bath, since: datetime) -> bool:
    return (
        BathEntry.objects.filter(bath=bath, at__gte=since).exists()
        or Feed.objects.filter(processor=bath.processor_id, fed_at__gte=since).exists()
    )
