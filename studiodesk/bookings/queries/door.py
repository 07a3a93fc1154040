"""Who is in the house now, how many that are, who outstays, and the bookings of a door sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Shift, Studio
from studiodesk.timekeeping import Span, day_span, studio_day

from ..models import Booking, GroupStay, Visit
from ..rules import door
from ..rules.house import BY_CODE, HouseRules, in_force
from .house_rules import rule_rows
from .lists import in_between, who_is_in, whole, with_machine_out

#: Whatever still matters at the door began no longer ago: a day's length, half a day unsigned, a day to be asked.
LOOK_BACK = timedelta(days=3)


@dataclass(frozen=True)
class Somebody:
    """One line of the roll-call: a person with everything they are signed in for, or people nobody has on file."""

    kind: str
    name: str
    heads: int
    since: datetime
    person: Member | None = None
    bookings: tuple[Booking, ...] = ()
    visit: Visit | None = None
    of: Booking | None = None
    on_shift: bool = False

    @property
    def ends(self) -> datetime | None:
        """Until when their time goes; None for whoever has none."""
        times = [*(one.ends for one in self.bookings), *([self.group.ends] if self.group else [])]
        return max(times, default=None)

    @property
    def known(self) -> Member | None:
        """The person themselves, or of guests the one they came with."""
        return self.person or (self.of.member if self.of else None)

    @property
    def phone(self) -> str:
        """The number that this visit left, to be called for them."""
        return self.visit.emergency_phone if self.visit else ""

    @property
    def group(self) -> GroupStay | None:
        """The class or the group that they are here for."""
        return self.visit.group if self.visit else None


@dataclass(frozen=True)
class InHouse:
    """Everybody in the house at ``at``, who came first first.  ``limit``: heads at once; ``least``: never fewer."""

    at: datetime
    rows: tuple[Somebody, ...]
    limit: int | None
    least: int
    rules: HouseRules
    present: tuple[door.Present, ...] = field(repr=False, default=())

    @property
    def heads(self) -> int:
        return door.heads(self.present)

    @property
    def is_too_few(self) -> bool:
        return door.is_too_few(self.heads, self.least)

    @property
    def is_full(self) -> bool:
        return self.limit is not None and self.heads >= self.limit

    @property
    def is_over(self) -> bool:
        return self.limit is not None and self.heads > self.limit

    @property
    def visits(self) -> list[Somebody]:
        """Who is in without a booking of their own, guests too, but for groups."""
        return [row for row in self.rows if row.visit is not None and row.group is None]

    @property
    def groups(self) -> list[tuple[GroupStay, int]]:
        """The groups of which somebody is in, with how many, in the order of their ends."""
        found: dict[int, tuple[GroupStay, int]] = {}
        for row in self.rows:
            if row.group is not None:
                group, heads = found.get(row.group.pk, (row.group, 0))
                found[group.pk] = (group, heads + row.heads)
        return sorted(found.values(), key=lambda one: (one[0].ends, one[0].pk))

    @property
    def signature(self) -> tuple[object, ...]:
        rows = [(row.kind, row.name, row.heads, row.since) for row in self.rows]
        return rows, self.limit, self.least


def visits_in(now: datetime) -> QuerySet[Visit]:
    """Who came in without a booking of their own and has not gone."""
    rows = Visit.objects.filter(left_at__isnull=True, came_at__lte=now, came_at__gt=now - door.LONGEST_VISIT)
    forgotten = Q(group__isnull=False, group__ends__lte=now - door.FORGOTTEN)
    return rows.exclude(forgotten).select_related("person", "booking__member", "booking__station", "group")


def begun_of(rows: Iterable[Shift], now: datetime) -> list[Shift]:
    """Of these shifts those that somebody has begun and not ended: they are in the house."""
    stand = (row for row in rows if row.person_id and row.called_off_at is None and row.ended_at is None)
    return [row for row in stand if row.began_at and row.began_at <= now and row.ends > now - door.FORGOTTEN]


def shifts_in(now: datetime) -> list[Shift]:
    """Shifts of whoever is in the house by them now."""
    around = Span(now - door.FORGOTTEN, now + timedelta(days=1))
    return begun_of(stations.shifts(around), now)


def house_rules_at(now: datetime, zone: ZoneInfo) -> HouseRules:
    """The rules that hold for everybody on the day of ``now``."""
    return in_force(rule_rows(), studio_day(now, zone))


def in_house(
    now: datetime, studio: Studio, booked: Iterable[Booking] | None = None, begun: Iterable[Shift] | None = None
) -> InHouse:
    """Everybody who is in; ``booked`` are the bookings signed in for and ``begun`` the shifts, if the caller has them.

    Four queries at most.
    """
    rules = house_rules_at(now, stations.zone(studio))
    people: dict[int, Somebody] = {}
    others: list[Somebody] = []
    present: list[door.Present] = []
    for visit in visits_in(now):
        kind, name, of = str(visit.kind), visit.name, visit.booking
        row = Somebody(kind, name, visit.heads, visit.came_at, visit.person, visit=visit, of=of)
        present.append(door.Present(visit.person_id, visit.heads))
        if visit.person is not None:
            people[visit.person.pk] = replace(row, name=visit.person.name)
        else:
            others.append(row)
    for shift in shifts_in(now) if begun is None else begun:
        person, began = shift.person, shift.began_at
        if person is None or began is None:
            continue
        kind = "keyholder" if person.may_run_the_house else "tutor"
        before = people.get(person.pk) or Somebody(kind, person.name, 1, began, person)
        people[person.pk] = replace(before, since=min(before.since, began), on_shift=True)
        present.append(door.Present(person.pk))
    for booking in who_is_in(now) if booked is None else booked:
        came = booking.arrived_at or now
        before = people.get(booking.member_id) or Somebody("member", booking.member.name, 1, came, booking.member)
        both = (*before.bookings, booking)
        people[booking.member_id] = replace(before, since=min(before.since, came), bookings=both)
        present.append(door.Present(booking.member_id))
    rows = sorted([*people.values(), *others], key=lambda row: (row.since, row.name))
    least = rules.number("least_heads")
    return InHouse(now, tuple(rows), studio.heads_at_once, least, rules, tuple(present))


def open_visit(person: Member) -> Visit | None:
    """The visit of this person that has not ended, however old it is."""
    return Visit.objects.filter(person=person, left_at__isnull=True).first()


def access_visit(member: Member, pk: int) -> Visit:
    """One's own visit, or any for whoever runs the house; ``Visit.DoesNotExist`` otherwise."""
    rows = Visit.objects.select_related("person", "booking__member")
    return (rows if member.may_run_the_house else rows.filter(person=member)).get(pk=pk)


