"""The demo's opening hours: the example's own, and longer where somebody looks at it in the middle of the night."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import Span, day_span, studio_day

Week = dict[int, list[tuple[int, int]]]
BEFORE = timedelta(hours=5)
AFTER = timedelta(hours=5)


def lengthened(week: Mapping[int, Sequence[tuple[int, int]]], now: datetime, zone: ZoneInfo) -> Week:
    """``week`` (weekday → minutes) opened long enough around ``now`` that people are in and an evening is ahead."""
    out: Week = {day: sorted(spans) for day, spans in week.items()}
    wanted = Span(now - BEFORE, now + AFTER)
    first, last = studio_day(wanted.starts, zone), studio_day(wanted.ends, zone)
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        part = wanted.clipped_to(day_span(day, zone))
        if part is not None:
            out[day.weekday()] = _joined(out.get(day.weekday(), []), _minutes(part, day, zone))
    return out


def _minutes(part: Span, day: date, zone: ZoneInfo) -> tuple[int, int]:
    """``part`` of a local day in whole hours of the wall clock, as minutes after midnight."""
    starts, ends = part.starts.astimezone(zone), part.ends.astimezone(zone)
    closes = 1440 if ends.date() > day else min(1440, (ends.hour + (ends.minute > 0)) * 60)
    return starts.hour * 60, max(closes, starts.hour * 60 + 60)


def _joined(spans: Sequence[tuple[int, int]], new: tuple[int, int]) -> list[tuple[int, int]]:
    opens, closes = new
    apart = [span for span in spans if span[1] < opens or span[0] > closes]
    together = [span for span in spans if span not in apart]
    opens = min([opens, *(span[0] for span in together)])
    closes = max([closes, *(span[1] for span in together)])
    return sorted([*apart, (opens, closes)])
