"""Who books: what the rules of the house are asked about a person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Q, Subquery

from studiodesk.people.models import Member, Membership
from studiodesk.people.queries import plan_on
from studiodesk.safety import queries as safety
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Process, Station
from studiodesk.timekeeping import Span, day_span, studio_day

from ..models import Booking, Series
from ..rules import own
from ..rules.house import HouseRules, in_force
from .house_rules import rule_rows

#: Rules that look at what else the person has booked.
LOOK_AT_OWN = ("strikes", "open_bookings", "month_hours", "peak_week_hours")

#: So far ahead a supervised time is looked for, to be named to somebody who needs one.
LOOK_FOR_HELP = timedelta(days=60)


@dataclass(frozen=True)
class Who:
    """The person, their row as it stands under the lock, and the rules that hold for them on that day."""

    row: Any
    facts: own.Person
    rules: HouseRules

    @property
    def is_here(self) -> bool:
        return bool(self.row.is_active)


def person_row(
    member: Member, station: Station, process: Process | None, starts: datetime, day: date, lock: Callable[..., Any]
) -> Any:
    """The member, annotated with the plan that holds on ``day`` and what they are not signed off for at ``starts``."""
    begun = Membership.objects.filter(member=OuterRef("pk"), first_day__lte=day).order_by("-first_day", "-pk")
    rows = lock(Member.objects.filter(pk=member.pk))
    return rows.annotate(
        plan_id=plan_on(day),
        member_until=Subquery(begun.values("last_day")[:1]),
        **safety.missing_sign_offs(station.kind, process.pk if process else None, starts),
    ).get()


def rules_of(row: Any, day: date) -> HouseRules:
    """The rules of the house for a ``person_row`` on that day."""
    return in_force(rule_rows(), day, row.plan_id)


def who(
    row: Any,
    rules: HouseRules,
    own_stays: Sequence[own.OwnStay],
    *,
    station: Station,
    process: Process | None,
    span: Span,
    now: datetime,
) -> Who:
    """What the rules are asked about ``row``; one query more if they are not signed off for what they ask."""
    lacks = []
    if row.lacks_kind:
        lacks.append(station.kind)
    if row.lacks_process and process is not None:
        lacks.append(process.name)
    supervised: list[Span] = []
    if lacks:
        ahead = Span(min(span.starts, now), max(span.ends, now) + LOOK_FOR_HELP)
        supervised = list(stations.supervised_spans(ahead))
    facts = own.Person(
        plan=str(row.plan_id or ""),
        member_until=row.member_until,
        runs_the_house=row.may_run_the_house or row.is_tutor,
        born_on=row.born_on,
        own=own_stays,
        lacks=tuple(lacks),
        supervised=tuple(supervised),
    )
    return Who(row, facts, rules)


def own_since(day: date, now: datetime, rules: HouseRules, zone: ZoneInfo) -> datetime | None:
    """Since when the person's own bookings matter to one of the rules; None if none of them looks at any."""
    if all(rules.limit(code) is None for code in LOOK_AT_OWN):
        return None
    since = now
    if rules.limit("month_hours") is not None:
        since = min(since, day_span(own.month_of(day)[0], zone).starts)
    if rules.limit("peak_week_hours") is not None:
        since = min(since, day_span(day - timedelta(days=day.weekday()), zone).starts)
    if rules.limit("strikes") is not None:
        since = min(since, now - timedelta(days=rules.number("strike_days") + rules.number("pause_days")))
    return since


def own_ones(member: Member, since: datetime | None) -> Q:
    """The person's bookings that matter: those that stand and those that were given up too late."""
    if since is None:
        return Q(pk__in=())
    counts = Q(cancelled_at__isnull=True) | Q(was_cancelled_late=True)
    return counts & Q(member=member.pk, ends__gt=since)


#: What ``own_stay`` asks a booking besides its times.
STANDING = ("cancelled_at", "was_cancelled_late", "arrived_at", "released_at", "source")


def own_stay(booking: Any, now: datetime) -> own.OwnStay:
    """A booking, or a row of those columns, as the rules see it.

    The past of a file tells of many who were simply not signed in.
    """
    nobody_came = booking.arrived_at is None and booking.ends <= now and booking.source != Booking.Source.FILE
    is_late = booking.was_cancelled_late
    return own.OwnStay(
        booking.starts,
        booking.ends,
        booking.cancelled_at if is_late else None,
        missed=booking.cancelled_at is None and (booking.released_at is not None or nobody_came),
    )


def rules_for(member: Member, at: datetime) -> HouseRules:
    """The rules of the house that hold for one person at one moment: two queries."""
    day = studio_day(at, stations.zone())
    plan = Member.objects.filter(pk=member.pk).values_list(plan_on(day), flat=True).get()
    return in_force(rule_rows(), day, plan)


def kit_of(booking: Booking) -> tuple[tuple[KitItem, int], ...]:
    """What a booking takes along, in the order of the items' keys."""
    rows = booking.kit.select_related("item").order_by("item_id")
    return tuple((row.item, row.pieces) for row in rows)


def still_to_come(series: Series, now: datetime) -> list[Booking]:
    """The bookings of a series that stand and have not begun, soonest first."""
    rows = Booking.objects.filter(series=series, cancelled_at__isnull=True, starts__gt=now)
    return list(rows.select_related("member", "station__zone", "process").order_by("starts", "pk"))
