"""The forecast of every bath, reckoned at a moment from what was known then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zlib import crc32
from zoneinfo import ZoneInfo

from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Bath
from studiodesk.chemistry.queries import reckoning
from studiodesk.chemistry.rules.settings import BathSettings
from studiodesk.chemistry.rules.standing import BathName
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import day_span, studio_day

from ..models import KeptForecast
from ..rules.class_asks import ClassAsk, class_asks
from ..rules.course import courses
from ..rules.limits import Tank, tank
from ..rules.passage import P10, P50, P90, Passage, area_at, passage
from ..rules.paths import WINDOW_DAYS, LowUse, low_use
from ..rules.score import Fed, squared_miss, widening
from ..rules.values import Course
from ..words.sentences import FOUR_WEEKS
from .classes import classes_known
from .known import known

#: Forecasts older than this no longer say how wide the next has to be.
REMEMBERED = timedelta(days=120)


@dataclass(frozen=True)
class Foretold:
    """One bath's forecast: the area through its processor, its tank, and when the one fills the other."""

    of: BathName
    at: datetime
    course: Course
    tank: Tank
    passage: Passage
    widened: float
    classes: tuple[ClassAsk, ...] = ()

    @property
    def replenisher_pl(self) -> dict[str, int] | None:
        """What the next four weeks ask, pL, 1, 5 and 9 times in 10 no more; None for what is not replenished."""
        settings = self.tank.settings
        if not settings.replenished:
            return None
        mean, variance = self.course.mean[FOUR_WEEKS], self.course.variance[FOUR_WEEKS]
        idle = settings.idle_pl_per_day * self.course.idle_days[FOUR_WEEKS]
        asked = {
            name: area_at(mean, variance, share) * (settings.rate_ul_per_m2 or 0) + idle
            for name, share in (("low", P10), ("middle", P50), ("high", P90))
        }
        return {name: round(amount) for name, amount in asked.items()}


def foretell(
    at: datetime, *, live: bool, of: Iterable[Bath] | None = None, zone: ZoneInfo | None = None
) -> list[Foretold]:
    """The baths (all, or those in ``of``) in the order of the board.

    ``live``: ``at`` is now.  Else only what was known at ``at`` is used, and what a file tells counts as known when it
    happened.
    """
    zone = zone or stations.zone()
    listed = list(chemistry.baths() if of is None else of)
    if live:
        lines = chemistry.standings(at, of=listed, zone=zone)
    else:
        lines = chemistry.standings(at, at, recount=True, of=listed, zone=zone, trust_files=True)
    settings = reckoning.histories([bath.pk for bath in listed], None if live else at)
    widened = widenings(at, live=live, zone=zone)
    taught = classes_known(at, live=live, zone=zone)
    facts = known(at, live=live, zone=zone, classes=taught)
    course_of = courses(facts, widened=widened)
    processors = {bath.pk: bath.processor_id for bath in listed}
    out = []
    for line in lines:
        pk = line.of.pk or 0
        course, held = course_of[processors[pk]], tank(line, settings[pk].at(at))
        factor = widened.get(course.processor, 1.0)
        passed = passage(course, held, zone)
        asked = class_asks(course, held, passed, taught.ahead, taught.planned, zone)
        out.append(Foretold(line.of, at, course, held, passed, factor, tuple(asked)))
    return out


def widenings(at: datetime, *, live: bool, zone: ZoneInfo) -> dict[int, float]:
    """Processor → how much wider its forecasts have to be, from those that matured by ``at``, one a week."""
    rows = KeptForecast.objects.filter(why=KeptForecast.Why.NIGHTLY, at__gt=at - REMEMBERED, at__lte=at)
    if not live:
        rows = rows.filter(reckoned_at__lte=at)
    today = studio_day(at, zone)
    misses: dict[int, dict[tuple[int, int], float]] = {}
    fields = ("bath__processor", "day", "shares", "widened")
    for processor, day, shares, factor in rows.exclude(shares={}).order_by("at", "bath").values_list(*fields):
        over = {span: share for span, share in shares.items() if day + timedelta(days=int(span)) < today}
        miss = squared_miss(over, factor)
        if miss is not None:
            year, week, _ = day.isocalendar()
            misses.setdefault(processor, {}).setdefault((year, week), miss)
    return {processor: widening(list(found.values())) for processor, found in misses.items()}


def too_little(told: Foretold, zone: ZoneInfo) -> LowUse | None:
    """The chance of too little use, for a replenished tank for which the studio says how little that is."""
    settings: BathSettings = told.tank.settings
    if settings.low_use_turnovers is None or not settings.replenished or not settings.rate_ul_per_m2:
        return None
    idle = settings.idle_pl_per_day * told.course.idle_days[FOUR_WEEKS]
    needed = (float(settings.low_use_turnovers) * settings.volume_pl - idle) / settings.rate_ul_per_m2
    behind = _behind(told, zone)
    seed = crc32(f"{told.of.processor}/{told.of.bath}/{told.course.first_day}".encode())
    return low_use(told.course, behind, needed, seed=seed)


def _behind(told: Foretold, zone: ZoneInfo) -> list[float]:
    """The area of each of the last days before today that the tank has been in, at most four weeks of them."""
    today = told.course.first_day
    first = today - timedelta(days=WINDOW_DAYS)
    since = told.tank.standing.since
    if since is not None:
        first = max(first, since.astimezone(zone).date())
    days = (today - first).days
    through = fed([told.course.processor], day_span(first, zone).starts)[told.course.processor]
    spans = [day_span(first + timedelta(days=n), zone) for n in range(days)]
    return [float(through.between(span.starts, span.ends)) for span in spans]


def fed(processors: Iterable[int], since: datetime) -> dict[int, Fed]:
    """Processor → what went through it from ``since`` on, as known now."""
    sheets: dict[int, list[tuple[datetime, int]]] = {pk: [] for pk in processors}
    rows = reckoning.feeds_known().filter(processor__in=list(sheets), fed_at__gte=since, sheet_area_mm2__gt=0)
    for processor, at, area, many in rows.values_list("processor", "fed_at", "sheet_area_mm2", "sheets"):
        sheets[processor].append((at, area * many))
    return {processor: Fed(many) for processor, many in sheets.items()}


def as_kept(ask: ClassAsk) -> dict[str, Any]:
    """What a class asks of one bath, as it is kept and printed; areas mm², amounts pL."""
    return {**asdict(ask), "starts": ask.starts.isoformat(), "ends": ask.ends.isoformat()}


def as_json(told: Foretold) -> dict[str, Any]:
    """One bath for a program, as the command ``forecast --json`` prints it."""

    def iso(day: date | None) -> str | None:
        return None if day is None else day.isoformat()

    limits: Mapping[str, float] = told.passage.first_limit
    return {
        "processor": told.of.processor,
        "bath": told.of.bath,
        "p10": iso(told.passage.p10),
        "p50": iso(told.passage.p50),
        "p90": iso(told.passage.p90),
        "first_limit": {name: round(chance, 6) for name, chance in limits.items()},
        "expected_area_mm2_by_day": {
            told.course.day(n).isoformat(): round(area) for n, area in enumerate(told.course.by_day)
        },
        "history_sessions": told.course.sessions,
        "booked_hours": round(told.course.booked_h, 2),
        "room_mm2": {name: round(room.mm2) for name, room in told.tank.rooms.items()},
        "replenisher_pl_in_four_weeks": told.replenisher_pl,
        "classes": [as_kept(one) for one in told.classes],
    }
