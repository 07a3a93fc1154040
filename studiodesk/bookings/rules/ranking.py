"""Which of many free times are worth showing: the best, with why, spread over days and stations.  Pure.

Ten starts of one evening at one booth help nobody choose, so no two offers of one station share an instant, and no day
has a third offer while another day has none to show but its first two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, studio_day

from .asking import next_on_grid
from .free_times import Offer
from .needs import Need, Traits

HOUR = timedelta(hours=1)
MOST, A_DAY, MOST_REASONS = 10, 2, 4
#: So few others in the house are "hardly anybody".
QUIET = 2
#: What a time gains by each reason; those of weight 0 are said and decide nothing, for every offer has them.
WEIGHTS = {
    "supervised": 0.0,
    "light_source": 0.0,
    "step_free": 0.0,
    "takes": 0.0,
    "prints": 0.0,
    "usual_day": 3.0,
    "warm": 3.0,
    "same_light": 2.0,
    "soonest": 1.0,
    "ready": 1.0,
    "own_light": 1.0,
    "longer": 1.0,
    "quiet": 1.0,
    "all_asked": 0.0,
}
#: What a time loses for each day it lies further away.
A_DAY_LATER = 0.25


@dataclass(frozen=True)
class Chance:
    """A station to be had from ``starts`` on.  ``last``: as late as that one may begin with nothing else changed;
    ``place`` is the processor's key; ``beside`` a second station for a friend.
    """

    station: str
    starts: datetime
    ends: datetime
    last: datetime
    place: int | None = None
    beside: str = ""
    reasons: tuple[str, ...] = ()

    @property
    def span(self) -> Span:
        return Span(self.starts, self.ends)


@dataclass(frozen=True)
class Around:
    """What stands around the times: ``heated``, processor's key → stays booked at it; ``ready``, processor's key → its
    warm-up; ``lit``: when a shared room (by name) is kept in the light that is needed; ``inside``: who is in.
    """

    zone: ZoneInfo
    opened: Sequence[Span] = ()
    heated: Mapping[int, Sequence[Span]] = field(default_factory=dict)
    warm_up: Mapping[int, timedelta] = field(default_factory=dict)
    lit: Mapping[str, Sequence[Span]] = field(default_factory=dict)
    inside: Sequence[Span] = ()
    usual_days: frozenset[int] = frozenset()
    supervised: Sequence[Span] | None = None


def clipped(runs: Iterable[Offer], window: Span, grid: timedelta) -> Iterator[Offer]:
    """The runs as far as their stays lie within ``window``; they begin no earlier than it."""
    for run in runs:
        room = min(run.last, window.ends - run.length) - run.first
        if run.first >= window.starts and room >= timedelta(0):
            yield replace(run, last=run.first + room // grid * grid)


def starts_of(run: Offer, zone: ZoneInfo) -> Iterator[datetime]:
    """The starts of a run that are worth weighing: its first, each whole hour, its last."""
    yield run.first
    at = next_on_grid(run.first + timedelta(minutes=1), HOUR, zone)
    while at < run.last:
        yield at
        at = next_on_grid(at + timedelta(minutes=1), HOUR, zone)
    if run.last > run.first:
        yield run.last


def reasons_for(chance: Chance, has: Traits, need: Need, around: Around) -> tuple[str, ...]:
    """Every reason that speaks for this time, in the order in which it is said."""
    stay = chance.span
    opening = next((span for span in around.opened if span.covers(stay)), None)
    at_it = around.heated.get(chance.place or 0, ()) if need.process else ()
    warm = any(one.starts <= stay.starts - HOUR / 2 and one.ends >= stay.starts - HOUR for one in at_it)
    ready = (
        bool(need.process)
        and opening is not None
        and opening.starts + around.warm_up.get(chance.place or 0, timedelta(0)) <= stay.starts
    )
    lit = any(span.overlaps(stay) for span in around.lit.get(has.zone, ())) if has.zone else False
    others = sum(span.overlaps(stay) for span in around.inside)
    day = studio_day(stay.starts, around.zone)
    said = {
        "supervised": around.supervised is not None and any(span.covers(stay) for span in around.supervised),
        "light_source": bool(need.light_source),
        "step_free": need.step_free,
        "takes": bool(need.negative) or need.large_format,
        "prints": need.print_mm is not None,
        "usual_day": day.weekday() in around.usual_days,
        "warm": warm,
        "same_light": bool(need.process) and lit,
        "ready": ready and not warm,
        "own_light": bool(need.process) and not has.zone,
        "longer": chance.last - stay.starts >= HOUR,
        "quiet": others <= QUIET,
    }
    return tuple(code for code, true in said.items() if true)


def score(chance: Chance, first: date, zone: ZoneInfo) -> float:
    """The more the better; of two alike the sooner."""
    days = (studio_day(chance.starts, zone) - first).days
    return sum(WEIGHTS[code] for code in chance.reasons) - A_DAY_LATER * days


@dataclass(frozen=True)
class Picked:
    """One offer.  ``refusal``: the person's own rules stand in its way."""

    chance: Chance
    reasons: tuple[str, ...]
    refusal: Refusal | None = None


