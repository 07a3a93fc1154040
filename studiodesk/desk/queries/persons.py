"""What somebody may do here: their membership, what they are signed off for, what may be given to them at the desk."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.people import queries as people
from studiodesk.people import rules
from studiodesk.people.models import Member, Membership, MembershipPlan
from studiodesk.safety import queries as safety


@dataclass(frozen=True)
class Spell:
    """A membership as a page lists it.  ``standing``: "now", "to come" or "over"."""

    membership: Membership
    standing: str
    may_be_taken_back: bool

    @property
    def may_be_ended(self) -> bool:
        return self.standing != "over"


def spells(person: Member, now: datetime) -> list[Spell]:
    """Every membership of somebody, the latest first."""
    today = timezone.localtime(now).date()
    return [_spell(one, today) for one in people.memberships_of(person)]


def _spell(one: Membership, today: date) -> Spell:
    over = one.last_day is not None and one.last_day < today
    standing = "over" if over else "to come" if one.first_day > today else "now"
    made_on = timezone.localtime(one.made_at).date()
    return Spell(one, standing, rules.may_be_taken_back(one.first_day, made_on, today))


@dataclass(frozen=True)
class Standing:
    """``current``: the membership of today; ``day_passes``: those that can be given for today, if there is none."""

    current: Spell | None
    coming: list[Spell]
    sign_offs: safety.OwnSignOffs
    day_passes: list[MembershipPlan] = field(default_factory=list)


def standing_of(person: Member, now: datetime, *, at_the_desk: bool = False) -> Standing:
    """Three queries; one more ``at_the_desk``, where a day pass may be given."""
    found = spells(person, now)
    current = next((one for one in found if one.standing == "now"), None)
    passes = people.plans(in_use=True).filter(is_day_pass=True) if at_the_desk and current is None else []
    return Standing(
        current=current,
        coming=[one for one in reversed(found) if one.standing == "to come"],
        sign_offs=safety.own_sign_offs(person, now),
        day_passes=list(passes) if person.is_active else [],
    )


def booked_after(person: Member, day: date, now: datetime) -> list[Booking]:
    """What somebody has booked on days after ``day``, soonest first."""
    coming, _gone = bookings.coming_and_gone(person, now, gone=0)
    return [one for one in coming if timezone.localtime(one.starts).date() > day]
