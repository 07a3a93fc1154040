"""From when on something has been true of a tank: the true moment of an alert that is raised later.  Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span, studio_day

from .events import Event
from .settings import SettingsHistory
from .tank import Filling, TankState, applied, begun
from .using import life_ends

#: Is it so of this state at this moment?
So = Callable[[TankState, datetime], bool]
#: Idle days are looked through one by one; a longer gap than this is taken as one.
MOST_DAYS = 800


def so_since(
    so: So,
    filling: Filling | None,
    events: Iterable[Event],
    history: SettingsHistory,
    at: datetime,
    zone: ZoneInfo,
) -> datetime | None:
    """From when ``so`` has held without a break until ``at``; ``None`` if it does not hold at ``at``.

    ``events``: all of this tank up to ``at``, in time order.  What time alone does (age, idle days) is found between
    them, at the moment at which it does it.
    """
    state = begun(filling)
    last = filling.at if filling else None
    since: datetime | None = None
    for event in events:
        if since is None and last is not None:
            since = _by_time_alone(so, state, last, event.at, history, zone)
        state = applied(state, event, history, zone)
        since = (since or event.at) if so(state, event.at) else None
        last = event.at
    if not so(state, at):
        return None
    if since is None and last is not None:
        since = _by_time_alone(so, state, last, at, history, zone)
    return since or at


def _by_time_alone(
    so: So, state: TankState, last: datetime, until: datetime, history: SettingsHistory, zone: ZoneInfo
) -> datetime | None:
    """The first moment after ``last`` and before ``until`` at which it became so though nothing happened."""
    moments = []
    ends = life_ends(state, history.at(last))
    if ends is not None:
        moments.append(ends)
    if history.ever_idle:
        day, midnight = studio_day(last, zone), last
        for _ in range(MOST_DAYS):
            midnight = day_span(day, zone).ends
            if midnight >= until:
                break
            moments.append(midnight)
            day = day + timedelta(days=1)
    return next((moment for moment in sorted(moments) if last <= moment < until and so(state, moment)), None)
