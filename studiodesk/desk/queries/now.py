"""The desk as it is now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.lists import ToWarm
from studiodesk.bookings.rules.keeping import EARLIEST_SIGN_IN
from studiodesk.chemistry import queries as chemistry
from studiodesk.journal import queries as journal
from studiodesk.people import queries as people
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import day_span, studio_day

from .. import rules
from .ahead import AheadOfDesk, ahead_of_desk

#: The desk is read in five seconds: what does not fit is one link away.
NEXT_SHOWN = 8


@dataclass(frozen=True)
class DeskNow:
    """Everything on the desk at ``now``, most urgent first."""

    now: datetime
    tasks: list[rules.Task]
    late: list[Booking]
    inside: list[Booking]
    today: list[Booking]
    today_more: int
    tomorrow: list[Booking]
    tomorrow_more: int
    left: list[Booking]
    left_more: int
    letters_given_up: int
    ahead: AheadOfDesk
    can_sign_in_until: datetime
    midnight: datetime
    next_midnight: datetime

    @property
    def signature(self) -> str:
        """The same as long as the page would look the same, but for when it was checked."""
        tasks = [(task.urgency, task.by, *_name(task.thing)) for task in self.tasks]
        rows = [
            [(booking.pk, booking.starts <= self.can_sign_in_until, booking.ends < self.now) for booking in group]
            for group in (self.late, self.inside, self.today, self.tomorrow, self.left)
        ]
        more = (self.today_more, self.tomorrow_more, self.left_more, self.letters_given_up, self.midnight)
        return people.secret_hash(repr((tasks, rows, more, self.ahead.signature)))[:16]


def _name(thing: Any) -> tuple[Any, ...]:
    if isinstance(thing, ToWarm):
        return thing.processor.code, thing.first.pk
    return thing.of.processor, thing.of.bath, thing.strokes_due, round(thing.used, 2), thing.limit


def _left(since: datetime, now: datetime) -> list[Booking]:
    """Who was signed out since then, the latest first."""
    rows = Booking.objects.filter(left_at__gte=since, left_at__lte=now, cancelled_at__isnull=True)
    return list(rows.select_related("member", "station").order_by("-left_at", "-pk"))


def desk_now(now: datetime, studio: Studio) -> DeskNow:
    """Who is in, who is late, what has to be done, who comes next, what is foretold; thirteen queries however
    much there is."""
    zone = stations.zone(studio)
    day = studio_day(now, zone)
    midnight = day_span(day, zone).ends
    tomorrow = day_span(studio_day(midnight, zone), zone)
    coming = list(bookings.next_up(now, tomorrow.ends))
    today = [booking for booking in coming if now < booking.starts < midnight]
    later = [booking for booking in coming if booking.starts >= midnight]
    lines = chemistry.standings(now, zone=zone)
    ahead = ahead_of_desk(lines, now, zone)
    tasks = rules.bath_tasks(lines, ahead.of)
    tasks += [rules.warm_up_task(one.begin, one, now) for one in bookings.to_warm(day, now, zone)]
    left = _left(day_span(day, zone).starts, now)
    return DeskNow(
        now=now,
        tasks=rules.in_order(tasks),
        late=[booking for booking in coming if booking.starts <= now],
        inside=list(bookings.who_is_in(now)),
        today=today[:NEXT_SHOWN],
        today_more=max(0, len(today) - NEXT_SHOWN),
        tomorrow=later[:NEXT_SHOWN],
        tomorrow_more=max(0, len(later) - NEXT_SHOWN),
        left=left[:NEXT_SHOWN],
        left_more=max(0, len(left) - NEXT_SHOWN),
        letters_given_up=journal.notices_given_up(),
        ahead=ahead,
        can_sign_in_until=now + EARLIEST_SIGN_IN,
        midnight=midnight,
        next_midnight=tomorrow.ends,
    )
