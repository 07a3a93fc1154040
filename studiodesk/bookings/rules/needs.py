"""What somebody wants to make, and whether a station is made for it.  Pure.

A need is kept as JSON (somebody's usual one, a wish on the waiting list) and read back without failing: what cannot
be read, because somebody wrote it years ago, is left open.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import Span, localise, studio_day

from .formats import is_large, same_format

DAY_MINUTES = 1440
MINUTE = timedelta(minutes=1)
SHORTEST, LONGEST = 5, 720


@dataclass(frozen=True)
class Need:
    """Empty fields are open: anything will do.

    ``process`` is a code; ``kind`` is asked where there is none.  ``print_mm`` is the print's edges, the shorter first;
    ``bench_mm`` from and to which height; ``beside``: a friend works at another station of the kind at the same time.
    ``weekdays``: 0 is Monday; ``not_before`` and ``not_after``: minutes after midnight between which the stay lies
    (``not_after`` at or before ``not_before``: on the next day).  ``kit``: (item's code, pieces).
    """

    negative: str = ""
    process: str = ""
    kind: str = ""
    print_mm: tuple[int, int] | None = None
    light_source: str = ""
    colour_filters: bool = False
    beside: bool = False
    step_free: bool = False
    bench_mm: tuple[int, int] | None = None
    large_format: bool = False
    length: int = 120
    weekdays: tuple[int, ...] = ()
    first_day: date | None = None
    last_day: date | None = None
    not_before: int | None = None
    not_after: int | None = None
    kit: tuple[tuple[str, int], ...] = ()

    @property
    def stay(self) -> timedelta:
        """How long it takes."""
        return timedelta(minutes=self.length)


@dataclass(frozen=True)
class Traits:
    """What a station is made for.  ``feed_widths``: process code → the widest feed of the machines that run it;
    ``largest_print_mm``: (shorter, longer) edge; ``zone``: the room whose light it shares, "" in its own cubicle.
    """

    code: str
    kind: str
    formats: tuple[str, ...] = ()
    light_source: str = ""
    has_colour_filters: bool = False
    largest_print_mm: tuple[int, int] | None = None
    step_free: bool = False
    bench_height_mm: int | None = None
    processes: frozenset[str] = frozenset()
    feed_widths: Mapping[str, int] = field(default_factory=dict)
    zone: str = ""


def _process(has: Traits, need: Need) -> bool:
    # Without a process no booth is to be had: a place at a processor comes with every booking of one.
    return need.process in has.processes if need.process else not has.processes


def _bench(has: Traits, need: Need) -> bool:
    if need.bench_mm is None:
        return True
    return has.bench_height_mm is not None and need.bench_mm[0] <= has.bench_height_mm <= need.bench_mm[1]


def _print(has: Traits, need: Need) -> bool:
    if need.print_mm is None or has.largest_print_mm is None:
        return True
    short, long = sorted(need.print_mm)
    most_short, most_long = sorted(has.largest_print_mm)
    return short <= most_short and long <= most_long


def _feed(has: Traits, need: Need) -> bool:
    """A sheet goes in with its narrow edge first."""
    if need.print_mm is None or need.process not in has.feed_widths:
        return True
    return min(need.print_mm) <= has.feed_widths[need.process]


#: What a station can fail in, in the order in which it is named.
POINTS: tuple[tuple[str, Callable[[Traits, Need], bool]], ...] = (
    ("kind", lambda has, need: not need.kind or has.kind == need.kind),
    ("process", _process),
    ("negative", lambda has, need: not need.negative or any(same_format(need.negative, one) for one in has.formats)),
    ("large_format", lambda has, need: not need.large_format or any(is_large(one) for one in has.formats)),
    ("print", _print),
    ("feed_width", _feed),
    ("light_source", lambda has, need: need.light_source.casefold() in ("", has.light_source.casefold())),
    ("colour_filters", lambda has, need: has.has_colour_filters or not need.colour_filters),
    ("step_free", lambda has, need: has.step_free or not need.step_free),
    ("bench", _bench),
)


def fits(has: Traits, need: Need) -> tuple[str, ...]:
    """The points of the need that the station does not meet; empty: it is made for it.

    A holder for 4×5 in takes smaller negatives only if the station lists them.
    """
    return tuple(name for name, meets in POINTS if not meets(has, need))


def window(day: date, need: Need, zone: ZoneInfo) -> Span | None:
    """Within which instants a stay that begins on that local day has to lie; None: the day does not suit.

    Without a clock time it may begin at any time of the day and run over midnight.
    """
    if need.weekdays and day.weekday() not in need.weekdays:
        return None
    if (need.first_day and day < need.first_day) or (need.last_day and day > need.last_day):
        return None
    begins = need.not_before or 0
    midnight = datetime.combine(day, datetime.min.time())
    starts = localise(midnight + begins * MINUTE, zone)
    if need.not_after is None:
        ends = localise(midnight + DAY_MINUTES * MINUTE, zone) + need.stay - MINUTE
    else:
        ends = localise(midnight + (need.not_after + DAY_MINUTES * (need.not_after <= begins)) * MINUTE, zone)
    return Span(starts, ends) if starts < ends else None


def suits(span: Span, need: Need, zone: ZoneInfo) -> bool:
    """Does the stay lie on a day and between the clock times that suit?"""
    around = window(studio_day(span.starts, zone), need, zone)
    return around is not None and around.covers(span)


def need_to_json(need: Need) -> dict[str, Any]:
    """Only what is asked, in plain JSON values."""
    out: dict[str, Any] = {}
    plain = Need()
    for name in Need.__dataclass_fields__:
        value = getattr(need, name)
        if value == getattr(plain, name) and name != "length":
            continue
        out[name] = value.isoformat() if isinstance(value, date) else _listed(value)
    return out


def _listed(value: Any) -> Any:
    return [_listed(one) for one in value] if isinstance(value, tuple) else value


def need_from_json(kept: Any) -> Need:
    """The need that was kept; a field that cannot be read is open."""
    if not isinstance(kept, Mapping):
        return Need()
    read = {}
    for name, reader in READERS.items():
        try:
            if name in kept:
                read[name] = reader(kept[name])
        except (ValueError, TypeError):
            continue
    return Need(**read)


def _text(value: Any) -> str:
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError(value)
    value.encode()  # half a surrogate pair is no text: a ``ValueError`` too
    return value


def _yes(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(value)
    return value


def _whole(least: int, most: int) -> Callable[[Any], int]:
    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise ValueError(value)
        return value

    return read


def _pair(value: Any) -> tuple[int, int]:
    short, long = sorted(_whole(1, 100_000)(one) for one in value)
    return short, long


def _days(value: Any) -> tuple[int, ...]:
    return tuple(sorted({_whole(0, 6)(one) for one in value}))


def _kit(value: Any) -> tuple[tuple[str, int], ...]:
    return tuple((_text(code), _whole(1, 1000)(pieces)) for code, pieces in value)


READERS: dict[str, Callable[[Any], Any]] = {
    "negative": _text,
    "process": _text,
    "kind": _text,
    "print_mm": _pair,
    "light_source": _text,
    "colour_filters": _yes,
    "beside": _yes,
    "step_free": _yes,
    "bench_mm": _pair,
    "large_format": _yes,
    "length": _whole(SHORTEST, LONGEST),
    "weekdays": _days,
    "first_day": date.fromisoformat,
    "last_day": date.fromisoformat,
    "not_before": _whole(0, DAY_MINUTES),
    "not_after": _whole(0, DAY_MINUTES),
    "kit": _kit,
}
