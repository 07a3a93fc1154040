"""Forecasts are kept with their date, and scored once it is known what came."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.acts import act, locked
from studiodesk.chemistry import queries as chemistry
from studiodesk.journal.actions import record
from studiodesk.parts import AT_A_TIME
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import day_span, localise, studio_day

from .. import queries
from ..models import KeptForecast
from ..queries.forecasting import fed, foretell
from ..queries.rows import low_use_row, row_of
from ..rules.score import SPANS, Outcome, Said, due_spans, outcome, shares
from ..rules.values import HORIZON_DAYS

#: The house is empty and the day's sheets are counted.
AT_NIGHT = time(3, 0)
#: Weeks behind without a forecast get one, made with what was known then.
WEEKS_LOOKED_BACK = 12
LEARNING = timedelta(weeks=3)
#: What was asked for by day is no night's forecast: nothing is scored by it.
ASKED_KEPT = timedelta(days=14)


def keep_forecasts(*, now: datetime, why: str = KeptForecast.Why.ASKED, by: Any = None) -> int:
    """Reckon every bath as of now and keep it; answers how many baths.

    The reckoning is done before the writing begins, so that nobody waits for it.  Too little use is simulated at
    night; asked for by day, the night's answer is carried on.
    """
    zone = stations.zone()
    found = foretell(now, live=True, zone=zone)
    if why == KeptForecast.Why.NIGHTLY:
        little = {told.of.pk: low_use_row(told, zone) for told in found}
    else:
        latest = queries.latest()
        since = {told.of.pk: told.tank.standing.since for told in found}
        little = {pk: row.low_use for pk, row in latest.items() if row.tank_since == since.get(pk)}
    rows = [row_of(told, now, why, little.get(told.of.pk)) for told in found]
    _keep(rows, now, by)
    return len(rows)


def forecast_tonight(*, now: datetime) -> int:
    """What the timer does each minute: the night's forecasts once a local night, one after a bath change, the score.

    Answers how many forecasts were kept.  A night that was missed is made up for in the morning.
    """
    if stations.studio_or_none() is None or not chemistry.baths().exists():
        return 0
    zone = stations.zone()
    today = studio_day(now, zone)
    if now < localise(datetime.combine(today, AT_NIGHT), zone):
        today -= timedelta(days=1)
    if KeptForecast.objects.filter(why=KeptForecast.Why.NIGHTLY, day__gte=today).exists():
        return _after_a_change(now)
    kept = _look_back(now, zone)
    kept += keep_forecasts(now=now, why=KeptForecast.Why.NIGHTLY)
    score_forecasts(now=now)
    _forget_the_asked(now)
    return kept


def _after_a_change(now: datetime) -> int:
    """A tank that was filled since its last forecast gets a new one within the minute, and so do all after a class."""
    why = queries.changed_since(now)
    return keep_forecasts(now=now, why=why) if why else 0


def _look_back(now: datetime, zone: ZoneInfo) -> int:
    """One forecast for each of the weeks behind that has none, with what was known then.

    So there is a score from the first night on, after an import, and after weeks in which no timer ran.
    """
    began = queries.history_began()
    if began is None:
        return 0
    today = studio_day(now, zone)
    nights = queries.nights_since(today - timedelta(weeks=WEEKS_LOOKED_BACK + 1))
    rows: list[KeptForecast] = []
    for weeks in range(WEEKS_LOOKED_BACK, 0, -1):
        day = today - timedelta(weeks=weeks)
        at = localise(datetime.combine(day, AT_NIGHT), zone)
        if at - began >= LEARNING and not any(day - timedelta(days=n) in nights for n in range(7)):
            rows += [row_of(told, now, KeptForecast.Why.NIGHTLY, None) for told in foretell(at, live=False)]
    _keep(rows, now, None)
    return len(rows)


@act
def _keep(rows: Sequence[KeptForecast], now: datetime, by: Any) -> None:
    """A night that somebody else reckoned meanwhile stands as it is; the studio's row is the lock for it."""
    list(locked(Studio.objects.all()))
    nights = KeptForecast.objects.filter(why=KeptForecast.Why.NIGHTLY, day__in={row.day for row in rows})
    there = set(nights.values_list("bath", "day"))
    new = [row for row in rows if row.why != KeptForecast.Why.NIGHTLY or (row.bath_id, row.day) not in there]
    KeptForecast.objects.bulk_create(new, batch_size=AT_A_TIME)
    if new:
        record(code="planning.forecasts_kept", happened_at=now, now=now, by=by, facts={"forecasts": len(new)})


