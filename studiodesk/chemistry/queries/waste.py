"""What stands in the waste containers, and the balance of the silver."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.stations import queries as stations

from ..models import Bath, Container, ContainerEntry, Fill, PickUp, WastePermit, WasteStream
from ..rules import entering, waste
from ..rules.settings import SettingsHistory
from ..rules.tank import TankState, applied, looked_at
from . import reckoning
from .standings import baths


@dataclass(frozen=True)
class Stood:
    """One waste container as it stands."""

    container: Container
    content: waste.Content
    entries: list[ContainerEntry]

    @property
    def silver_g(self) -> float:
        return self.content.silver_pg / waste.PG_PER_G

    @property
    def used(self) -> float:
        return self.content.used(self.container.capacity_pl)

    @property
    def is_nearly_full(self) -> bool:
        return waste.is_nearly_full(self.content.level_pl, self.container.capacity_pl)


def containers() -> list[Container]:
    """Those for waste, in use first."""
    rows = Container.objects.filter(sort=Container.Sort.WASTE).select_related("stream")
    return list(rows.order_by("-in_use", "stream__name", "code"))


def access_container(code: str) -> Container:
    """One waste container; ``Container.DoesNotExist`` otherwise."""
    return Container.objects.select_related("stream").get(code=code, sort=Container.Sort.WASTE)


def streams() -> list[WasteStream]:
    return list(WasteStream.objects.prefetch_related("baths__processor").order_by("name", "pk"))


def access_stream(code: str) -> WasteStream:
    return WasteStream.objects.get(code=code)


def permits() -> list[WastePermit]:
    return list(WastePermit.objects.select_related("entered_by"))


def pick_ups(last: int = 50) -> list[PickUp]:
    return list(PickUp.objects.prefetch_related("entries__container").select_related("recorded_by")[:last])


def _lines(container: Container, rows: Iterable[ContainerEntry]) -> list[waste.Line]:
    """Its own entries, and where another container of its stream took over."""
    lines = []
    for row in rows:
        if row.container_id == container.pk:
            lines.append(waste.Line(row.at, row.event, row.amount_pl, float(row.silver_pg or 0)))
        elif row.event == ContainerEntry.Event.CONNECTED and row.container.stream_id == container.stream_id:
            lines.append(waste.Line(row.at, waste.DISCONNECTED))
    return lines


def stood(now: datetime, of: Iterable[Container] | None = None) -> list[Stood]:
    """Every waste container (or those in ``of``) at ``now``, with what happened at that very moment."""
    after = now + timedelta(microseconds=1)
    listed = containers() if of is None else list(of)
    held = ContainerEntry.objects.filter(
        container__sort=Container.Sort.WASTE, undoes=None, undone_by=None, at__lte=now
    ).select_related("container", "recorded_by", "pick_up")
    rows = list(held.order_by("at", "pk"))
    connected: dict[int | None, list[datetime]] = defaultdict(list)
    for row in rows:
        connected[row.container.stream_id].append(row.at)
    by_stream: dict[int | None, Callable[[datetime], waste.Out]] = {}
    found = []
    for container in listed:
        if container.stream_id not in by_stream:
            of_stream = list(baths().filter(stream=container.stream_id))
            by_stream[container.stream_id] = outflow(of_stream, [*connected[container.stream_id], after])
        entries = [row for row in rows if row.container_id == container.pk]
        content = waste.content(_lines(container, rows), by_stream[container.stream_id], after)
        found.append(Stood(container, content, entries))
    return found


def outflow(of: Iterable[Bath], moments: Iterable[datetime]) -> Callable[[datetime], waste.Out]:
    """What these baths gave off before each of ``moments`` (asked for others: before the one before).

    What is given off at the very moment at which a container is connected or taken away comes after that: whoever
    connects one and changes a bath writes both down in the same minute.
    """
    at = sorted(set(moments))
    total = [waste.Out() for _ in at]
    listed = list(of)
    figures, zone = reckoning.histories([bath.pk for bath in listed]), stations.zone()
    for bath in listed:
        if bath.pk in figures:
            for number, out in enumerate(_given_off(bath, at, figures[bath.pk], zone)):
                total[number] = total[number] + out

    def until(moment: datetime) -> waste.Out:
        number = bisect_right(at, moment)
        return total[number - 1] if number else waste.Out()

    return until


def _given_off(bath: Bath, at: list[datetime], figures: SettingsHistory, zone: ZoneInfo) -> list[waste.Out]:
    """Before each moment, over all tanks of one bath; those that ended before the first come from their sums."""
    out = [waste.Out() for _ in at]
    for tank in Fill.objects.filter(bath=bath).order_by("began_at"):
        ended = tank.ended_at
        inside = [
            moment
            for moment in at
            if (tank.began_at is None or moment > tank.began_at) and not (ended and moment > ended)
        ]
        states = _states(bath, tank, inside, figures, zone)
        for number, moment in enumerate(at):
            if moment in states:
                out[number] = out[number] + _off(states[moment])
            elif ended is not None and moment > ended:
                out[number] = out[number] + _all_off(bath, tank, figures, zone)
    return out


def _states(
    bath: Bath, tank: Fill, moments: list[datetime], figures: SettingsHistory, zone: ZoneInfo
) -> dict[datetime, TankState]:
    """The tank's state at each of ``moments``, in one walk through its rows."""
    if not moments:
        return {}
    if tank.last_event_at is None or tank.last_event_at < moments[0]:
        state = reckoning.state_of(tank)
        return {moment: looked_at(state, moment, figures, zone) for moment in moments}
    state = reckoning.begun(reckoning.filling_at(bath, tank.began_at))
    events = reckoning.events_between(bath, tank.began_at, tank.ended_at)
    found, number = {}, 0
    for moment in moments:
        while number < len(events) and events[number].at < moment:
            state = applied(state, events[number], figures, zone)
            number += 1
        found[moment] = looked_at(state, moment, figures, zone)
    return found


