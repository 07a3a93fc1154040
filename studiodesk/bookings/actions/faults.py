"""Somebody says that something does not work; somebody says that it is put right."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record, tell_many
from studiodesk.people.models import Member, Tablet
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Resource

from ..models import FaultReport
from ..queries import faults as reads
from ..rules import faults as rules


@act
def report_fault(
    *,
    resource: Resource,
    kind: str,
    now: datetime,
    more: str = "",
    by: Member | None = None,
    tablet: Tablet | None = None,
) -> FaultReport:
    """Write it down, and tell keyholders and staff: once an hour for one thing, and at once of a danger.

    Refused: ``bookings.nobody_reports`` when neither a person nor a tablet does.
    """
    if by is None and tablet is None:
        refuse("bookings.nobody_reports", status=403)
    locked(Resource.objects.filter(pk=resource.pk)).get()
    what = rules.written(kind if kind in rules.KINDS else "other", more)
    worth_telling = rules.is_worth_telling(what, reads.told_of(resource, now), now)
    report = FaultReport.objects.create(
        resource=resource, what=what, reported_at=now, reported_by=by, tablet=tablet if by is None else None
    )
    facts = {"thing": resource.pk, "kind": rules.read(what)[0]}
    entry = record(
        code="bookings.fault_reported", happened_at=now, now=now, by=by, tablet=tablet, about=report, facts=facts
    )
    if worth_telling:
        people = [person for person in stations.who_opens() if by is None or person.pk != by.pk]
        tell_many(
            entry=entry,
            rows=[(person, reads.TOLD, f"{reads.TOLD}:{report.pk}:{person.pk}", now) for person in people],
        )
    return report


@act
def settle_fault(*, report: FaultReport, now: datetime, by: Member) -> FaultReport:
    """It works, or it was nothing.  Settled before, it changes nothing.  Refused: ``bookings.not_yours_to_close``."""
    if not by.may_run_the_house:
        refuse("bookings.not_yours_to_close", status=403)
    row = locked(FaultReport.objects.filter(pk=report.pk)).get()
    if row.settled_at is not None:
        return row
    row.settled_at, row.settled_by = now, by
    row.save(update_fields=["settled_at", "settled_by"])
    facts = {"thing": row.resource_id}
    record(code="bookings.fault_settled", happened_at=now, now=now, by=by, about=row, facts=facts)
    return row