# ---- bookings at the door ------------------------------------------------------------------------------------------


def at_the_door(member: Member, now: datetime) -> list[Booking]:
    """A member's bookings that matter at the door: signed in, to come today or tomorrow, or left a short while ago."""
    mine = whole().filter(member=member, cancelled_at__isnull=True, offered_until__isnull=True)
    mine = mine.filter(starts__gt=now - LOOK_BACK)
    still_in = Q(arrived_at__isnull=False, left_at__isnull=True, ends__gt=now - door.FORGOTTEN)
    to_come = Q(arrived_at__isnull=True, released_at__isnull=True, ends__gt=now, starts__lt=now + timedelta(days=1))
    gone = Q(left_at__gt=now - door.ASK_FOR)
    given_back = Q(released_at__isnull=False, ends__gt=now)
    return list(mine.filter(still_in | to_come | gone | given_back).order_by("starts", "pk"))


def of_the_day(now: datetime, zone: ZoneInfo) -> list[Booking]:
    """Today's bookings that somebody may come to, and whoever is still in from before; for the tablet at the door."""
    today = day_span(studio_day(now, zone), zone)
    keys = in_between(today).values("pk")
    still_in = Q(arrived_at__isnull=False, left_at__isnull=True, ends__gt=now - door.FORGOTTEN)
    rows = whole().filter(Q(pk__in=keys) | still_in, cancelled_at__isnull=True, released_at__isnull=True)
    rows = rows.filter(offered_until__isnull=True, starts__gt=today.starts - LOOK_BACK)
    return list(rows.order_by("starts", "pk"))


def around_the_desk(span: Span, now: datetime) -> list[Booking]:
    """What the desk has before it, in one query: the bookings of ``span``, who is still in from before, who left."""
    keys = in_between(span).values("pk")
    still_in = Q(arrived_at__lte=now, left_at__isnull=True, ends__gt=now - door.FORGOTTEN)
    gone = Q(left_at__gte=span.starts, left_at__lte=now)
    rows = whole().filter(Q(pk__in=keys) | still_in | gone, cancelled_at__isnull=True)
    rows = with_machine_out(rows.filter(starts__gt=span.starts - LOOK_BACK, starts__lt=span.ends))
    return list(rows.order_by("starts", "pk"))


def stay_of(booking: Booking) -> door.Stay:
    return door.Stay(
        booking.pk,
        booking.station_id,
        booking.member_id,
        booking.starts,
        booking.ends,
        booking.arrived_at,
        booking.left_at,
        booking.offered_until is not None,
    )


@dataclass(frozen=True)
class Outstays:
    """``sits`` is still signed in where ``next`` begins; ``is_over``: the time of ``sits`` has ended."""

    sits: Booking
    next: Booking
    is_over: bool


def overruns(now: datetime, rules: HouseRules, of: Iterable[Booking] | None = None) -> list[Outstays]:
    """Who has to make room for somebody; ``of``: the bookings around now, if the caller has them.  One query."""
    minutes = rules.number("overrun_minutes")
    if of is None:
        around = Span(now - LOOK_BACK, now + timedelta(minutes=minutes + 1))
        of = whole().filter(cancelled_at__isnull=True, starts__lt=around.ends, starts__gt=around.starts)
    rows = {one.pk: one for one in of if one.cancelled_at is None and one.released_at is None}
    found = door.overruns((stay_of(one) for one in rows.values()), now, minutes)
    return [Outstays(rows[one.sits], rows[one.next], one.is_over) for one in found]


def makes_room(now: datetime, zone: ZoneInfo, of: Iterable[Booking]) -> list[Outstays]:
    """The same of bookings that the caller has; the house's minutes are asked for only if it could be so at all."""
    rows = list(of)
    most = BY_CODE["overrun_minutes"].most
    if not door.overruns((stay_of(one) for one in rows if one.cancelled_at is None), now, most):
        return []
    return overruns(now, house_rules_at(now, zone), rows)


def nobody_came_to(now: datetime, minutes: int) -> list[Booking]:
    """Bookings that began so long ago and that nobody signed in to; what a file told of the past is left alone."""
    rows = Booking.objects.filter(
        cancelled_at__isnull=True,
        arrived_at__isnull=True,
        released_at__isnull=True,
        offered_until__isnull=True,
        starts__lte=now - timedelta(minutes=minutes),
        ends__gt=now,
    )
    return list(rows.exclude(source=Booking.Source.FILE).order_by("starts", "pk"))