def _off(state: TankState) -> waste.Out:
    return waste.Out(state.overflow_pl + state.dumped_pl, state.silver_overflow_pg + state.silver_dumped_pg)


def last_state(tank: Fill, figures: SettingsHistory, zone: ZoneInfo) -> TankState:
    """As an ended tank stood when it ended."""
    state = reckoning.state_of(tank)
    return looked_at(state, tank.ended_at, figures, zone) if tank.ended_at else state


def _all_off(bath: Bath, tank: Fill, figures: SettingsHistory, zone: ZoneInfo) -> waste.Out:
    """An ended tank: what was still in it when it was refilled was poured away, unless it became the bath before."""
    state = last_state(tank, figures, zone)
    off = _off(state)
    if moved_on(bath, tank.ended_at):
        return off
    volume = figures.at(tank.ended_at or tank.began_at).volume_pl  # type: ignore[arg-type]
    return off + waste.Out(volume - state.short_pl, state.silver_tank_pg)


def moved_on(bath: Bath, ended: datetime | None) -> bool:
    """Whether the tank that ended then was poured into the bath before it: rotated, not poured away."""
    before = getattr(bath, "bath_before", None)
    rows = reckoning.entries_known().filter(event=entering.REFILL, at=ended, rotation__gt=0, age_from__isnull=False)
    return before is not None and rows.filter(bath=before).exists()


def balance(now: datetime) -> waste.Balance:
    """All baths that bear silver, all waste containers."""
    figures = reckoning.histories(Bath.objects.values_list("pk", flat=True))
    zone = stations.zone()
    brought, tanks, lost, corrected, off = 0, 0.0, 0.0, 0.0, 0.0
    for bath in baths():
        if bath.pk not in figures:
            continue
        for tank in Fill.objects.filter(bath=bath):
            state = (
                last_state(tank, figures[bath.pk], zone)
                if tank.ended_at
                else looked_at(reckoning.state_of(tank), now, figures[bath.pk], zone)
            )
            brought += state.silver_in_pg
            lost += state.silver_lost_pg
            corrected += state.silver_corrected_pg
            off += state.silver_overflow_pg + state.silver_dumped_pg - state.silver_brought_pg
            if tank.ended_at is None:
                tanks += state.silver_tank_pg
            else:
                off += state.silver_tank_pg
    standing = [one.content for one in stood(now)]
    inside, gone = sum(one.silver_pg for one in standing), sum(one.gone_silver_pg for one in standing)
    poured, took = sum(one.poured_in_pg for one in standing), sum(one.took.silver_pg for one in standing)
    return waste.Balance(
        brought_pg=brought,
        in_tanks_pg=tanks,
        in_containers_pg=inside,
        collected_pg=gone,
        lost_pg=lost,
        uncaught_pg=off - took,
        corrected_pg=corrected,
        poured_in_pg=poured,
    )
