"""What the desk has to do, in the order in which it should be done.  No Django."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

SOON = timedelta(minutes=60)
#: A bath that will be too old within this long is said with the hour.
BY_THE_HOUR = timedelta(hours=48)

NEVER = float("inf")

SPENT, OVERDUE_WARM_UP, GIVE, WARM_UP_SOON, TIRED, WARM_UP = range(6)


@dataclass(frozen=True)
class Task:
    """One thing to do.  ``thing`` is a bath's standing or a processor to warm up; ``by`` the moment it is due."""

    urgency: int
    thing: Any
    by: datetime | None = None
    ahead: Any = None  # what is foretold of the bath
    in_days: float = NEVER  # until a tired bath has reached a limit, by its age or as it is foretold

    @property
    def what(self) -> str:
        """ "spent", "give", "tired" or "warm up" """
        return {SPENT: "spent", GIVE: "give", TIRED: "tired"}.get(self.urgency, "warm up")

    @property
    def is_late(self) -> bool:
        return self.urgency == OVERDUE_WARM_UP


def bath_tasks(standings: Iterable[Any], ahead: Mapping[int, Any] = MappingProxyType({})) -> list[Task]:
    """One task for every reason that a bath has to be looked after: it can be spent and wait for replenishment.

    ``ahead``: bath id → what is foretold of it.
    """
    found = []
    for line in standings:
        if line.word == "empty":
            continue  # poured away: there is nothing to change or to replenish until it is filled
        if line.used >= 1 or "at its end" in line.alerts:
            found.append(Task(SPENT, line, ahead=_of(line, ahead)))
        elif line.word == "tired" and line.nears_its_end:
            found.append(Task(TIRED, line, _change_by(line), _of(line, ahead), _in_days(line, _of(line, ahead))))
        if line.replenishment_due or "replenishment due" in line.alerts:
            found.append(Task(GIVE, line))
    return found


def _of(line: Any, ahead: Mapping[int, Any]) -> Any:
    return ahead.get(line.of.pk) if ahead else None


def _in_days(line: Any, ahead: Any) -> float:
    """The sooner of the day on which it is too old and the day that is foretold."""
    foretold = ahead.in_days if ahead is not None else None
    return min((days for days in (line.change_in_days, foretold) if days is not None), default=NEVER)


def _change_by(line: Any) -> datetime | None:
    """When the bath will be too old, if that is near."""
    by: datetime | None = line.change_by
    return by if by is not None and by - line.at < BY_THE_HOUR else None


def warm_up_task(begin: datetime, thing: Any, now: datetime) -> Task:
    """Warm up by ``begin``: late at that very moment, soon in the hour before it."""
    if begin <= now:
        return Task(OVERDUE_WARM_UP, thing, begin)
    return Task(WARM_UP_SOON if begin <= now + SOON else WARM_UP, thing, begin)


def in_order(tasks: Iterable[Task]) -> list[Task]:
    """The most urgent first; of the same urgency the earliest, those without a day or an hour last."""
    return sorted(tasks, key=lambda task: (task.urgency, task.in_days, task.by.timestamp() if task.by else NEVER))
