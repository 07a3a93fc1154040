"""The desk as it is now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.lists import ToWarm
from studiodesk.bookings.queries.waiting import WaitingDay, waiting_days
from studiodesk.bookings.rules.door import FORGOTTEN
from studiodesk.bookings.rules.keeping import EARLIEST_SIGN_IN
from studiodesk.chemistry import queries as chemistry
from studiodesk.people import queries as people
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import Span, day_span, studio_day

from .. import rules
from .ahead import AheadOfDesk, ahead_of_desk
from .alerts import AlertsAtDesk, alerts_at_desk
from .classes import ClassAtDesk, asked_of, classes_at_desk
from .outages import OutTasks, out_tasks
from .shifts import ShiftsAtDesk, shifts_at_desk

#: The desk is read in five seconds: what does not fit is one link away.
NEXT_SHOWN = 8


@dataclass(frozen=True)
class DeskNow:
    """Everything on the desk at ``now``, most urgent first."""

    now: datetime
    tasks: list[rules.Task]
    late: list[Booking]
    inside: list[Booking]
    house: bookings.InHouse
    overruns: list[bookings.Outstays]
    today: list[Booking]
    today_more: int
    tomorrow: list[Booking]
    tomorrow_more: int
    left: list[Booking]
    left_more: int
    letters_given_up: int
    waiting: list[WaitingDay]
    ahead: AheadOfDesk
    shifts: ShiftsAtDesk
    out: OutTasks
    alerts: AlertsAtDesk
    classes: list[ClassAtDesk]
    can_sign_in_until: datetime
    midnight: datetime
    next_midnight: datetime

    @property
    def spent(self) -> list[rules.Task]:
        """What lets no more paper in: it stands before everything else."""
        return [task for task in self.tasks if task.what == "spent"]

    @property
    def less_urgent(self) -> list[rules.Task]:
        return [task for task in self.tasks if task.what != "spent"]

    @property
    def to_do(self) -> int:
        """How many things wait, none counted twice: the first thing that is read."""
        return len(self.tasks) + len(self.out.tasks) + bool(self.out.by_hours) + self.alerts.beside

    @property
    def stops(self) -> bool:
        """Something among them lets no more paper in, or is a danger."""
        dangers = any(task.is_danger for task in self.out.tasks) or any(line.stops for line in self.alerts.worst)
        return dangers or bool(self.spent)

    @property
    def signature(self) -> str:
        """The same as long as the page would look the same, but for when it was checked."""
        tasks = [(task.urgency, task.by, *_name(task.thing)) for task in self.tasks]
        rows = [
            [(booking.pk, booking.starts <= self.can_sign_in_until, booking.ends < self.now) for booking in group]
            for group in (self.late, self.inside, self.today, self.tomorrow, self.left)
        ]
        more = (self.today_more, self.tomorrow_more, self.left_more, self.letters_given_up, self.midnight, self.waiting)
        parts = (self.ahead.signature, self.shifts.signature, self.out.signature, self.door, self.alerts.signature)
        parts += ([one.signature for one in self.classes],)
        return people.secret_hash(repr((tasks, rows, more, *parts)))[:16]

    @property
    def door(self) -> tuple[object, ...]:
        return self.house.signature, [(one.sits.pk, one.next.pk, one.is_over) for one in self.overruns]


def _name(thing: Any) -> tuple[Any, ...]:
    if isinstance(thing, ToWarm):
        return thing.processor.code, thing.first.pk
    return thing.of.processor, thing.of.bath, thing.strokes_due, round(thing.used, 2), thing.limit


def desk_now(now: datetime, studio: Studio) -> DeskNow:
    """Who is in, who is late, what has to be done, who comes next, what is foretold; twelve queries however
    much there is."""
    zone = stations.zone(studio)
    day = studio_day(now, zone)
    here = day_span(day, zone)
    midnight = here.ends
    tomorrow = day_span(studio_day(midnight, zone), zone)
    around = bookings.around_the_desk(Span(here.starts, tomorrow.ends), now)
    coming = [one for one in around if _is_expected(one) and one.ends > now]
    inside = sorted((one for one in around if _is_in(one, now)), key=lambda one: (one.ends, one.pk))
    today = [booking for booking in coming if now < booking.starts < midnight]
    later = [booking for booking in coming if booking.starts >= midnight]
    alerts = chemistry.open_alerts(now)
    lines = chemistry.standings(now, zone=zone, alerts=alerts.kinds)
    ahead = ahead_of_desk(lines, now, zone)
    tasks = rules.bath_tasks(lines, ahead.of)
    hours = bookings.hours_ahead(now, studio)
    out = out_tasks(now, studio, hours)
    booked = [one for one in around if one.offered_until is None]
    warm = bookings.to_warm(day, now, zone, studio=studio, booked=booked, hours=hours)
    tasks += [rules.warm_up_task(one.begin, one, now) for one in warm]
    left = [one for one in around if one.left_at is not None and here.starts <= one.left_at <= now]
    left.sort(key=lambda one: (one.left_at, one.pk), reverse=True)
    shifts = shifts_at_desk(now)
    house = bookings.in_house(now, studio, inside, shifts.begun)
    return DeskNow(
        now=now,
        tasks=rules.in_order(tasks),
        late=[booking for booking in coming if booking.starts <= now],
        inside=inside,
        house=house,
        overruns=bookings.overruns(now, house.rules, around),
        today=today[:NEXT_SHOWN],
        today_more=max(0, len(today) - NEXT_SHOWN),
        tomorrow=later[:NEXT_SHOWN],
        tomorrow_more=max(0, len(later) - NEXT_SHOWN),
        left=left[:NEXT_SHOWN],
        left_more=max(0, len(left) - NEXT_SHOWN),
        letters_given_up=out.letters,
        waiting=waiting_days(now, zone),
        ahead=ahead,
        shifts=shifts,
        out=out,
        alerts=alerts_at_desk(alerts, out.checked, now),
        classes=classes_at_desk(now, asked_of(ahead.of.values(), out.changes)),
        can_sign_in_until=now + EARLIEST_SIGN_IN,
        midnight=midnight,
        next_midnight=tomorrow.ends,
    )


def _is_expected(booking: Booking) -> bool:
    """Nobody has signed in to it yet, and it was neither given back nor only kept for somebody."""
    return booking.arrived_at is None and booking.released_at is None and booking.offered_until is None


def _is_in(booking: Booking, now: datetime) -> bool:
    came = booking.arrived_at
    return came is not None and came <= now and booking.left_at is None and booking.ends > now - FORGOTTEN
