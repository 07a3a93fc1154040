"""May this number of the house's rules be set, and what holds now and next for whom.  Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from studiodesk.answers import Refusal

from .house import BY_CODE, Kind, Row

#: Since when a rule holds of which a description does not say since when: since there is a house.
BEGINNING = date(1970, 1, 1)


def may_set(
    code: str, plan: int | None, value: int | None, in_force_from: date, *, today: date | None, by_manager: bool
) -> Refusal | None:
    """``today`` None: the house describes itself, and may say since when it has been so."""
    if not by_manager:
        return Refusal("bookings.rules_are_the_managers", {"status": 403})
    kind = BY_CODE.get(code)
    if kind is None:
        return Refusal("bookings.rule_unknown", {"code": code[:40]})
    if plan is not None and not kind.by_plan:
        return Refusal("bookings.rule_for_everybody")
    if value is None:
        if not kind.may_be_none:
            least, most = said(kind, kind.least), said(kind, kind.most)
            return Refusal("bookings.rule_needs_a_number", {"least": least, "most": most})
    elif not kind.least <= value <= kind.most:
        facts = {"value": said(kind, value), "least": said(kind, kind.least), "most": said(kind, kind.most)}
        return Refusal("bookings.rule_out_of_range", facts)
    if today is not None and in_force_from < today:
        return Refusal("bookings.rule_in_the_past", {"today": today})
    return None


def said(kind: Kind, value: int) -> int | str | timedelta:
    """A number as a sentence can put it in: minutes as a length, a time of day as the clock shows it."""
    if kind.unit == "minutes":
        return timedelta(minutes=value)
    return as_clock(value) if kind.unit == "clock" and value >= 0 else value


def as_clock(minute: int) -> str:
    """ "17:00" of 1020; the end of a day is "24:00" """
    hours, rest = divmod(minute, 60)
    return f"{hours:02d}:{rest:02d}"


@dataclass(frozen=True)
class Change:
    """From ``day`` on the number is ``value``; None is "no limit"."""

    day: date
    value: int | None


@dataclass(frozen=True)
class Standing:
    """What holds for one plan (or everybody) on a day: ``since`` None where nobody ever set it.

    ``is_own``: set for this very plan; without it the plan follows what holds for everybody.  ``coming`` names only
    what really changes.
    """

    value: int | None
    since: date | None
    is_own: bool
    coming: tuple[Change, ...] = ()


def _changes(rows: Iterable[Row], code: str, plan: int | None) -> list[Change]:
    """The numbers set for exactly this plan, a day each: of two of one day the later in ``rows`` holds."""
    by_day = {row.in_force_from: row.value for row in rows if row.code == code and row.plan == plan}
    return [Change(day, by_day[day]) for day in sorted(by_day)]


def own_number(rows: Iterable[Row], code: str, plan: int | None, day: date) -> Change | None:
    """What was set for exactly this plan and holds on ``day``; None if nothing was."""
    begun = [change for change in _changes(rows, code, plan) if change.day <= day]
    return begun[-1] if begun else None


def standing(rows: Iterable[Row], kind: Kind, plan: int | None, day: date) -> Standing:
    """What holds on ``day`` for people with this plan (None: with none), and what is to come."""
    rows = list(rows)
    house = _changes(rows, kind.code, None)
    own = _changes(rows, kind.code, plan) if plan is not None and kind.by_plan else []
    mine = [change for change in own if change.day <= day]
    theirs = [change for change in house if change.day <= day]
    begun = mine or theirs
    now = begun[-1] if begun else None
    value = kind.default if now is None else now.value
    # Everybody's coming numbers hold for this plan until one of its own begins.
    first_own = own[0].day if own else date.max
    ahead = [change for change in own if change.day > day]
    ahead += [change for change in house if change.day > day and not mine and change.day < first_own]
    coming, last = [], value
    for change in sorted(ahead, key=lambda change: change.day):
        if change.value != last:
            coming.append(change)
        last = change.value
    return Standing(value, now.day if now else None, bool(mine) or plan is None, tuple(coming))
