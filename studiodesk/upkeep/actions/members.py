"""The people that a file tells of, with their memberships."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.hashers import make_password

from studiodesk.parts import AT_A_TIME
from studiodesk.people.actions import record_past_memberships
from studiodesk.people.models import Member
from studiodesk.stations.queries import zone
from studiodesk.timekeeping import studio_day

from .. import queries
from ..rules import history, known, known_members
from ..rules.problems import Findings
from ..rules.tables import Watched


def write_members(data: bytes, findings: Findings, now: datetime, watched: Watched) -> tuple[int, int]:
    """(new, already here) lines of members.csv; a line is new if anything of it was written."""
    rows = history.read_members(data, findings, watched)
    here = queries.members()
    addresses = {member.email.lower(): member.number for member in here.values()}
    new = known.new_members(rows, here, addresses, findings)
    birthdays = known_members.new_birthdays(
        rows, {number: member.born_on for number, member in here.items()}, studio_day(now, zone()), findings
    )
    memberships = known_members.new_memberships(
        rows, queries.plans(), queries.memberships({row.number for row in rows if row.plan}), findings
    )
    findings.stop_if_wrong()
    Member.objects.bulk_create(
        [
            Member(
                number=row.number,
                name=row.name,
                email=row.email,
                joined_on=row.joined_on,
                born_on=row.born_on,
                password=make_password(None),  # nobody can log in until staff send the person a link
            )
            for row in new
        ],
        batch_size=AT_A_TIME,
    )
    made = {row.number for row in new}
    added = {number: day for number, day in birthdays.items() if number not in made}
    for number, day in added.items():
        Member.objects.filter(number=number).update(born_on=day)
    if memberships:
        people = queries.members()
        record_past_memberships(
            rows=[(people[one.number].pk, one.plan.pk, one.first_day, one.last_day) for one in memberships], now=now
        )
    written = made | set(added) | {one.number for one in memberships}
    return len(written), len(rows) - len(written)
