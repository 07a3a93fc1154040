"""What is foretold of the baths, as the board, a bath's page and the desk show it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from studiodesk.bookings.models import Hold
from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.rules.standing import Standing
from studiodesk.planning import queries as planning
from studiodesk.planning import words
from studiodesk.planning.models import KeptForecast
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import studio_day

#: The desk is read in five seconds.
SHOWN = 6
NEAR = timedelta(days=14)
NEVER = date.max


@dataclass(frozen=True)
class Ahead:
    """One bath with what is foretold of the tank that stands there now."""

    line: Standing
    row: KeptForecast
    today: date

    @property
    def spent(self) -> bool:
        """It has reached a limit by now, whatever was foretold in the night."""
        return self.line.used >= 1

    @property
    def order(self) -> tuple[bool, date, date, float]:
        """What is reached first, then the soonest: by the middle, and where there is none by the early end."""
        return not self.spent, self.row.p50 or NEVER, self.row.p10 or NEVER, -self.line.used

    @property
    def in_days(self) -> int | None:
        """Days until its middle; None without one."""
        return (self.row.p50 - self.today).days if self.row.p50 is not None else None

    @property
    def glyph(self) -> str:
        """An octagon at its end, a triangle within two weeks, a square later."""
        if self.spent:
            return "octagon"
        return "triangle" if self.row.p50 is not None and self.row.p50 - self.today <= NEAR else "square"

    @property
    def has_limit(self) -> bool:
        return self.line.limit is not None

    @property
    def undated(self) -> bool:
        """It has an age limit, and nobody wrote down when it was filled."""
        return self.line.since is None and self.line.age_limit_s is not None

    @property
    def is_past(self) -> bool:
        """A limit was passed when this was reckoned, or is by now."""
        return self.spent or words.reached(self.row)

    def _said(self, say: Callable[..., str], **more: bool) -> str:
        return say(self.row, self.today, spent=self.spent, limited=self.has_limit, **more)

    @property
    def ends_by_age(self) -> bool:
        """Its middle is the day on which it is too old."""
        return self.row.p50 is not None and self.row.p50 == words.age_day(self.row)

    @property
    def sentence(self) -> str:
        how = {"spent": self.spent, "limited": self.has_limit, "undated": self.undated}
        return words.sentence(self.row, self.line.name, self.today, **how)

    @property
    def short(self) -> str:
        return self._said(words.short)

    @property
    def lead(self) -> str:
        """The short form without its range; ``rest`` says the rest of the sentence."""
        return self._said(words.lead, undated=self.undated)

    @property
    def rest(self) -> str:
        return words.rest(self.row, self.today, limited=self.has_limit, undated=self.undated)

    @property
    def middle(self) -> str:
        return self._said(words.middle)

    @property
    def dates(self) -> str:
        return self._said(words.dates)

    @property
    def good(self) -> str:
        return words.good_words(self.row, self.today, spent=self.spent)

    @property
    def booked(self) -> str:
        return words.hours_words(self.row.booked_s)

    @property
    def more(self) -> list[str]:
        return [] if self.spent else words.more(self.row, self.today)

    @property
    def beside(self) -> list[str]:
        """The same for the board: what the jug is asked stands on the bath's own page."""
        return [] if self.spent else words.more(self.row, self.today, jug=False)


@dataclass(frozen=True)
class Earlier:
    """A forecast that was kept, with the dates it named."""

    row: KeptForecast

    @property
    def said(self) -> str:
        return words.dates(self.row, self.row.day, near=False)

    @property
    def verdict(self) -> str:
        return words.verdict(self.row)


@dataclass(frozen=True)
class AheadOfDesk:
    """The nearest baths, how many more there are, how good the last forecasts were, and when these were made."""

    of: dict[int, Ahead]  # every bath of which something is foretold
    baths: list[Ahead]
    more: int
    score: planning.Score
    reckoned_at: datetime | None
    is_of_today: bool

    @property
    def score_words(self) -> str:
        return words.score_words(self.score.inside, self.score.of)

    @property
    def signature(self) -> tuple[object, ...]:
        """The same as long as this part of the page would look the same, but for the day."""
        rows = [(one.row.pk, one.spent) for one in self.of.values()]
        return rows, self.more, self.score, self.reckoned_at


class Foretold(NamedTuple):
    """``baths``: bath id → what is foretold of it; ``new``: whose tank is newer than every forecast."""

    baths: dict[int, Ahead]
    score: planning.Score
    new: set[int]


def ahead(lines: Iterable[Standing], now: datetime, zone: ZoneInfo) -> Foretold:
    """What is foretold of each bath, and how good the last forecasts were; one query.

    A bath that was at its limit then and is not any more, its last sheets taken back, has nothing foretold.
    """
    of = {line.of.pk: line for line in lines if line.of.pk is not None}
    rows, score, changed = planning.told(of.values())
    today = studio_day(now, zone)
    found = {pk: Ahead(of[pk], row, today) for pk, row in rows.items()}
    baths = {pk: one for pk, one in found.items() if one.spent or not words.reached(one.row)}
    return Foretold(baths, score, changed)


def worst_first(lines: Iterable[Standing], found: Mapping[int, Ahead]) -> list[Standing]:
    """Spent before all others, then the soonest end; of those that no end is foretold of the most used first."""

    def order(line: Standing) -> tuple[bool, date, date]:
        one = found.get(line.of.pk or 0)
        if one is None or line.used >= 1:
            return line.used < 1, NEVER, NEVER
        return True, one.row.p50 or NEVER, one.row.p10 or NEVER

    return sorted(chemistry.worst_first(lines), key=order)


def soonest(found: Iterable[Ahead]) -> list[Ahead]:
    """The baths that can come to an end, the soonest first."""
    return sorted((one for one in found if one.has_limit), key=lambda one: one.order)


def ahead_of_desk(lines: Iterable[Standing], now: datetime, zone: ZoneInfo) -> AheadOfDesk:
    found, score, _new = ahead(lines, now, zone)
    baths = soonest(found.values())
    made = max((one.row.reckoned_at for one in found.values()), default=None)
    of_today = made is not None and studio_day(made, zone) == studio_day(now, zone)
    return AheadOfDesk(found, baths[:SHOWN], max(0, len(baths) - SHOWN), score, made, of_today)


def planned_changes(processor: Processor, now: datetime) -> list[datetime]:
    """When the processor is kept for a bath change from now on, soonest first."""
    holds = Hold.objects.filter(lane__resource__processor=processor, cause=Hold.Cause.BATH_CHANGE, starts__gte=now)
    return sorted(set(holds.values_list("starts", flat=True)))
