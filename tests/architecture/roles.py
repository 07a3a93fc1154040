"""The roles that the matrix asks as, the answers each gets, and a row of the table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

ROLES = ("stranger", "member", "other", "tutor", "keyholder", "staff", "manager", "tablet")
#: A tablet has nobody logged in.
HOUSE = ("keyholder", "staff", "manager")
LOGGED_IN = ("member", "other", "tutor", *HOUSE)
GUEST = ("stranger", "tablet")
LOG_IN, NOT_YOURS, NOT_THERE, NOT_SO = 302, 403, 404, 405
#: What no page here answers to.
NEVER = ("PUT", "PATCH", "DELETE", "OPTIONS")

Answers = Mapping[str, int]


def for_all(status: int) -> Answers:
    return dict.fromkeys(ROLES, status)


def for_members(status: int) -> Answers:
    return {role: status if role in LOGGED_IN else LOG_IN for role in ROLES}


def for_owner(status: int) -> Answers:
    """The owner and whoever runs the house; for another member it is not there."""
    return {**for_members(status), "other": NOT_THERE, "tutor": NOT_THERE}


def only_theirs(owner: str, status: int) -> Answers:
    """Nobody's but the owner's, whatever the others may do in the house."""
    return {role: status if role in {owner, *GUEST} else NOT_THERE for role, status in for_members(status).items()}


def for_house(status: int) -> Answers:
    return {role: status if role in HOUSE else answer for role, answer in for_members(NOT_YOURS).items()}


def for_staff(status: int) -> Answers:
    return {**for_house(status), "keyholder": NOT_YOURS}


def for_shifts(status: int) -> Answers:
    """Everybody who may have a shift: tutors too."""
    return {**for_house(status), "tutor": status}


def for_tutors(status: int) -> Answers:
    """Whoever may sign people off."""
    return {**for_staff(status), "tutor": status}


def for_managers(status: int) -> Answers:
    return {**for_staff(status), "staff": NOT_YOURS}


def for_tablet(status: int) -> Answers:
    return {**for_house(status), "tablet": status}


@dataclass(frozen=True)
class Row:
    """``path`` with names of the world's things; the answers to GET (None: not answered) and POST with ``sends``."""

    path: str
    get: Answers | None
    post: Answers | None = None
    sends: Mapping[str, str] = field(default_factory=dict)
