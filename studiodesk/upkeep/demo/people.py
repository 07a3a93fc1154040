"""The people of the demo: one log-in for every role, and everybody's safety notes read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from studiodesk.people import actions as people
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote

PASSWORD = "paper in a light-tight bag"  # noqa: S105 - printed for everybody who starts the demo
#: number, name, roles; the member is one of the example's own.
CAST = (
    ("K001", "Noor", ("is_tutor",)),
    ("K002", "Sietse", ("is_keyholder",)),
    ("K003", "Marijke", ("is_staff",)),
    ("K004", "Tjalling", ("is_staff", "is_manager")),
)
MEMBER = "M001"
#: The member of the demo has read every note but this one: so that a visitor meets the gate.
UNREAD_BY_THE_MEMBER = "P-CO"


@dataclass(frozen=True)
class Cast:
    member: Member
    tutor: Member
    keyholder: Member
    staff: Member
    manager: Member
    others: tuple[Member, ...]

    def log_ins(self) -> list[tuple[str, str]]:
        """Role and address, in the order in which they are printed."""
        return [(role, getattr(self, role).email) for role in ("member", "tutor", "keyholder", "staff", "manager")]


def move_in(*, now: datetime) -> Cast:
    """Make the cast, give it passwords, and let everybody read what they must before they book."""
    member = Member.objects.get(number=MEMBER)
    people.set_password(person=member, password=PASSWORD, now=now, by=None)
    made = {}
    for number, name, roles in CAST:
        person = people.make_person(
            number=number,
            name=name,
            email=f"{name.lower()}@example.org",
            joined_on=member.joined_on,
            now=now,
            roles=roles,
            invite=False,
        )
        people.set_password(person=person, password=PASSWORD, now=now, by=None)
        made[roles[-1].removeprefix("is_")] = person
    others = tuple(Member.objects.exclude(pk=member.pk).order_by("number"))
    notes = list(SafetyNote.objects.select_related("processor"))
    for person in (member, *others):
        for note in notes:
            if person != member or note.processor.code != UNREAD_BY_THE_MEMBER:
                safety.acknowledge(note=note, member=person, now=now)
    ordinary = tuple(person for person in others if not (person.is_staff or person.is_keyholder or person.is_tutor))
    return Cast(member=member, others=ordinary, **made)
