"""What is done to a bath and read from it: one act for every kind of entry."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.timekeeping import studio_day

from ..models import Bath, BathEntry, Container, Mix
from ..queries import evaporating as water
from ..queries import reckoning
from ..rules.entering import NOTE, POURED, REFILL, WATER, ends_an_alert, may_pour, may_record, may_take_back
from ..rules.tank import TankState
from . import sources, tanks
from .alerts import look_at_water, set_alerts


@act
def record_bath_entry(
    *,
    bath: Bath,
    event: str,
    at: datetime,
    now: datetime,
    amount_pl: int | None = None,
    silver_ug_per_l: int | None = None,
    drawn_pl: int | None = None,
    note: str = "",
    by: Any = None,
    corrects: BathEntry | None = None,
    mix: Mix | None = None,
    container: Container | None = None,
) -> BathEntry:
    """Anything that is done to a bath, read from it or said of it: one of ``BathEntry.Event``.

    A refill opens a new tank; one that comes late parts the tank that stood there then.  ``drawn_pl`` was drawn off
    before what was given went in.  ``container`` or ``mix``: where it came from; what went in leaves the container
    (all that is in it, if that is less), and of a refill the mix's age goes along.  An entry that ``corrects`` another
    takes its place (a note annuls it).  Refused: chemistry.in_the_future, amount_needed, amount_too_great, whole_tank,
    no_amount_here, drawn_too_much, not_replenished, silver_out_of_range, reading_needed, reason_needed,
    refilled_already, already_corrected, no_settings, tank_is_empty, in_its_bottle, not_in_its_bottle; with a container
    also container_empty, container_later, and mix_of_no_bath for a mix that was taken back.
    """
    if event not in BathEntry.Event.values:
        raise ValueError(f"no such event: {event!r}")
    held = tanks.lock([bath.processor], only=bath)
    refusal = may_record(
        held.history(bath).at(at),
        bath.name,
        event,
        at,
        now,
        amount_pl=amount_pl,
        silver_ug_per_l=silver_ug_per_l,
        note=note,
        drawn_pl=drawn_pl,
    )
    if refusal is None and corrects is None:
        stood = tanks.stood_at(held, bath, at) if event in POURED else TankState()
        empty, bottled = stood.dumped_at is not None, stood.bottled_at is not None
        refusal = may_pour(event, bath.name, is_empty=empty, is_bottled=bottled)
    if refusal:
        raise Refused(refusal)
    if corrects is not None and (corrects.bath_id != bath.pk or BathEntry.objects.filter(corrects=corrects).exists()):
        refuse("chemistry.already_corrected")
    if event == REFILL and at in reckoning.refills(bath) and (corrects is None or corrects.at != at):
        refuse("chemistry.refilled_already", bath=bath.name)
    source = sources.of_entry(held.history(bath).at(at), event, amount_pl, at, container, mix, corrects, now, by)
    entry = BathEntry.objects.create(
        bath=bath,
        event=event,
        at=at,
        recorded_at=now,
        amount_pl=amount_pl,
        drawn_pl=drawn_pl or None,
        silver_ug_per_l=silver_ug_per_l,
        note=note.strip(),
        recorded_by=by,
        corrects=corrects,
        mix=source.mix,
        container=source.container,
        age_from=source.age_from,
    )
    sources.leave(source, entry, now, by)
    facts = {"bath": bath.pk, "event": event, "pl": amount_pl, "silver_ug_per_l": silver_ug_per_l}
    record(code="chemistry.bath_entry", happened_at=at, now=now, by=by, about=entry, facts=facts)
    if event == REFILL or corrects is not None:
        tanks.rebuild(held, bath, everything=corrects is not None)
    else:
        tanks.take_in(held, bath, reckoning.entry_event(entry))
    if event == WATER and corrects is None:
        usual = water.usual_pl_per_day(bath, held.history(bath).at(at).evaporation_pl_per_day, held.zone)
        days = water.days_before(entry, held.zone)
        look_at_water(bath=bath, entry=entry, pl_per_day=usual, days=days, now=now, by=by)
    set_alerts(
        bath=bath,
        stands=tanks.now_standing(held, bath, now),
        now=now,
        may_end=corrects is not None or ends_an_alert(event, silver_ug_per_l),
        entry=entry,
        by=by,
    )
    return entry


@act
def take_back_entry(*, entry: BathEntry, note: str, now: datetime, by: Any = None) -> BathEntry:
    """Take an entry of today back: a note (``note`` says so) takes its place and the tanks are recounted.

    Refused: chemistry.already_corrected, is_a_correction, from_a_file, not_of_today.
    """
    zone = tanks.lock([entry.bath.processor], only=entry.bath).zone
    refusal = may_take_back(
        already_corrected=BathEntry.objects.filter(corrects=entry).exists(),
        is_a_correction=entry.corrects_id is not None,
        from_a_file=entry.file_key is not None,
        recorded_today=studio_day(entry.recorded_at, zone) == studio_day(now, zone),
    )
    if refusal:
        raise Refused(refusal)
    return record_bath_entry(bath=entry.bath, event=NOTE, at=now, now=now, note=note, by=by, corrects=entry)
