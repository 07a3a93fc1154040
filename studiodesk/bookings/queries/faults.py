"""What people said does not work."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q, QuerySet

from studiodesk.journal.models import Notice
from studiodesk.people.models import Member
from studiodesk.stations.models import Resource

from ..models import Booking, FaultReport
from ..rules.faults import QUIET

TOLD = "bookings.fault_reported"


def _whole() -> QuerySet[FaultReport]:
    of = ("resource__station", "resource__processor", "resource__kit", "reported_by", "tablet", "outage")
    return FaultReport.objects.select_related(*of)


def open_faults(now: datetime) -> QuerySet[FaultReport]:
    """Reports that nobody has settled and nothing is out of service for (any more), the oldest first."""
    waits = Q(outage__isnull=True) | Q(outage__ends__lte=now)
    return _whole().filter(waits, settled_at__isnull=True).order_by("reported_at", "pk")


def faults_of(resource: Resource) -> list[FaultReport]:
    """What is known of one thing already."""
    return list(_whole().filter(resource=resource, settled_at__isnull=True).order_by("reported_at", "pk"))


def access_fault(member: Member, pk: int) -> FaultReport:
    """One report for whoever made it and for whoever runs the house; ``FaultReport.DoesNotExist`` otherwise."""
    rows = _whole() if member.may_run_the_house else _whole().filter(reported_by=member)
    return rows.get(pk=pk)


def fault(pk: int | None) -> FaultReport:
    """One report for the letter that is written about it."""
    return _whole().get(pk=pk)


def told_of(resource: Resource, now: datetime) -> list[tuple[datetime, str]]:
    """When, and of what, the house was told about this thing within the time in which once is enough."""
    recent = FaultReport.objects.filter(resource=resource, reported_at__gt=now - QUIET)
    said = dict(recent.values_list("pk", "what"))
    told = Notice.objects.filter(code=TOLD, entry__about="faultreport", entry__about_id__in=list(said))
    rows = told.values_list("entry__about_id", "entry__happened_at").distinct()
    return [(at, said[pk]) for pk, at in rows]


def thing_at_hand(member: Member, now: datetime) -> Booking | None:
    """The booking that somebody is at now, if there is one."""
    rows = Booking.objects.filter(member=member, cancelled_at__isnull=True, arrived_at__lte=now, left_at__isnull=True)
    return rows.filter(ends__gt=now).select_related("station").order_by("starts").first()
