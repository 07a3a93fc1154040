"""Trays and fixing baths in pairs: opened and closed in one go, and the second becoming the first."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from studiodesk.acts import act
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.stations.models import Processor

from ..models import Bath, BathEntry
from ..queries import reckoning
from ..rules import entering
from ..rules.rotating import may_rotate, rotated
from . import tanks
from .alerts import set_alerts
from .entries import record_bath_entry

FRESH, FROM_BOTTLE, STANDS = "fresh", "from its bottle", "stands"
INTO_BOTTLE, AWAY = "into its bottle", "away"
AT_OPENING = {FRESH: entering.REFILL, FROM_BOTTLE: entering.OUT_OF_BOTTLE, STANDS: None}
AT_CLOSING = {INTO_BOTTLE: entering.INTO_BOTTLE, AWAY: entering.DUMPED, STANDS: None}


@act
def set_trays(
    *,
    processor: Processor,
    closing: bool,
    what: Mapping[int, str],
    notes: Mapping[int, str],
    sources: Mapping[int, Mapping[str, Any]] | None = None,
    now: datetime,
    by: Any = None,
) -> list[BathEntry]:
    """A line of trays opened or closed: for each bath (by its key) what is done with it; all of it or nothing.

    ``notes``: from which lots or bottle, by the same keys; ``sources``: the container or mix of what is filled afresh,
    as ``record_bath_entry`` takes it.  Refused as ``record_bath_entry`` refuses, with the bath's
    name, and chemistry.trays_elsewhere.
    """
    known = AT_CLOSING if closing else AT_OPENING
    tanks.lock([processor])
    baths = {bath.pk: bath for bath in Bath.objects.filter(processor=processor).select_related("processor")}
    written = []
    for pk, chosen in sorted(what.items()):
        if pk not in baths or chosen not in known:
            refuse("chemistry.trays_elsewhere")
        event = known[chosen]
        if event is not None:
            note = notes.get(pk, "")
            source = (sources or {}).get(pk, {}) if event == entering.REFILL else {}
            written.append(record_bath_entry(bath=baths[pk], event=event, at=now, now=now, note=note, by=by, **source))
    code = "chemistry.trays_closed" if closing else "chemistry.trays_opened"
    record(code=code, happened_at=now, now=now, by=by, about=processor, facts={"entries": [one.pk for one in written]})
    return written


@act
def rotate_baths(*, bath: Bath, at: datetime, now: datetime, note: str = "", by: Any = None) -> BathEntry:
    """The first bath is poured away, the second takes its place and a fresh second one is filled: in one act.

    Gives the first bath's entry.  Refused: chemistry.no_next_bath, in_the_future, tank_is_empty, next_bath_is_spent,
    rotations_used, refilled_already, no_settings.
    """
    second = Bath.objects.filter(pk=bath.next_bath_id).select_related("processor").first()
    if second is None:
        refuse("chemistry.no_next_bath", bath=bath.name)
    held = tanks.lock([bath.processor])
    figures, other = held.history(bath).at(at), held.history(second).at(at)
    stood, behind = tanks.stood_at(held, bath, at), tanks.stood_at(held, second, at)
    refusal = may_rotate(stood, behind, figures.rotations_limit, name=bath.name, next_name=second.name, at=at, now=now)
    if refusal:
        raise Refused(refusal)
    for one in (bath, second):
        if at in reckoning.refills(one):
            refuse("chemistry.refilled_already", bath=one.name)
    begins = rotated(stood, behind, figures, other, at)
    first_entry = BathEntry.objects.create(
        bath=bath,
        event=entering.REFILL,
        at=at,
        recorded_at=now,
        amount_pl=other.volume_pl if begins.silver_ug_per_l else None,
        silver_ug_per_l=begins.silver_ug_per_l or None,
        age_from=begins.age_from,
        rotation=begins.rotation,
        note=note.strip(),
        recorded_by=by,
    )
    second_entry = BathEntry.objects.create(
        bath=second, event=entering.REFILL, at=at, recorded_at=now, rotation=begins.rotation, recorded_by=by
    )
    facts = {"bath": bath.pk, "next": second.pk, "rotation": begins.rotation}
    record(code="chemistry.baths_rotated", happened_at=at, now=now, by=by, about=first_entry, facts=facts)
    for one, entry in ((bath, first_entry), (second, second_entry)):
        tanks.rebuild(held, one)
        stands = tanks.now_standing(held, one, now)
        set_alerts(bath=one, stands=stands, now=now, may_end=True, entry=entry, by=by)
    return first_entry