@act
def _forget_the_asked(now: datetime) -> None:
    KeptForecast.objects.exclude(why=KeptForecast.Why.NIGHTLY).filter(at__lt=now - ASKED_KEPT).delete()


@act
def score_forecasts(*, now: datetime) -> int:
    """Hold the nights' forecasts that matured against what came; answers how many did.

    One forecast a bath and week counts inside or outside: those of one week mature by the same sheets.  A share is
    written once, on the night after its span, by what was known then.
    """
    list(locked(Studio.objects.all()))
    zone = stations.zone()
    today = studio_day(now, zone)
    oldest = today - timedelta(days=HORIZON_DAYS + 30)
    nights = KeptForecast.objects.filter(why=KeptForecast.Why.NIGHTLY, day__gte=oldest, day__lt=today).order_by(
        "at", "pk"
    )
    rows = list(nights.exclude(course=[]).select_related("bath").defer("course"))
    if not rows:
        return 0
    due = {row.pk: [s for s in due_spans(row.day, today) if str(s) not in row.shares] for row in rows}
    courses = dict(nights.filter(pk__in=[pk for pk, spans in due.items() if spans]).values_list("pk", "course"))
    through = fed({row.bath.processor_id for row in rows}, day_span(rows[0].day, zone).starts)
    counted = _weeks_counted(oldest)
    changed, matured, done = [], 0, []
    for row in rows:
        sheets = through[row.bath.processor_id]
        if row.pk in courses:
            row.shares |= shares(row.at, row.day, courses[row.pk], due[row.pk], sheets, zone)
        if row.scored_at is None and _settle(row, outcome(_said(row), sheets, today, zone), now, counted):
            matured += 1
        elif row.pk not in courses:
            continue
        changed.append(row)
        if row.scored_at is not None and len(row.shares) == len(SPANS):
            done.append(row.pk)  # all that the course was kept for is known
    fields = ["scored_at", "passed_on", "was_inside", "shares"]
    KeptForecast.objects.bulk_update(changed, fields, batch_size=AT_A_TIME)
    KeptForecast.objects.filter(pk__in=done).update(course=[])
    return matured


def _said(row: KeptForecast) -> Said:
    return Said(row.at, row.day, row.p10, row.p90, row.room_mm2, row.age_ends_at, row.idle_mm2)


def _settle(row: KeptForecast, found: Outcome, now: datetime, counted: set[tuple[int, int, int]]) -> bool:
    """Put what came into the row, if it is known; the first of a bath's week that named a range counts."""
    if not found.matured:
        return False
    row.scored_at, row.passed_on = now, found.passed_on
    week = (row.bath_id, *row.day.isocalendar()[:2])
    if found.was_inside is not None and week not in counted:
        row.was_inside = found.was_inside
        counted.add(week)
    return True


def _weeks_counted(oldest: date) -> set[tuple[int, int, int]]:
    """(bath, ISO year, ISO week) of the forecasts that count in the score already."""
    done: Iterable[tuple[int, date]] = KeptForecast.objects.filter(
        was_inside__isnull=False, day__gte=oldest
    ).values_list("bath", "day")
    return {(bath, *day.isocalendar()[:2]) for bath, day in done}
