"""What a class will do to one bath: how far it is used when the class's day is over, and whether it lasts.  Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from .classes import Ahead
from .limits import Tank
from .passage import Passage, limit_by
from .values import Course, Planned

#: So far ahead classes are told of, and so many of them a bath.
LOOK_AHEAD, MOST = timedelta(days=28), 8
#: From this chance on that a limit is met by the class's end the bath is to be changed before it.
TOO_LIKELY = 0.1
#: From here on a bath is called tired (chemistry.md 9).
TIRED = 0.8


@dataclass(frozen=True)
class ClassAsk:
    """``mm2``: what the class is expected to put through here; ``used``: of the limit that use meets first (1 is all),
    at the end of the class's day, None without a limit; ``chance``: that a limit is met by then; ``before``: by the end
    of the day before; ``replenisher_pl``: what it asks of the jug.
    """

    stay: int
    title: str
    starts: datetime
    ends: datetime
    mm2: int
    used: float | None
    chance: float
    before: float
    limit: str
    replenisher_pl: int | None = None

    @property
    def verdict(self) -> str:
        return verdict(self.chance, self.used)


def verdict(chance: float, used: float | None) -> str:
    """ "change": the bath may give out by the end of the class; "tired"; "carries"; "no limit"."""
    if chance >= TOO_LIKELY:
        return "change"
    if used is None:
        return "no limit"
    return "tired" if used >= TIRED else "carries"


def class_asks(
    course: Course, tank: Tank, passage: Passage, ahead: Iterable[Ahead], planned: Iterable[Planned], zone: ZoneInfo
) -> list[ClassAsk]:
    """What each class at this processor within four weeks will find and leave, the soonest first."""
    areas = {one.stay: one.mean_mm2 for one in planned if one.processor == course.processor}
    out = []
    for one in sorted(ahead, key=lambda one: (one.starts, one.stay)):
        number = (one.ends.astimezone(zone).date() - course.first_day).days
        if one.stay not in areas or not 0 <= number <= LOOK_AHEAD.days:
            continue
        limit = tank.passed or limit_by(tank, course, number)
        used = tank.used_after(limit, course.mean[number]) if limit in tank.rooms else tank.used.get(limit)
        chance = passage.reached[number]
        if passage.age_day is not None and course.day(number) >= passage.age_day:
            limit, used = "age", 1.0
        rate = tank.settings.rate_ul_per_m2 if tank.settings.replenished else None
        out.append(
            ClassAsk(
                stay=one.stay,
                title=one.title,
                starts=one.starts,
                ends=one.ends,
                mm2=round(areas[one.stay]),
                used=used,
                chance=round(chance, 6),
                before=round(passage.reached[number - 1] if number else float(tank.passed is not None), 6),
                limit=limit,
                replenisher_pl=None if rate is None else round(areas[one.stay] * rate),
            )
        )
    return out[:MOST]
