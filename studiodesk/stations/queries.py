"""Every read of the house: its hours, its stations, its processors."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import CharField, IntegerField, Q, QuerySet, Value
from django.db.models.functions import Cast, ExtractDay, ExtractMonth, ExtractYear

from studiodesk.answers import Refusal, Refused
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span, day_span, merged

from . import rules
from .models import (
    Closure,
    KitItem,
    Lane,
    OpeningSpan,
    Process,
    Processor,
    Resource,
    Service,
    Shift,
    ShiftSwap,
    Station,
    Studio,
)
from .rules import shifts as shift_rules


def studio_or_none() -> Studio | None:
    return Studio.objects.first()


def studio() -> Studio:
    """The one studio; ``Refused("stations.no_studio")`` before one was loaded."""
    found = studio_or_none()
    if found is None:
        raise Refused(Refusal("stations.no_studio"))
    return found


def zone(of: Studio | None = None) -> ZoneInfo:
    return ZoneInfo((of or studio()).time_zone)


def hours(of: Studio | None = None, first: date | None = None, last: date | None = None) -> rules.Hours:
    """The week and the closures, in one query; the week as it is planned, unless ``of`` opens by shifts.

    With a studio that does, its covered shifts from ``first`` to ``last`` (local days, with a day on either side)
    stand in place of the week.
    """
    if of is not None and of.opens_by_shifts and first is not None and last is not None:
        _week, closures = _week_and_closures()
        return rules.Hours({}, closures, tuple(covered_shifts(first, last, ZoneInfo(of.time_zone))))
    return rules.Hours(*_week_and_closures())


def _week_and_closures() -> tuple[dict[int, list[tuple[int, int]]], tuple[rules.Shut, ...]]:
    """Both in one query, for every booking asks for them.

    A closure stands in the same columns as a span of the week: weekday -1, its days as whole numbers (20261224).
    """
    nothing = Value("", output_field=CharField())
    spans = OpeningSpan.objects.order_by().values_list("weekday", "opens_minute", "closes_minute", nothing)
    shut = Closure.objects.order_by().values_list(
        Value(-1, output_field=IntegerField()), _as_number("first_day"), _as_number("last_day"), "reason"
    )
    week: dict[int, list[tuple[int, int]]] = defaultdict(list)
    closures: list[rules.Shut] = []
    for weekday, first, last, reason in sorted(spans.union(shut, all=True)):
        if weekday < 0:
            closures.append(rules.Shut(_as_day(first), _as_day(last), reason))
        else:
            week[weekday].append((first, last))
    return dict(week), tuple(closures)


def _as_number(field: str) -> Any:
    whole = ExtractYear(field) * 10_000 + ExtractMonth(field) * 100 + ExtractDay(field)
    return Cast(whole, IntegerField())  # PostgreSQL extracts decimals


def _as_day(number: int) -> date:
    return date(number // 10_000, number // 100 % 100, number % 100)


def covered_shifts(first: date, last: date, zone: ZoneInfo) -> list[Span]:
    """The shifts that somebody has taken from ``first`` to ``last``, with a day on either side."""
    day = timedelta(days=1)
    rows = Shift.objects.filter(
        person__isnull=False,
        called_off_at__isnull=True,
        starts__gte=day_span(first - day, zone).starts,
        starts__lt=day_span(last + day, zone).ends,
    )
    return [Span(starts, ends) for starts, ends in rows.values_list("starts", "ends")]


def opening(day: date, of: Studio | None = None) -> list[Span]:
    """The spans in which the house is open on that local day (UTC)."""
    of = of or studio()
    return rules.open_spans(day, hours(of, day, day), zone(of))


def stations() -> QuerySet[Station]:
    return Station.objects.select_related("zone").prefetch_related("processes")


def kinds() -> list[str]:
    """The kinds of station there are, in the order in which the studio lists them."""
    return list(dict.fromkeys(Station.objects.order_by("pk").values_list("kind", flat=True)))


def stations_of_kind(kind: str) -> list[Station]:
    return list(stations().filter(kind=kind))


def services() -> QuerySet[Service]:
    """Water, power, extraction: what something here needs, by name."""
    return Service.objects.all()


def processes() -> QuerySet[Process]:
    return Process.objects.all()


def processors() -> QuerySet[Processor]:
    return Processor.objects.select_related("process")


def processors_of(process: Process) -> list[Processor]:
    """The processors that run this process, in the order in which the studio lists them."""
    return list(processors().filter(process=process))


def kit() -> list[KitItem]:
    """What bookings can take along, by sort and name; what is not lent out any more at the end."""
    return sorted(KitItem.objects.all(), key=lambda item: not item.pieces)


def is_kit(code: str) -> bool:
    return KitItem.objects.filter(code__iexact=code).exists()


def access_kit(code: str) -> KitItem:
    return KitItem.objects.get(code=code)


def access_processor(code: str) -> Processor:
    return processors().get(code=code)


def lanes_of(resource_ids: list[int]) -> dict[int, list[int]]:
    """Resource id → the ids of its lanes in number order; places that were taken away are left out."""
    places = dict(Processor.objects.filter(resource_id__in=resource_ids).values_list("resource_id", "booths_at_once"))
    places |= dict(KitItem.objects.filter(resource_id__in=resource_ids).values_list("resource_id", "pieces"))
    out: dict[int, list[int]] = {resource: [] for resource in resource_ids}
    for lane in Lane.objects.filter(resource_id__in=resource_ids).order_by("resource_id", "number"):
        if lane.number <= places.get(lane.resource_id, lane.number):
            out[lane.resource_id].append(lane.pk)
    return out


def resources(ids: list[int]) -> QuerySet[Resource]:
    """The rows that an act locks, in the one order that everybody keeps."""
    return Resource.objects.filter(pk__in=ids).order_by("pk")


def minutes(number: int) -> timedelta:
    return timedelta(minutes=number)


# ---- shifts --------------------------------------------------------------------------------------------------------


def hand(member: Member) -> shift_rules.Hand:
    """Somebody as the rules of shifts see them."""
    roles = {name: getattr(member, name) for name in ("is_active", "is_keyholder", "is_tutor", "is_staff")}
    return shift_rules.Hand(member.pk, **roles)


def duty(shift: Shift, swap: ShiftSwap | None = None) -> shift_rules.Duty:
    """A shift as the rules see it; ``swap`` is the open one, if there is one."""
    return shift_rules.Duty(
        Span(shift.starts, shift.ends),
        shift.person_id,
        shift.began_at,
        shift.ended_at,
        shift.called_off_at,
        swap.asked_by_id if swap else None,
    )


def who_may_hold() -> QuerySet[Member]:
    """Everybody who may have a shift, by name."""
    roles = Q(is_keyholder=True) | Q(is_tutor=True) | Q(is_staff=True)
    return Member.objects.filter(roles, is_active=True).order_by("name", "pk")


def who_opens() -> QuerySet[Member]:
    """Keyholders and staff: who is told that nobody has a shift."""
    return who_may_hold().filter(Q(is_keyholder=True) | Q(is_staff=True))


def shifts(span: Span) -> QuerySet[Shift]:
    """Every shift that shares an instant with ``span``, called-off ones too, by start."""
    return Shift.objects.filter(starts__lt=span.ends, ends__gt=span.starts).select_related("person")


def _standing() -> QuerySet[Shift]:
    return Shift.objects.filter(called_off_at__isnull=True).select_related("person")


def _covered() -> QuerySet[Shift]:
    return _standing().filter(person__isnull=False)


def access_shift(member: Member, pk: int) -> Shift:
    """One shift, for everybody who may have one; ``Shift.DoesNotExist`` for the others."""
    rows = Shift.objects.select_related("person") if hand(member).may_hold else Shift.objects.none()
    return rows.get(pk=pk)


def shift(pk: int | None) -> Shift:
    """One shift for a letter that is written about it."""
    return Shift.objects.select_related("person").get(pk=pk)


def open_swaps(shifts_: Iterable[Shift]) -> dict[int, ShiftSwap]:
    """Shift id → whoever asks that it be taken over."""
    rows = ShiftSwap.objects.filter(shift__in=[one.pk for one in shifts_], settled_at__isnull=True)
    return {row.shift_id: row for row in rows.select_related("asked_by")}


def spans_of(person: Member, around: Span, *, without: Shift | None = None) -> list[Span]:
    """When this person has other shifts that share an instant with ``around``."""
    rows = _covered().filter(person=person, starts__lt=around.ends, ends__gt=around.starts)
    rows = rows.exclude(pk=without.pk) if without is not None else rows
    return [Span(one.starts, one.ends) for one in rows]


def shifts_to_come(person: Member, now: datetime) -> QuerySet[Shift]:
    """What this person still has to look after, soonest first."""
    return _covered().filter(person=person, ends__gt=now, ended_at__isnull=True)


def on_now(now: datetime) -> list[Shift]:
    """The covered shifts that run at this moment: who is keyholder now."""
    return list(_covered().filter(starts__lte=now, ends__gt=now))


def next_shift(after: datetime) -> Shift | None:
    """The first shift that begins after that moment and is not called off, covered or not."""
    return _standing().filter(starts__gt=after).first()


def is_on_shift(member: Member, now: datetime) -> bool:
    """Has this person a shift that runs now, or did half an hour ago, or will in half an hour?"""
    around = shift_rules.AROUND
    return _covered().filter(person=member, starts__lte=now + around, ends__gt=now - around).exists()


def supervised_spans(span: Span) -> list[Span]:
    """When within reach of ``span`` somebody has a shift who helps beginners; shifts that touch are one."""
    able = Q(person__is_tutor=True) | Q(person__is_staff=True)  # who lost the role keeps the shift and helps nobody
    rows = _covered().filter(able, supervises=True, person__is_active=True)
    rows = rows.filter(starts__lt=span.ends, ends__gt=span.starts)
    return merged(Span(one.starts, one.ends) for one in rows)


def uncovered(now: datetime, within: timedelta = shift_rules.OPEN_7D) -> list[Shift]:
    """The shifts that begin within that time and that nobody has, soonest first."""
    return list(_standing().filter(person__isnull=True, starts__gt=now, starts__lte=now + within))


def last_note() -> Shift | None:
    """The shift that left the latest hand-over note."""
    return Shift.objects.exclude(hand_over="").select_related("person").order_by("-handed_over_at", "-pk").first()


def may_read_note(member: Member, of: Shift) -> bool:
    """Staff, whoever wrote it, and whoever has the next shift after it may read a hand-over note."""
    if member.is_staff or of.person_id == member.pk:
        return True
    following = _covered().filter(starts__gt=of.starts).first()
    return following is not None and following.person_id == member.pk


def require_hand_over(of: Shift, member: Member, now: datetime) -> None:
    """``Refused`` if this person may not write the hand-over note of that shift now."""
    refusal = shift_rules.may_hand_over(duty(of), hand(member), now)
    if refusal is not None:
        raise Refused(refusal)
