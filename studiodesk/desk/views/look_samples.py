"""What the page of the look shows its parts with: small days and baths of no studio.  Pure: no store, no clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from studiodesk.bookings.rules.day import DayLine, Step, Stretch, Wedge
from studiodesk.timekeeping import Span, day_span

DAY = date(2026, 11, 27)
NOW = time(14, 8)
HOUR = timedelta(hours=1)
#: A kind of each notch that there is, and one that nobody has drawn a notch for.
KINDS = ("enlarger booth", "processor", "scanning station", "shooting bay", "film bench", "copy stand")
#: Hours → stations free of eight: every tone, then closed.
TONES = ((10, 13, 8, 8), (13, 15, 7, 8), (15, 16.25, 6, 8), (16.25, 17.5, 4, 8), (17.5, 19, 2, 8), (19, 20.5, 0, 8),
         (20.5, 22, 0, 0))  # fmt: skip


@dataclass(frozen=True)
class Standing:
    """How a bath stands, as the wedge reads it."""

    word: str
    used: float
    limit: str | None = None
    silver_settles_below: bool = False
    is_empty: bool = False
    dumped_at: datetime | None = None


STANDINGS = (
    Standing("new", 0.0),
    Standing("in use", 0.63, "silver"),
    Standing("in use", 0.7, "silver", silver_settles_below=True),
    Standing("tired", 0.87, "capacity"),
    Standing("tired", 0.92, "turnovers"),
    Standing("spent", 1.2, "age"),
    Standing("spent", 1.0, "condemned"),
)


class Samples:
    """Everything for one drawing of the page; ``name`` keeps what is named on the page apart."""

    def __init__(self, name: str, zone: ZoneInfo) -> None:
        self.name, self.zone = name, zone
        self.day, self.now = DAY, datetime.combine(DAY, NOW, zone)

    def at(self, hour: float) -> datetime:
        """An hour of the sample's day as the wall clock reads it."""
        return datetime.combine(DAY, time(int(hour), round(hour % 1 * 60)), self.zone)

    @property
    def evening(self) -> datetime:
        return self.at(22)

    def wedges(self) -> list[Wedge]:
        return [
            self._wedge("enlarger booth", TONES),
            self._wedge("processor", ((10, 13, 2, 4), (13, 17, 4, 4), (17, 22, 1, 4))),
            self._wedge("shooting bay", ((10, 22, 1, 1),), note="backdrop 2.7 m"),
            self._wedge("film bench", ((10, 22, 0, 0),)),
        ]

    def _wedge(self, kind: str, rows: Sequence[tuple[float, float, int, int]], note: str = "") -> Any:
        steps = tuple(Step(self.at(a), self.at(b), free, of, "#wedge") for a, b, free, of in rows)
        return Wedge(kind, max(row[3] for row in rows) or 2, steps, "#wedge")

    def _line(self, code: str, name: str, kind: str, note: str, *pieces: tuple[Any, ...]) -> DayLine:
        stretches = tuple(
            Stretch(self.at(a), self.at(b), what, *more, url="#line" if what in ("free", "yours") else None)
            for a, b, what, *more in pieces
        )
        return DayLine(f"{self.name}-{code}", name, kind, note, stretches)

    def lines(self) -> list[DayLine]:
        """A station's day in every state, a processor's with its places, one that is not open."""
        places = ((10, 12, 4), (12, 14, 1), (14, 18, 0), (18, 22, 2))
        processor = tuple(
            Stretch(self.at(a), self.at(b), "free" if free else "taken", url="#line", free=free, of=4)
            for a, b, free in places
        )
        return [
            self._line("E1", "Booth 1", "enlarger booth", _("condenser, 35 mm"),
                       (10, 14.25, "past"), (14.25, 16, "yours"), (16, 16.25, "clear-up"),
                       (16.25, 19, "free"), (19, 22, "taken")),
            self._line("E2", "Booth 2", "enlarger booth", "colour head", (10, 14, "class", "First prints"),
                       (14, 15, "clear-up"), (15, 17.5, "kept"), (17.5, 20, "out of service", "the lamp is broken"),
                       (20, 22, "closed")),
            DayLine(f"{self.name}-P1", "P-1", "processor", "sheets to 50 cm", processor),
            DayLine(f"{self.name}-F1", "Bench 1", "film bench", "", ()),
        ]  # fmt: skip

    def covered(self) -> DayLine:
        """What the card covers, as it stands when it is lifted."""
        return self._line("E3", "Booth 3", "enlarger booth", "", (10, 11, "taken"), (11, 14.25, "past"),
                          (14.25, 22, "free"))  # fmt: skip

    def long_days(self) -> list[tuple[Span, DayLine]]:
        """A whole day of 24 hours, and the day on which this studio's clocks change next, if they do."""
        out = []
        for number, day in enumerate([DAY, *self._changing()]):
            span = day_span(day, self.zone)
            middle = span.starts + (span.ends - span.starts) / 2
            pieces = (
                Stretch(span.starts, span.starts + 5 * HOUR, "free", url="#line"),
                Stretch(span.starts + 5 * HOUR, middle, "taken"),
                Stretch(middle, span.ends, "free", url="#line"),
            )
            out.append((span, DayLine(f"{self.name}-D{number}", "Bay 1", "shooting bay", f"{day:%Y-%m-%d}", pieces)))
        return out

    def _changing(self) -> list[date]:
        for number in range(1, 366):
            span = day_span(DAY + timedelta(days=number), self.zone)
            if span.ends.timestamp() - span.starts.timestamp() != 24 * 3600:
                return [DAY + timedelta(days=number)]
        return []

    def standings(self) -> Sequence[Standing]:
        return STANDINGS

    def bare(self) -> list[Standing]:
        """Baths that no limit fills."""
        return [
            Standing("in use", 0.0),
            Standing("empty", 0.0, is_empty=True, dumped_at=self.at(11)),
        ]
