"""What was foretold: the newest forecast of each tank, how far the last ones came true, and a bath's own past ones."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

from django.db.models import F, FloatField, OuterRef, Q, QuerySet, Subquery
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from studiodesk.chemistry.models import Bath
from studiodesk.chemistry.rules.standing import Standing

from ..models import KeptForecast
from ..words.sentences import FOUR_WEEKS

LAST = 20


@dataclass(frozen=True)
class Score:
    """Of the last ``of`` forecasts that came due ``inside`` came inside their range."""

    inside: int
    of: int


class Told(NamedTuple):
    """``rows``: bath id → the newest forecast of its tank; ``changed``: baths whose forecasts are all of another."""

    rows: dict[int, KeptForecast]
    score: Score
    changed: set[int]


def latest(baths: Iterable[Bath | int] | None = None) -> dict[int, KeptForecast]:
    """Bath id → the newest forecast kept for it, whichever tank it speaks of; one query.

    The rows come without their ``course`` and with ``in_four_weeks_mm2``, the mean that it gives for four weeks.
    """
    return _newest(_light(Q(pk__in=_newest_of_each(baths))))


def score(last: int = LAST, of: Bath | None = None) -> Score:
    """How many of the newest ``last`` forecasts (of this bath, or of all) that came due came inside their range."""
    due = _matured() if of is None else _matured().filter(bath=of)
    return _score(due[:last])


def told(lines: Iterable[Standing], last: int = LAST) -> Told:
    """The newest forecast of each tank that stands there now, and the score, in one query.

    A forecast of a tank that was changed since is not among them: it speaks of what was poured away.
    """
    since = {line.of.pk: line.since for line in lines if line.of.pk is not None}
    rows = list(_light(Q(pk__in=_newest_of_each(since)) | Q(pk__in=_matured()[:last].values("pk"))))
    due = sorted((row for row in rows if row.was_inside is not None and row.scored_at), key=_came_due, reverse=True)
    newest = _newest(row for row in rows if row.bath_id in since)
    changed = {pk for pk, row in newest.items() if row.tank_since != since[pk]}
    return Told({pk: row for pk, row in newest.items() if pk not in changed}, _score(due[:last]), changed)


def earlier(bath: Bath, most: int = 12) -> list[KeptForecast]:
    """The newest forecast of a bath, and before it the first night's of each ISO week: ``most`` at the most.

    Whichever tank they spoke of; without those of a tank that nobody knows, unless they named a date.
    """
    spoke = _light(Q(bath=bath) & (Q(tank_since__isnull=False) | Q(p10__isnull=False))).order_by("-at", "-pk")
    newest = spoke.first()
    if newest is None:
        return []
    first_week = newest.day - timedelta(days=newest.day.weekday() + 7 * most)
    weeks: dict[tuple[int, int], KeptForecast] = {}
    for row in spoke.filter(why=KeptForecast.Why.NIGHTLY, day__gte=first_week):  # the last that comes is the first
        weeks[row.day.isocalendar()[:2]] = row
    return [newest, *(row for row in weeks.values() if row.pk != newest.pk)][:most]


def _light(which: Q) -> QuerySet[KeptForecast]:
    """Without the course: a desk that asks every 20 seconds reads some kilobytes less for each bath."""
    in_four_weeks = Cast(KT(f"course__{FOUR_WEEKS}__0"), FloatField())
    return KeptForecast.objects.filter(which).annotate(in_four_weeks_mm2=in_four_weeks).defer("course", "shares")


def _newest_of_each(baths: Iterable[Bath | int] | None) -> QuerySet[Bath]:
    """The id of the newest forecast of each bath: a step into the index a bath, however many nights there were."""
    of_this = KeptForecast.objects.filter(bath=OuterRef("pk")).order_by("-at", "-pk").values("pk")[:1]
    listed = Bath.objects.order_by() if baths is None else Bath.objects.order_by().filter(pk__in=_ids(baths))
    return listed.annotate(newest=Subquery(of_this)).values("newest")


def _ids(baths: Iterable[Bath | int]) -> list[int]:
    return [one.pk if isinstance(one, Bath) else one for one in baths]


def _newest(rows: Iterable[KeptForecast]) -> dict[int, KeptForecast]:
    return {row.bath_id: row for row in sorted(rows, key=lambda row: (row.at, row.pk))}


def _matured() -> QuerySet[KeptForecast]:
    """The forecasts that came due, the last one first."""
    rows = KeptForecast.objects.filter(scored_at__isnull=False, was_inside__isnull=False)
    return rows.order_by(F("scored_at").desc(), "-at", "-pk")


def _came_due(row: KeptForecast) -> tuple[object, ...]:
    return row.scored_at, row.at, row.pk


def _score(rows: Iterable[KeptForecast]) -> Score:
    answers = [row.was_inside for row in rows]
    return Score(sum(map(bool, answers)), len(answers))
