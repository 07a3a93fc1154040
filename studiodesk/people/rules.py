"""Decisions about people: who may make whom, how long a guesser waits, what a next number is.  No Django."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from studiodesk.answers import Refusal

WINDOW = timedelta(minutes=15)
FAILURES = 5
FIRST_WAIT = timedelta(seconds=15)
LONGEST_WAIT = timedelta(hours=1)
#: Older failures cannot matter: a run ends a window after its wait.
LOOK_BACK = timedelta(hours=24)

CODE_LETTERS = "ACDEFGHJKLMNPQRTUVWXY34679"
CODE_LENGTH = 10
INVITE_LASTS = timedelta(minutes=30)

#: What somebody can be more than a member; the person has a yes or no of the name ``is_<role>`` for each.
ROLES = ("tutor", "keyholder", "staff", "manager")
HIGH_ROLES = frozenset({"staff", "manager"})


def wait_until(failures: Sequence[datetime]) -> datetime | None:
    """Until when the next try is refused, from the times of the failures in order; None if there is no wait.

    Five failures within 15 minutes cost 15 s; every further one doubles the wait, up to an hour.  A failure that
    comes 15 minutes or more after the wait was over begins anew.
    """
    recent: deque[datetime] = deque()
    until: datetime | None = None
    steps = 0
    for failed in failures:
        if until is not None and failed >= until + WINDOW:
            recent.clear()
            until, steps = None, 0
        recent.append(failed)
        while recent[0] <= failed - WINDOW:
            recent.popleft()
        if steps or len(recent) >= FAILURES:
            until = failed + min(FIRST_WAIT * 2**steps, LONGEST_WAIT)
            steps += 1
    return until


def session_limits(*, is_staff: bool, is_keyholder: bool) -> tuple[timedelta, timedelta | None]:
    """(whole length, idle length) of a session: 12 h and 30 min for staff, a shift of 12 h for a keyholder, 14 days."""
    if is_staff:
        return timedelta(hours=12), timedelta(minutes=30)
    return (timedelta(hours=12) if is_keyholder else timedelta(days=14)), None


def may_set_roles(
    *, by_staff: bool, by_manager: bool, before: frozenset[str], after: frozenset[str], themselves: bool
) -> Refusal | None:
    """May somebody change a person's roles from ``before`` to ``after``?

    Only managers make or unmake staff and managers; nobody takes the manager's role from themselves, so that one
    always remains.
    """
    if not by_staff:
        return Refusal("people.not_yours_to_do", {"status": 403})
    if (before ^ after) & HIGH_ROLES and not by_manager:
        return Refusal("people.only_managers")
    if themselves and "manager" in before - after:
        return Refusal("people.last_of_your_own")
    return None


def may_set_standing(*, by_staff: bool, by_manager: bool, of_staff: bool, themselves: bool) -> Refusal | None:
    """May somebody say that a person has left, or is here again?  Staff may of members, managers of staff too."""
    if themselves:
        return Refusal("people.not_yourself")
    if not by_staff or (of_staff and not by_manager):
        return Refusal("people.only_managers")
    return None


def with_implied(roles: Iterable[str]) -> frozenset[str]:
    """The roles and what they imply: a manager is staff.  ``is_tutor``, as the person's field is called, is ``tutor``.

    Raises ``ValueError`` for a role that there is not.
    """
    found = frozenset(role.removeprefix("is_") for role in roles)
    if unknown := found - frozenset(ROLES):
        raise ValueError(f"no such role: {', '.join(sorted(unknown))}")
    return found | {"staff"} if "manager" in found else found


def number_after(numbers: Sequence[str]) -> str:
    """The number after the greatest, written as that one is (``OM-041`` → ``OM-042``); ``"1"`` at first."""
    best: tuple[int, str, int] | None = None
    for number in numbers:
        found = re.fullmatch(r"(.*?)(\d+)", number)
        if found and (best is None or int(found[2]) > best[0]):
            best = (int(found[2]), found[1], len(found[2]))
    return "1" if best is None else f"{best[1]}{best[0] + 1:0{best[2]}d}"


def tidy_code(code: str) -> str:
    """A typed code as it was made: capitals, no gaps or dashes."""
    return re.sub(r"[\s\-–]", "", code).upper()


def spaced_code(code: str) -> str:
    """A code as people read it aloud: ``ACDEF-GHJKL``."""
    return f"{code[:5]}-{code[5:]}"


def is_local_path(path: str) -> bool:
    """True for an address inside this site: one slash first, no second host hidden in it, no control signs."""
    return bool(re.fullmatch(r"/(?![/\\])[^\x00-\x20\\]*", path))


def may_have_membership(first: date, last: date | None, *, is_day_pass: bool, in_use: bool) -> Refusal | None:
    """Can a membership of this plan run from ``first`` to ``last`` (None: without an end)?"""
    if not in_use:
        return Refusal("people.plan_not_in_use")
    if last is not None and last < first:
        return Refusal("people.membership_ends_first", {"first": first, "last": last})
    if is_day_pass and last != first:
        return Refusal("people.day_pass_is_a_day")
    return None


def covers(first: date, last: date | None, day: date) -> bool:
    return first <= day and (last is None or day <= last)


def overlap(first: date, last: date | None, others: Iterable[tuple[date, date | None]]) -> int | None:
    """Which of ``others`` (first, last day) shares a day with ``first`` to ``last``; None if none does."""
    for number, (begins, ends) in enumerate(others):
        if begins <= (last or date.max) and first <= (ends or date.max):
            return number
    return None


def may_be_taken_back(first: date, made_on: date, today: date) -> bool:
    """A membership is undone on the day on which it was given, and before its first day; later it is ended."""
    return first > today or made_on == today


PHONE = re.compile(r"\+?[\d\s()./\-]{3,39}", re.ASCII)
OLDEST_YEARS = 120


def may_keep_facts(
    *, born_on: date | None, phone: str, emergency_name: str, emergency_phone: str, today: date
) -> Refusal | None:
    """Telephone numbers are numbers, whom to call has both name and number, and nobody is born tomorrow."""
    for field, number in (("phone", phone), ("emergency_phone", emergency_phone)):
        if number and not (PHONE.fullmatch(number) and sum(sign.isdigit() for sign in number) >= 3):
            return Refusal("people.no_phone_number", {"field": field, "number": number})
    if bool(emergency_name) != bool(emergency_phone):
        missing = "emergency_phone" if emergency_name else "emergency_name"
        return Refusal("people.call_needs_both", {"field": missing})
    if born_on is not None and (born_on > today or born_on.year < today.year - OLDEST_YEARS):
        return Refusal("people.not_a_birthday", {"field": "born_on", "day": born_on})
    return None


@dataclass(frozen=True)
class KeyFacts:
    """A key or fob as it stands: with whom it is since when, whether it is lost or given up."""

    code: str
    holder: str = ""
    since: datetime | None = None
    lost_at: datetime | None = None
    retired_at: datetime | None = None

    @property
    def is_out(self) -> bool:
        return self.since is not None


def _is_out(key: KeyFacts) -> Refusal:
    return Refusal("people.key_is_out", {"key": key.code, "name": key.holder, "since": key.since})


def may_hand_out(key: KeyFacts, *, name: str, is_here: bool) -> Refusal | None:
    """May this key be given to ``name`` (``is_here``: they have not left)?"""
    if key.is_out:
        return _is_out(key)
    if key.retired_at is not None:
        return Refusal("people.key_is_given_up", {"key": key.code, "since": key.retired_at})
    if key.lost_at is not None:
        return Refusal("people.key_is_lost", {"key": key.code, "since": key.lost_at})
    return None if is_here else Refusal("people.key_for_nobody", {"name": name})


def may_retire_key(key: KeyFacts) -> Refusal | None:
    """A key that is out is asked back first; a lost one can be given up wherever it is."""
    return _is_out(key) if key.is_out and key.lost_at is None else None
