"""The running sums of the tanks: one step for what comes in order, a recount for what comes late."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from studiodesk.acts import locked
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor

from ..models import Bath, Fill
from ..queries import reckoning
from ..queries.standings import baths, name_of
from ..rules.events import Event, SheetsThrough
from ..rules.settings import SettingsHistory
from ..rules.standing import Standing, standing
from ..rules.tank import TankState, applied, fold


@dataclass(frozen=True)
class Locked:
    """Baths whose rows are locked until the act ends, with what is needed to reckon them."""

    baths: list[Bath]
    histories: dict[int, SettingsHistory]
    zone: ZoneInfo

    def history(self, bath: Bath) -> SettingsHistory:
        return reckoning.history_of(bath, self.histories)


def lock(processors: Iterable[Processor], only: Bath | None = None) -> Locked:
    """Lock the processors' resources, then their baths (or only one), always in the same order."""
    list(locked(stations.resources(sorted({processor.resource_id for processor in processors}))))
    wanted = baths().filter(processor__in=[processor.pk for processor in processors])
    if only is not None:
        wanted = wanted.filter(pk=only.pk)
    ids = sorted(wanted.values_list("pk", flat=True))
    list(locked(Bath.objects.filter(pk__in=ids).order_by("pk")))
    return Locked(list(wanted), reckoning.histories(ids), stations.zone())


def take_in(held: Locked, bath: Bath, event: Event) -> None:
    """Add one event, already written, to the sums of the tank that it belongs to."""
    fills = list(Fill.objects.filter(bath=bath))
    fill = reckoning.fill_at(fills, event.at)
    if fill is None and not fills:
        fill = Fill.objects.create(bath=bath)
    if fill is None:
        rebuild(held, bath)  # it happened before the first refill that is known
        return
    last = fill.last_event_at
    late = last is not None and (event.at < last if isinstance(event, SheetsThrough) else event.at <= last)
    if late:
        recount(held, bath, fill)
        return
    state = applied(reckoning.state_of(fill), event, held.history(bath), held.zone)
    _keep(fill, state, event.at)


def recount(held: Locked, bath: Bath, fill: Fill) -> None:
    """The fill's sums from its rows, as known now."""
    events = reckoning.events_between(bath, fill.began_at, fill.ended_at)
    state = fold(reckoning.filling_at(bath, fill.began_at), events, held.history(bath), held.zone)
    _keep(fill, state, events[-1].at if events else None)


def recount_at(held: Locked, bath: Bath, moment: datetime) -> None:
    """Recount the tank that stood there at ``moment``: something of it was taken back."""
    fill = reckoning.fill_at(Fill.objects.filter(bath=bath), moment)
    if fill is not None:
        recount(held, bath, fill)


def rebuild(held: Locked, bath: Bath, *, everything: bool = False) -> None:
    """Lay the bath's fills along its refills and recount those whose edges moved (or all of them).

    Before the first refill there is a fill without a beginning, if anything is recorded there.
    """
    starts = reckoning.refills(bath)
    edges: list[tuple[datetime | None, datetime | None]] = list(zip([None, *starts], [*starts, None], strict=True))
    if starts and not reckoning.events_between(bath, None, starts[0]):
        edges.pop(0)
    standing_fills = {fill.began_at: fill for fill in Fill.objects.filter(bath=bath)}
    wanted = dict(edges)
    for began in set(standing_fills) - set(wanted):
        standing_fills.pop(began).delete()
    moved: list[Fill] = []
    # those that end first: at no moment may two tanks be open
    for began, ended in sorted(wanted.items(), key=lambda edge: edge[1] is None):
        fill = standing_fills.get(began)
        if fill is None:
            moved.append(Fill.objects.create(bath=bath, began_at=began, ended_at=ended))
        elif fill.ended_at != ended:
            fill.ended_at = ended
            fill.save(update_fields=["ended_at"])
            moved.append(fill)
        elif everything:
            moved.append(fill)
    for fill in moved:
        recount(held, bath, fill)


def now_standing(held: Locked, bath: Bath, now: datetime) -> Standing:
    """The bath as its open tank stands, for the alerts."""
    fill = Fill.objects.filter(bath=bath, ended_at=None).first()
    return standing(name_of(bath), reckoning.state_of(fill), held.history(bath), now, held.zone)


def stood_at(held: Locked, bath: Bath, at: datetime) -> TankState:
    """The sums of the tank that stood there at ``at``, with what is written of that very moment."""
    fill = reckoning.fill_at(Fill.objects.filter(bath=bath), at)
    if fill is None:
        return TankState()
    if fill.last_event_at is None or fill.last_event_at <= at:
        return reckoning.state_of(fill)
    events = [one for one in reckoning.events_between(bath, fill.began_at, fill.ended_at) if one.at <= at]
    return fold(reckoning.filling_at(bath, fill.began_at), events, held.history(bath), held.zone)


def _keep(fill: Fill, state: TankState, last_event_at: datetime | None) -> None:
    fill.sums = state.to_row()
    fill.area_mm2, fill.due_pl, fill.given_pl = state.area_mm2, state.due_pl, state.given_pl
    fill.last_event_at = last_event_at
    fill.save(update_fields=["sums", "area_mm2", "due_pl", "given_pl", "last_event_at"])
