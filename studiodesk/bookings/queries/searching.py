"""What is to be had for a need: the best times, with why.  Advice: the act looks again.

However much is booked it is asked in the same few queries: opening hours, what is held, and who asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, day_span, studio_day

from ..rules import ranking
from ..rules.free_times import Offer
from ..rules.needs import Need, Traits, window
from ..rules.places import crowded
from .finding import offers_on, opened_on, within
from .house_map import HouseMap
from .searchers import Searcher, searcher
from .standing import Standing, kit_is_free, standing, two_places
from .touching import LONGEST_HOLD, grid_of

#: How many days are searched, and how many if somebody names a last one.
DAYS, MOST_DAYS = 14, 28


@dataclass(frozen=True)
class Found:
    """One offer.  ``refusal``: a rule of the house stands in its way; ``unread``: its safety note has to be read first;
    ``asks_more``: something has to be filled in before it can be booked.
    """

    station: Station
    process: Process | None
    processor: Processor | None
    starts: datetime
    ends: datetime
    last_start: datetime
    reasons: tuple[str, ...]
    kit: tuple[tuple[KitItem, int], ...] = ()
    beside: Station | None = None
    refusal: Refusal | None = None
    unread: bool = False
    asks_more: bool = False

    @property
    def one_tap(self) -> bool:
        return not (self.refusal or self.unread or self.asks_more)


@dataclass(frozen=True)
class Search:
    """One search: the need with rows in place of codes, and everything it is weighed by."""

    need: Need
    studio: Studio
    house: HouseMap
    fitting: list[Station]
    process: Process | None
    kit: tuple[tuple[KitItem, int], ...]
    who: Searcher
    now: datetime
    by: Member
    usual_days: frozenset[int]

    @property
    def zone(self) -> ZoneInfo:
        return stations.zone(self.studio)

    @cached_property
    def traits(self) -> dict[int, Traits]:
        """By the stations' keys: the same on every day."""
        return {station.pk: self.house.traits(station) for station in self.fitting}


def kit_rows(need: Need, house: HouseMap) -> tuple[tuple[KitItem, int], ...]:
    """The need's kit as rows; what the house does not have any more is left out."""
    by_code = {item.code: item for item in house.kit if item.pieces}
    found = [(by_code[code], pieces) for code, pieces in need.kit if code in by_code]
    return tuple(sorted(found, key=lambda pair: pair[0].pk))


def search(
    need: Need,
    *,
    studio: Studio,
    house: HouseMap,
    member: Member,
    now: datetime,
    by: Member,
    most: int = ranking.MOST,
    days: int = DAYS,
) -> list[Found]:
    """The best times for ``need``, at most ``most``, soonest first."""
    fitting = house.made_for(need)
    zone = stations.zone(studio)
    if not fitting:
        return []
    process = house.process(need.process)
    first = max(need.first_day or date.min, studio_day(now, zone))
    last = first + timedelta(days=days - 1)
    if need.last_day is not None:
        last = min(need.last_day, first + timedelta(days=MOST_DAYS - 1))
    if last < first:
        return []
    kinds = list(dict.fromkeys(station.kind for station in fitting))
    who = searcher(member, kinds, process, first, last, now, zone)
    usual = need.weekdays or (who.usual.weekdays if who.usual else ())
    asked = Search(need, studio, house, fitting, process, kit_rows(need, house), who, now, by, frozenset(usual))
    return _ranked(asked, first, last, most)


def _ranked(asked: Search, first: date, last: date, most: int) -> list[Found]:
    zone, house = asked.zone, asked.house
    whole = Span(day_span(first, zone).starts, day_span(last + timedelta(days=1), zone).ends)
    stood = standing(whole, house, asked.process)
    heads = asked.studio.heads_at_once
    if heads is not None:
        most_others = heads - asked.need.beside
        wide = [whole.widened(LONGEST_HOLD, LONGEST_HOLD)]
        stood.seen.crowded = crowded(stood.everybody, most_others) if most_others > 0 else wide
    hours = stations.hours(asked.studio, first, last)
    chances: list[ranking.Chance] = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        fits = window(day, asked.need, zone)
        opened = opened_on(day, hours, zone)
        if fits is not None and opened:
            chances += _of_day(asked, stood, day, fits, opened)
    by_code = {station.code: station for station in asked.fitting}
    kinds = {station.code: station.kind for station in asked.fitting}
    picked = ranking.choose(
        chances, zone, lambda one: asked.who.refusal(one.span, kinds[one.station], asked.process, asked.now), most
    )
    machines = {machine.pk: machine for machine in house.machines}
    found = [
        Found(
            station=by_code[one.chance.station],
            process=asked.process,
            processor=machines.get(one.chance.place or 0),
            starts=one.chance.starts,
            ends=one.chance.ends,
            last_start=one.chance.last,
            reasons=one.reasons,
            kit=asked.kit,
            beside=by_code.get(one.chance.beside),
            refusal=one.refusal,
            unread=(one.chance.place or 0) in house.unread,
            asks_more=asked.who.needs_adult_on(studio_day(one.chance.starts, zone)),
        )
        for one in picked
    ]
    return sorted(found, key=lambda one: (one.starts, one.station.pk))


