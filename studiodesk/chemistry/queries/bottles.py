"""The replenisher bottle of a bath: how it fell from one reading to the next, against the book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from studiodesk.journal.models import Entry
from studiodesk.stations import queries as stations

from ..models import Bath, Container, ContainerEntry, Fill
from ..rules.bottle import Fall, fall
from ..rules.tank import TankState, fold, looked_at
from . import reckoning

BOOKED = "chemistry.unseen_booked"
SHOWN = 12


@dataclass(frozen=True)
class Stretch:
    """From one reading of a bottle to the next."""

    starts: datetime
    ends: datetime
    first_pl: int
    poured_in_pl: int
    last_pl: int
    fall: Fall


def bottle_of(bath: Bath) -> Container | None:
    """The bottle in use that the bath is replenished from; None if none was named."""
    return Container.objects.filter(feeds_bath=bath, in_use=True).order_by("pk").first()


def _held(container: Container) -> list[ContainerEntry]:
    rows = ContainerEntry.objects.filter(container=container, undoes=None, undone_by=None)
    return list(rows.order_by("at", "pk"))


def last_read_at(container: Container) -> datetime | None:
    read = [row.at for row in _held(container) if row.event == ContainerEntry.Event.MEASURED]
    return read[-1] if read else None


def level_pl(container: Container) -> int | None:
    """What the bottle should hold now: the last level with what went in since; None before the first reading."""
    level = None
    for row in _held(container):
        if row.event == ContainerEntry.Event.MEASURED:
            level = row.amount_pl or 0
        elif level is not None and row.event == ContainerEntry.Event.FILLED:
            level += row.amount_pl or 0
    return level


def falls(container: Container, last: int = SHOWN) -> list[Stretch]:
    """The last stretches between two readings, in time order: a fixed number of queries for each."""
    bath = container.feeds_bath
    if bath is None:
        return []
    levels: list[tuple[datetime, int]] = []
    poured: list[int] = []
    for row in _held(container):
        if row.event == ContainerEntry.Event.MEASURED:
            levels.append((row.at, row.amount_pl or 0))
            poured.append(0)
        elif row.event == ContainerEntry.Event.FILLED and poured:
            poured[-1] += row.amount_pl or 0
    figures = reckoning.history_of(bath, reckoning.histories([bath.pk]))
    given = {at: given_until(bath, at) for at, _level in levels[-last - 1 :]}
    found = []
    for number in range(max(1, len(levels) - last), len(levels)):
        (starts, first), (ends, end) = levels[number - 1], levels[number]
        seen = fall(first, poured[number - 1], end, given[ends] - given[starts], figures.at(ends).dose_pl)
        found.append(Stretch(starts, ends, first, poured[number - 1], end, seen))
    return found


def given_until(bath: Bath, at: datetime) -> int:
    """All replenishment that the book knows of this bath up to a moment, over all its tanks, pL."""
    figures, zone = reckoning.history_of(bath, reckoning.histories([bath.pk])), stations.zone()
    total = 0
    for tank in Fill.objects.filter(bath=bath):
        if tank.began_at is not None and tank.began_at > at:
            continue
        state: TankState = reckoning.state_of(tank)
        until = at if tank.ended_at is None else min(at, tank.ended_at)
        if tank.last_event_at is not None and tank.last_event_at > until:
            events = [one for one in reckoning.events_between(bath, tank.began_at, tank.ended_at) if one.at <= at]
            state = fold(reckoning.filling_at(bath, tank.began_at), events, figures, zone)
        state = looked_at(state, until, figures, zone)
        total += state.given_pl + state.extra_pl
    return total


def is_booked(bath: Bath, stretch: Stretch) -> bool:
    """Whether what went unseen in it was written into the book already."""
    about = Entry.objects.filter(code=BOOKED, about="bath", about_id=bath.pk, happened_at=stretch.ends)
    return about.exists()
