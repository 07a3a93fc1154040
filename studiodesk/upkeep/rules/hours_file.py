"""``[opening]`` and ``[[closures]]`` of a studio's file.  Pure."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from itertools import pairwise

from studiodesk.answers import Refusal, refuse
from studiodesk.stations.rules import MINUTES_A_DAY, Shut

from . import cells
from .keys import Keys
from .problems import shown

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SPAN = re.compile(r"(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})", re.ASCII)


def minutes_span(value: object) -> tuple[int, int]:
    """``"13:00-22:00"`` as minutes after midnight.

    ``24:00`` may end a span; an end that is not later than the start is the next day's, so ``18:00-02:00`` gives
    (1080, 1560).  A span that begins and ends at one time says nothing and is refused.
    """
    match = _SPAN.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        refuse("upkeep.not_opening_hours", value=shown(value))
        raise AssertionError("unreachable")
    hours, minutes, end_hours, end_minutes = map(int, match.groups())
    opens, closes = hours * 60 + minutes, end_hours * 60 + end_minutes
    if minutes > 59 or end_minutes > 59 or opens >= MINUTES_A_DAY or closes > MINUTES_A_DAY:
        refuse("upkeep.not_opening_hours", value=shown(value))
    if opens == closes:
        refuse("upkeep.empty_hours", value=shown(value))
    return opens, closes if closes > opens else closes + MINUTES_A_DAY


def read_week(opening: Keys) -> Mapping[int, tuple[tuple[int, int], ...]]:
    """Each weekday's spans; one that runs past midnight is split, and spans that overlap are refused."""
    days: dict[int, list[tuple[int, int, str]]] = defaultdict(list)
    for number, name in enumerate(WEEKDAYS):
        for place, (opens, closes) in enumerate(opening.listed(name, minutes_span), 1):
            path = f"{opening.at(name)}[{place}]"
            days[number].append((opens, min(closes, MINUTES_A_DAY), path))
            if closes > MINUTES_A_DAY:
                days[(number + 1) % 7].append((0, closes - MINUTES_A_DAY, path))
    for spans in days.values():
        spans.sort()
        for (_, closes, before), (opens, _, path) in pairwise(spans):
            if opens < closes:
                opening.findings.wrong(Refusal("upkeep.hours_overlap", {"other": before}), column=path)
    return {day: tuple((opens, closes) for opens, closes, _ in spans) for day, spans in sorted(days.items())}


def read_closures(root: Keys) -> tuple[Shut, ...]:
    out = []
    for keys in root.tables("closures"):
        first = keys.needed("from", cells.day, None)
        last = keys.needed("to", cells.day, None)
        reason = keys.optional("reason", lambda value: cells.text_or_empty(value, 200), "")
        if first is None or last is None:
            continue
        if last < first:
            keys.wrong("to", Refusal("upkeep.closure_ends_first", {"first": first, "last": last}))
        else:
            out.append(Shut(first, last, reason))
    return tuple(out)