def choose(
    chances: Iterable[Chance],
    zone: ZoneInfo,
    refused: Callable[[Chance], Refusal | None] = lambda _chance: None,
    most: int = MOST,
) -> list[Picked]:
    """At most ``most``: the soonest of all, then the best.  What ``refused`` refuses is left out; if that is all there
    is, the best of those are shown with their refusal.
    """
    many = sorted(chances, key=_by_time)
    if not many:
        return []
    first = studio_day(many[0].starts, zone)
    many.sort(key=lambda one: -score(one, first, zone))  # stable: of equals the sooner stays in front
    answers: dict[int, Refusal | None] = {}

    def may(one: Chance) -> bool:
        if id(one) not in answers:
            answers[id(one)] = refused(one)
        return answers[id(one)] is None

    found = _spread(many, zone, most, may)
    if found:
        soonest = min(found, key=lambda one: one.starts)
        return [Picked(one, _said(one, one is soonest)) for one in found]
    return [Picked(one, (), answers[id(one)]) for one in _spread(many, zone, min(most, 3), lambda _one: True)]


def _by_time(one: Chance) -> tuple[datetime, str]:
    return one.starts, one.station


def _spread(many: Sequence[Chance], zone: ZoneInfo, most: int, may: Callable[[Chance], bool]) -> list[Chance]:
    """The soonest; then greedily, twice: at first no day a third time and the station had least often of those as good,
    then the rest.
    """
    soonest = next((one for one in sorted(many, key=_by_time) if may(one)), None)
    found: list[Chance] = [] if soonest is None else [soonest]
    for a_day in (A_DAY, most) if found else ():
        taken = {id(one) for one in found}
        left = [one for one in many if id(one) not in taken]
        while left and len(found) < most:
            days = [studio_day(one.starts, zone) for one in found]
            left = [
                one
                for one in left
                if days.count(studio_day(one.starts, zone)) < a_day
                and not any(one.station == other.station and one.span.overlaps(other.span) for other in found)
            ]
            best = _next(left, found, zone, may)
            if best is None:
                break
            found.append(best)
    return found


def _next(left: list[Chance], found: Sequence[Chance], zone: ZoneInfo, may: Callable[[Chance], bool]) -> Chance | None:
    """The best that may be had; a station that was shown before weighs a point less each time, a day two."""
    stations = [one.station for one in found]
    days = [studio_day(one.starts, zone) for one in found]
    first = min((studio_day(one.starts, zone) for one in [*left, *found]), default=None)
    if first is None:
        return None

    def worth(one: Chance) -> float:
        again = stations.count(one.station) + 2 * days.count(studio_day(one.starts, zone))
        return score(one, first, zone) - again

    for one in sorted(left, key=lambda one: (-worth(one), one.starts, one.station)):
        if may(one):
            return one
        left.remove(one)
    return None


#: What was asked for is said before what speaks a little for a time; that somebody helps is said in any case.
ASKED_FOR, MUST_BE_SAID = 1.5, 9.0


def _said(one: Chance, is_soonest: bool) -> tuple[str, ...]:
    """Two to four reasons: the soonest is said where it is, and what is always true fills up."""
    codes = [*(["soonest"] if is_soonest else []), *one.reasons]

    def weight(code: str) -> float:
        return MUST_BE_SAID if code == "supervised" else WEIGHTS[code] or ASKED_FOR

    heaviest = sorted(range(len(codes)), key=lambda number: (-weight(codes[number]), number))[:MOST_REASONS]
    kept = [codes[number] for number in sorted(heaviest)]
    if len(kept) < 2:
        kept.append("all_asked")
    return tuple(kept)
