"""Pumps measured, and the replenisher bottle read against the book."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record

from ..models import Bath, Container, ContainerEntry, Feed, PumpCalibration, SheetSize
from ..queries import bottles, mixing, reckoning
from ..queries.sheets import usual_size
from ..rules import alerts as rules
from ..rules import entered_rates, entering, pumps
from ..rules.bottle import Fall, unseen_sheets
from . import tanks
from .alerts import clear_alert, raise_alert
from .entries import record_bath_entry
from .figures import put_figures_in_force
from .sheets import log_sheets


@act
def calibrate_pump(
    *,
    bath: Bath,
    strokes_each: int,
    caught_pl: Sequence[int],
    at: datetime,
    now: datetime,
    note: str = "",
    by: Any = None,
) -> PumpCalibration:
    """At least three catches of ``strokes_each`` strokes: their mean is the bath's stroke from ``at`` on.

    Refused: chemistry.no_pump, too_few_catches, catch_absurd, in_the_future, figures_before_others.
    """
    held = tanks.lock([bath.processor], only=bath)
    figures = held.history(bath).at(at)
    refusal = pumps.may_calibrate(figures, bath.name, strokes_each, caught_pl, at=at, now=now)
    if refusal:
        raise Refused(refusal)
    mean = entered_rates.mean_stroke_pl(caught_pl, strokes_each)
    setting = put_figures_in_force(bath=bath, figures={"unit_pl": mean}, since=at, now=now, by=by)
    row = PumpCalibration.objects.create(
        bath=bath,
        at=at,
        recorded_at=now,
        strokes_each=strokes_each,
        caught_pl=list(caught_pl),
        mean_pl=mean,
        was_pl=figures.unit_pl,
        setting=setting,
        note=note.strip(),
        recorded_by=by,
    )
    clear_alert(key=_key(rules.PUMP_OFF, bath), now=now, by=by)
    facts = {"bath": bath.pk, "pl": mean, "was_pl": figures.unit_pl}
    record(code="chemistry.pump_measured", happened_at=at, now=now, by=by, about=row, facts=facts)
    return row


def _key(kind: str, bath: Bath) -> str:
    return rules.key_of(kind, "bath", bath.pk)


@act
def read_bottle(
    *,
    container: Container,
    at: datetime,
    level_pl: int,
    poured_in_pl: int,
    now: datetime,
    by: Any = None,
    note: str = "",
) -> Fall | None:
    """The level of a bath's replenisher bottle, read before ``poured_in_pl`` of new replenisher went in.

    Gives how it fell since it was read last, against the book; None at the first reading.  What went unseen raises
    "unlogged", a bottle that fell too little "pump off".  Refused: chemistry.in_the_future, bottle_level_absurd,
    bottle_read_before, no_bottle.
    """
    bath = container.feeds_bath
    if bath is None:
        refuse("chemistry.no_bottle")
    tanks.lock([bath.processor], only=bath)
    list(locked(Container.objects.filter(pk=container.pk)))
    mix = mixing.content_of(container, at).mix  # what stands in it: its age goes on
    refusal = pumps.may_read(
        capacity_pl=container.capacity_pl,
        level_pl=level_pl,
        poured_in_pl=poured_in_pl,
        at=at,
        now=now,
        last_at=bottles.last_read_at(container),
    )
    if refusal:
        raise Refused(refusal)
    given = {"container": container, "at": at, "recorded_at": now, "recorded_by": by, "mix": mix}
    ContainerEntry.objects.create(event=ContainerEntry.Event.MEASURED, amount_pl=level_pl, note=note.strip(), **given)
    if poured_in_pl:
        ContainerEntry.objects.create(event=ContainerEntry.Event.FILLED, amount_pl=poured_in_pl, **given)
    facts = {"container": container.pk, "pl": level_pl, "poured_in_pl": poured_in_pl}
    record(code="chemistry.bottle_read", happened_at=at, now=now, by=by, about=container, facts=facts)
    found = bottles.falls(container)
    if not found:
        return None
    fall = found[-1].fall
    _raise_or_clear(bath, fall, now, by)
    return fall


def _raise_or_clear(bath: Bath, fall: Fall, now: datetime, by: Any) -> None:
    if fall.is_worth_asking:
        facts = {"ml": round(fall.unseen_pl / 1_000_000_000), "percent": round(100 * (fall.share or 0))}
        raise_alert(
            kind=rules.UNLOGGED, key=_key(rules.UNLOGGED, bath), bath=bath, facts=facts, now=now, by=by, late=False
        )
    else:
        clear_alert(key=_key(rules.UNLOGGED, bath), now=now, by=by)
    if fall.gives_short:
        facts = {"percent": round(100 * -fall.unseen_pl / fall.given_pl)}
        raise_alert(
            kind=rules.PUMP_OFF, key=_key(rules.PUMP_OFF, bath), bath=bath, facts=facts, now=now, by=by, late=False
        )


@act
def book_unseen(*, bath: Bath, at: datetime, now: datetime, by: Any = None) -> Feed | None:
    """What the bottle says and the book does not, written into the book: for nobody, at the time of the last reading.

    Where a machine gives, as sheets of the size that is printed most (the row, whose ``sheets`` say how many); where a
    person gives, as replenishment given (None).  Refused: chemistry.nothing_unseen.
    """
    tanks.lock([bath.processor], only=bath)
    container = bottles.bottle_of(bath)
    found = bottles.falls(container) if container is not None else []
    fall = found[-1].fall if found else None
    if fall is None or fall.unseen_pl <= 0 or found[-1].ends != at or bottles.is_booked(bath, found[-1]):
        refuse("chemistry.nothing_unseen")
    figures = reckoning.history_of(bath, reckoning.histories([bath.pk])).at(at)
    feed = None
    if figures.dosing == "machine":
        size: SheetSize | None = usual_size(bath.processor)
        rate = figures.rate_ul_per_m2 or 0
        sheets = unseen_sheets(fall.unseen_pl, rate, size.area_mm2) if size else 0
        if size is None or not sheets:
            refuse("chemistry.nothing_unseen")
        feed = log_sheets(
            processor=bath.processor,
            sheet=size,
            sheets=sheets,
            kind=Feed.Kind.PRINT,
            who=Feed.Who.UNKNOWN,
            fed_at=at,
            now=now,
            by=by,
        )
    else:
        record_bath_entry(
            bath=bath, event=entering.GIVEN, at=at, now=now, amount_pl=min(fall.unseen_pl, figures.volume_pl), by=by
        )
    facts = {"bath": bath.pk, "pl": fall.unseen_pl, "ends": at.isoformat(), "feed": feed.pk if feed else None}
    record(code=bottles.BOOKED, happened_at=at, now=now, by=by, about=bath, facts=facts)
    clear_alert(key=_key(rules.UNLOGGED, bath), now=now, by=by)
    return feed


@act
def keep_bottle(
    *,
    bath: Bath,
    code: str,
    name: str,
    capacity_pl: int,
    floating_lid: bool,
    place: str = "",
    now: datetime,
    by: Any = None,
) -> Container:
    """The bottle that a bath is replenished from.  Refused: chemistry.bottle_code_taken, bottle_there."""
    if bottles.bottle_of(bath) is not None:
        refuse("chemistry.bottle_there", bath=bath.name)
    if Container.objects.filter(code=code).exists():
        refuse("chemistry.bottle_code_taken", mark=code)
    row = Container.objects.create(
        code=code,
        name=name.strip(),
        sort=Container.Sort.FLOATING_LID if floating_lid else Container.Sort.BOTTLE,
        capacity_pl=capacity_pl,
        place=place.strip(),
        feeds_bath=bath,
    )
    record(code="chemistry.container_kept", happened_at=now, now=now, by=by, about=row, facts={"bath": bath.pk})
    return row
