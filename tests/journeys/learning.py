"""An outline and an evening of eight for the journeys of classes, members enough for it, and links out of letters."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

from django.core.management import call_command

from studiodesk.classes import actions
from studiodesk.classes.models import Course, Outline
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations.models import Process
from studiodesk.timekeeping import Span

from .conftest import EARLIER, NOW
from .people import PASSWORD

#: Wednesday 9 December 2026, 18:00 in Amsterdam, for three hours.
EVENING = Span(datetime(2026, 12, 9, 17, tzinfo=UTC), datetime(2026, 12, 9, 20, tzinfo=UTC))


def outlined(signs_off: list[SignOffNeed] | None = None) -> Outline:
    """First prints: eight people, two at a booth, four places at the RC processor, half an hour round it."""
    rc = Process.objects.get(code="rc")
    says = {
        "name": "First prints",
        "summary": "From a negative to a finished print, in one evening.",
        "meetings": 1,
        "length_minutes": 180,
        "before_minutes": 30,
        "after_minutes": 30,
        "heads_least": 2,
        "heads_most": 8,
        "heads_a_station": 2,
        "price_minor": 6000,
        "member_price_minor": 4500,
        "free_cancel_days": 7,
        "process": rc,
    }
    needs = [("enlarger booth", rc, None), ("", rc, None)]
    row, _changed = actions.write_outline(
        code="first-prints", says=says, needs=needs, papers=[(203, 254, 4)], signs_off=signs_off or [], now=EARLIER,
        by=Member.objects.get(name="Staff"),
    )  # fmt: skip
    return row


def evening_of(outline: Outline, days: int = 0, heads_most: int = 8) -> Course:
    """One evening of it, so many days after ``EVENING``, taught by the cast's tutor."""
    span = Span(EVENING.starts + timedelta(days=days), EVENING.ends + timedelta(days=days))
    staff, tutor = Member.objects.get(name="Staff"), Member.objects.get(name="Tutor")
    return actions.announce(outline=outline, spans=[span], tutor=tutor, heads_most=heads_most, now=NOW, by=staff)


def members(names: list[str]) -> list[Member]:
    """More members than the cast has, with its password; their addresses are their first names in small letters."""
    found = []
    for number, name in enumerate(names, 1):
        person = doors.make_person(
            number=f"L{number:03}",
            name=name,
            email=f"{name.split()[0].lower()}@example.org",
            joined_on=date(2026, 1, 15),
            now=EARLIER,
            invite=False,
        )
        doors.set_password(person=person, password=PASSWORD, now=EARLIER, by=None)
        found.append(person)
    return found


def link_in_letter(outbox: list[Any], to: str, subject: str) -> str:
    """The path of the link in the last letter of that subject to that address, sent as the minute's tick sends it."""
    call_command("tick", stdout=StringIO())
    mine = [mail for mail in outbox if mail.to == [to] and mail.subject.startswith(subject)]
    assert mine, [(mail.to, mail.subject) for mail in outbox]
    return str(re.search(r"https?://[^/]+(/places/\S+)", mine[-1].body)[1])
