"""Two people of the demo wait for the evening that is full."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.queries import waiting as queries
from studiodesk.bookings.rules.needs import Need
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span, studio_day

from .evenings import Evenings

TWO = 2


def _needs() -> Iterator[Need]:
    """The likeliest first: what few booths do, and long."""
    for length in (120, 180, 150):
        yield Need(process="ra4", kind="enlarger booth", length=length)
        yield Need(process="fb", kind="enlarger booth", length=length)
        yield Need(process="rc", kind="enlarger booth", negative="4×5 in", length=length)
        yield Need(process="rc", kind="enlarger booth", length=length)


def two_wait(evenings: Evenings, evening: Span, people: list[Member]) -> None:
    """Each of ``people`` for something that is not to be had on this evening; whoever could have it waits no more."""
    day = studio_day(evening.starts, evenings.zone)
    house, waits = queries.rooms(), 0
    minutes = [at.astimezone(evenings.zone) for at in (evening.starts, evening.ends)]
    begins, ends = (at.hour * 60 + at.minute for at in minutes)
    for need in _needs():
        if waits == TWO:
            return
        try:
            wish = bookings.wait(
                member=people[waits],
                need=need,
                first_day=day,
                last_day=day,
                not_before=begins,
                not_after=ends,
                now=evenings.now - timedelta(hours=20 - 3 * waits, minutes=17),
                by=people[waits],
            )
        except Refused:
            continue
        if next(queries.stays_for(wish, house, evenings.now), None) is None:
            waits += 1
        else:
            bookings.stop_waiting(wish=wish, now=evenings.now - timedelta(minutes=30), by=people[waits])
