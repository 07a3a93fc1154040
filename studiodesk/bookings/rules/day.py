"""What a day looks like: day lines of stations and the overview's step wedges.  Pure.

A page draws one contiguous list of stretches over the drawn span, in time order and with equal neighbours joined, so
that whoever reads it (eye, screen reader, table) meets every minute once.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from studiodesk.timekeeping import Span

QUANTUM = timedelta(minutes=5)


@dataclass(frozen=True)
class Stretch:
    """One piece of a day line, ``[starts, ends)``.

    ``what`` is one of "free", "taken", "kept", "yours", "class", "clear-up", "closed", "out of service", "past";
    ``label`` is an extra word for the plate; ``free`` and ``of`` are set on a processor's stretches only (places).
    """

    starts: datetime
    ends: datetime
    what: str
    label: str = ""
    url: str | None = None
    free: int | None = None
    of: int | None = None


@dataclass(frozen=True)
class DayLine:
    """One station or processor on one day; ``stretches`` covers the drawn span without a gap."""

    code: str
    name: str
    kind: str
    note: str
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class Step:
    """``free`` of ``of`` stations of a kind are free in ``[starts, ends)``; ``of`` is 0 while the house is closed."""

    starts: datetime
    ends: datetime
    free: int
    of: int
    url: str | None = None


@dataclass(frozen=True)
class Wedge:
    """A whole kind of station at a glance."""

    kind: str
    of: int
    steps: tuple[Step, ...]
    url: str | None = None


@dataclass(frozen=True)
class Held:
    """Something that stands in the way of a booking: what, for how long, and where it leads."""

    span: Span
    what: str
    label: str = ""
    url: str | None = None


def rounded_up(moment: datetime, quantum: timedelta = QUANTUM) -> datetime:
    """``moment`` moved forward to a whole ``quantum`` since 1970 (UTC)."""
    over = timedelta(seconds=moment.timestamp() % quantum.total_seconds())
    return moment if not over else moment + quantum - over


def booked_pieces(hold: Span, shown: Span, what: str, label: str = "", url: str | None = None) -> list[Held]:
    """A booking's hold as drawn: its own times, and what lies before and after them as clear-up."""
    pieces = [Held(shown, what, label, url)]
    if hold.starts < shown.starts:
        pieces.append(Held(Span(hold.starts, shown.starts), "clear-up"))
    if shown.ends < hold.ends:
        pieces.append(Held(Span(shown.ends, hold.ends), "clear-up"))
    return pieces


def cuts(drawn: Span, spans: Sequence[Span], extra: Sequence[datetime] = ()) -> list[Span]:
    """``drawn`` cut at every edge of ``spans`` and every moment of ``extra`` that lies within it."""
    edges = {drawn.starts, drawn.ends}
    for span in spans:
        edges.update(edge for edge in (span.starts, span.ends) if drawn.holds(edge))
    edges.update(moment for moment in extra if drawn.holds(moment))
    ordered = sorted(edges)
    return [Span(a, b) for a, b in itertools.pairwise(ordered)]


def joined(stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Equal neighbours made one."""
    out: list[Stretch] = []
    for stretch in stretches:
        if out and replace(out[-1], starts=stretch.starts, ends=stretch.ends) == stretch:
            out[-1] = replace(out[-1], ends=stretch.ends)
        else:
            out.append(stretch)
    return tuple(out)


def station_stretches(
    drawn: Span, opened: Sequence[Span], held: Sequence[Held], now: datetime, *, past_shown: bool = False
) -> tuple[Stretch, ...]:
    """The line of one station: what is held shows over open and closed alike; before ``now`` the card lies."""
    edge = rounded_up(now)
    out = []
    for piece in cuts(drawn, [*opened, *(h.span for h in held)], [edge]):
        if piece.ends <= edge and not past_shown:
            out.append(Stretch(piece.starts, piece.ends, "past"))
            continue
        over = [h for h in held if h.span.covers(piece)]
        if over:
            out.append(Stretch(piece.starts, piece.ends, over[-1].what, over[-1].label, over[-1].url))
        elif any(span.covers(piece) for span in opened):
            # Free time that has gone by is nobody's to have any more.
            out.append(Stretch(piece.starts, piece.ends, "free" if piece.ends > edge else "past"))
        else:
            out.append(Stretch(piece.starts, piece.ends, "closed"))
    return joined(out)


def processor_stretches(
    drawn: Span,
    opened: Sequence[Span],
    lanes: Sequence[Sequence[Held]],
    now: datetime,
    *,
    past_shown: bool = False,
) -> tuple[Stretch, ...]:
    """The line of a processor with ``len(lanes)`` places: how many are free in every piece."""
    edge, of = rounded_up(now), len(lanes)
    held = [h for lane in lanes for h in lane]
    out = []
    for piece in cuts(drawn, [*opened, *(h.span for h in held)], [edge]):
        over = [next((h for h in lane if h.span.covers(piece)), None) for lane in lanes]
        free = over.count(None)
        whats = {h.what for h in over if h is not None}
        if piece.ends <= edge and not past_shown:
            out.append(Stretch(piece.starts, piece.ends, "past", free=free, of=of))
            continue
        if "out of service" in whats and "yours" not in whats:
            # Whoever stands in it still has their place; nobody else can have one.
            what, free = "out of service", 0
        elif "yours" in whats:
            what = "yours"
        elif not any(span.covers(piece) for span in opened) and not whats:
            what, free = "closed", 0
        else:
            what = "free" if free else "taken"
            if free and piece.ends <= edge:
                what = "past"
        url = next((h.url for h in over if h is not None and h.what == what and h.url), None)
        out.append(Stretch(piece.starts, piece.ends, what, "", url, free, of))
    return joined(out)


def wedge(kind: str, drawn: Span, opened: Sequence[Span], taken: Sequence[Sequence[Span]]) -> Wedge:
    """One step wedge for a kind: ``taken`` holds, for each station of it, the spans in which it is not to be had."""
    steps: list[Step] = []
    for piece in cuts(drawn, [*opened, *(span for station in taken for span in station)]):
        is_open = any(span.covers(piece) for span in opened)
        free = sum(not any(span.covers(piece) for span in station) for station in taken) if is_open else 0
        step = Step(piece.starts, piece.ends, free, len(taken) if is_open else 0)
        if steps and (steps[-1].free, steps[-1].of) == (step.free, step.of):
            steps[-1] = replace(steps[-1], ends=step.ends)
        else:
            steps.append(step)
    return Wedge(kind, len(taken), tuple(steps))


def drawn_span(opened: Sequence[Span], held: Sequence[Span], day: Span) -> Span | None:
    """What a day page draws: from the first opening or hold to the last, whole hours, within the local day."""
    inside = [clipped for span in (*opened, *held) if (clipped := span.clipped_to(day))]
    if not inside:
        return None
    hour = timedelta(hours=1)
    starts = min(span.starts for span in inside)
    starts -= timedelta(seconds=starts.timestamp() % 3600)
    ends = rounded_up(max(span.ends for span in inside), hour)
    return Span(max(starts, day.starts), min(ends, day.ends))