def _of_day(asked: Search, stood: Standing, day: date, fits: Span, opened: list[Span]) -> Iterator[ranking.Chance]:
    """Every time of one local day that is to be had, with what speaks for it."""
    zone, need, grid = asked.zone, asked.need, grid_of(asked.studio, asked.by)
    whole = day_span(day, zone)
    machines = _machines(asked)
    runs = offers_on(whole, fits.starts, opened, stood.seen, asked.fitting, machines, need.stay, grid, asked.now, zone)
    by_key = {station.pk: station for station in asked.fitting}
    around = _around(asked, stood, opened, whole)
    # What is free with a run's first start may be taken an hour later: then every start is looked at by itself.
    one_by_one = bool(asked.kit) or need.beside
    for run in ranking.clipped(runs, fits, grid):
        station = by_key[run.station]
        for starts in run.starts(grid) if one_by_one else ranking.starts_of(run, zone):
            stay = Span(starts, starts + need.stay)
            if not kit_is_free(asked.kit, stood, stay):
                continue
            beside = _beside(asked, stood, runs, run, stay) if need.beside else ""
            if beside is None:
                continue
            last = starts if one_by_one else run.last
            chance = ranking.Chance(station.code, stay.starts, stay.ends, last, run.place, beside)
            reasons = ranking.reasons_for(chance, asked.traits[station.pk], need, around[station.kind])
            yield replace(chance, reasons=reasons)


def _machines(asked: Search) -> list[Processor] | None:
    """As the act tries them: a processor whose note was read before one whose note was not.

    Where no note was read all are shown, for the note can be read on the way.
    """
    machines = asked.house.machines_of(asked.process)
    if machines is None:
        return None
    read = [machine for machine in machines if machine.pk not in asked.house.unread]
    return read or machines


def _around(asked: Search, stood: Standing, opened: list[Span], day: Span) -> dict[str, ranking.Around]:
    """Kind of station → what stands around its times of that day."""
    names = {station.zone_id: station.zone.name for station in asked.fitting if station.zone}
    reach = day.widened(LONGEST_HOLD, LONGEST_HOLD)
    base = ranking.Around(
        zone=asked.zone,
        opened=opened,
        heated={key: within(spans, reach) for key, spans in stood.heated.items()},
        warm_up={one.pk: timedelta(minutes=one.warm_up_minutes) for one in asked.house.machines},
        lit={names[zone]: within(spans, reach) for zone, spans in stood.lit.items() if zone in names},
        inside=within(stood.everybody, reach),
        usual_days=asked.usual_days,
    )
    kinds = {one.kind for one in asked.fitting}
    return {kind: replace(base, supervised=asked.who.supervised_for(kind)) for kind in kinds}


def _beside(asked: Search, stood: Standing, runs: Sequence[Offer], run: Offer, stay: Span) -> str | None:
    """Another station of the kind that is free then too, the nearest in the studio's order; None if there is none.

    Both need a place at a processor, so there have to be two.
    """
    own = next(one for one in asked.fitting if one.pk == run.station)
    others = {one.station for one in runs if one.station != own.pk and one.first <= stay.starts <= one.last}
    if not others or not two_places(_machines(asked), stood, stay):
        return None
    order = [station.pk for station in asked.house.stations]
    free = [one for one in asked.fitting if one.pk in others and one.kind == own.kind]
    at = order.index(own.pk)
    near = min(free, key=lambda one: (one.zone_id != own.zone_id, abs(order.index(one.pk) - at), one.pk), default=None)
    return None if near is None else near.code
