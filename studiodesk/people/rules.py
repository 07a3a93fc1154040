"""Decisions about people: who may make whom, how long a guesser waits, what a next number is.  No Django."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

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
