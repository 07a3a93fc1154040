"""How everything that is set up here stands, for the page from which staff find all of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import CharField, Count, Max, Q, QuerySet, Value

from studiodesk.bookings.models import CalendarLink, FaultReport, HouseRule, Outage
from studiodesk.chemistry.models import (
    Alert,
    Bath,
    BathSetting,
    Container,
    ControlStrip,
    Mix,
    PaperClass,
    PickUp,
    Product,
    Recipe,
    SheetSize,
    WasteStream,
)
from studiodesk.classes.models import Course, Hire, Outline
from studiodesk.people.models import HouseKey, KeyLoan, Member, Membership, MembershipPlan, Tablet
from studiodesk.safety.models import SafetyNote, SignOffNeed
from studiodesk.stations.models import Job, JobDone, KitItem, Processor, Shift, Station
from studiodesk.timekeeping import studio_day

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class HouseNumbers:
    """``counts``: how many there are of each; ``latest``: when each was last written to, where it ever was."""

    counts: Mapping[str, int]
    latest: Mapping[str, datetime]

    def of(self, name: str) -> int:
        return self.counts.get(name, 0)

    def since(self, name: str) -> datetime | None:
        return self.latest.get(name)


def house_numbers(now: datetime, zone: ZoneInfo) -> HouseNumbers:
    """Two queries, however much there is: every count in one, every date in the other."""
    today = studio_day(now, zone)
    here, ahead = Member.objects.filter(is_active=True), Q(starts__gt=now, starts__lte=now + WEEK)
    runs = Membership.objects.filter(Q(last_day=None) | Q(last_day__gte=today), first_day__lte=today)
    standing = Shift.objects.filter(ahead, called_off_at=None)
    waste = Q(sort=Container.Sort.WASTE)
    counted: dict[str, QuerySet[Any]] = {
        "people": here,
        "staff": here.filter(is_staff=True),
        "keyholders": here.filter(is_keyholder=True),
        "tutors": here.filter(is_tutor=True),
        "plans": MembershipPlan.objects.filter(in_use=True),
        "memberships": runs,
        "keys": HouseKey.objects.filter(retired_at=None, lost_at=None),
        "keys out": KeyLoan.objects.filter(back_at=None),
        "tablets": Tablet.objects.filter(revoked_at=None, enrolled_at__isnull=False),
        "calendar links": CalendarLink.objects.filter(revoked_at=None),
        "shifts": standing,
        "shifts open": standing.filter(person=None),
        "kit": KitItem.objects.filter(pieces__gt=0),
        "stations": Station.objects.all(),
        "processors": Processor.objects.all(),
        "baths": Bath.objects.all(),
        "outages": Outage.objects.filter(ends__gt=now),
        "faults": FaultReport.objects.filter(settled_at=None),
        "alerts": Alert.objects.filter(cleared_at=None),
        "notes": SafetyNote.objects.filter(version=1),
        "needs": SignOffNeed.objects.all(),
        "papers": PaperClass.objects.all(),
        "sizes": SheetSize.objects.all(),
        "recipes": Recipe.objects.filter(in_use=True),
        "containers": Container.objects.filter(in_use=True).exclude(waste),
        "products": Product.objects.filter(in_use=True),
        "streams": WasteStream.objects.all(),
        "waste containers": Container.objects.filter(waste, in_use=True),
        "jobs": Job.objects.filter(in_use=True),
        "outlines": Outline.objects.filter(retired_at=None),
        "courses": Course.objects.filter(meetings__stay__ends__gt=now, meetings__stay__cancelled_at=None),
        "hires": Hire.objects.filter(course__meetings__stay__ends__gt=now),
    }
    dated: dict[str, tuple[QuerySet[Any], str]] = {
        "rules": (HouseRule.objects.all(), "set_at"),
        "figures": (BathSetting.objects.all(), "entered_at"),
        "mix": (Mix.objects.filter(undone_at=None), "made_at"),
        "job": (JobDone.objects.filter(undoes=None, undone_by=None, left_out=False), "at"),
        "strip": (ControlStrip.objects.filter(undoes=None, undone_by=None), "read_at"),
        "pick-up": (PickUp.objects.all(), "at"),
        "note": (SafetyNote.objects.all(), "published_at"),
    }
    return HouseNumbers(
        dict(_union([_one(rows, name, Count("pk", distinct=True)) for name, rows in counted.items()])),
        dict(_union([_one(rows, name, Max(at)) for name, (rows, at) in dated.items()])),
    )


def _one(rows: QuerySet[Any], name: str, figure: Any) -> QuerySet[Any, Any]:
    """One line: a name and one figure; none at all where there are no rows."""
    return (
        rows.order_by()
        .values(listed_as=Value(name, output_field=CharField()))
        .annotate(figure=figure)
        .values_list("listed_as", "figure")
    )


def _union(lines: list[QuerySet[Any, Any]]) -> list[tuple[str, Any]]:
    return list(lines[0].union(*lines[1:], all=True))
