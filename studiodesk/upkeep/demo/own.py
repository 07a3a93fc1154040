"""What the member who logs in finds: stays to come, every week the same evening, film, and an offer to answer."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, Offer
from studiodesk.bookings.rules.needs import Need
from studiodesk.bookings.rules.series import Recurrence
from studiodesk.stations.models import Station
from studiodesk.timekeeping import Span, studio_day, week_shifted

from .evenings import Evenings
from .people import Cast

WEEKS, THREE = 5, 3
PROCESS = "rc"
#: The only booth whose head takes a negative of 5×7 in.
LARGE, LARGE_NEGATIVE = "E5", "5×7 in"


def give_them_something(evenings: Evenings, cast: Cast) -> None:
    """In this order: what is rarest first, and everybody else books around it."""
    need = Need(negative="35 mm", process=PROCESS, kind="enlarger booth", length=180)
    bookings.keep_usual(need=need, now=evenings.now - timedelta(days=20), by=cast.member)
    _offered(evenings, cast)
    _series(evenings, cast)
    _film(evenings, cast)
    _three_stays(evenings, cast)


def _evenings(evenings: Evenings, first: int, last: int, length: timedelta) -> Iterator[tuple[date, Span]]:
    """The last hours but one of each opening on the days from ``first`` to ``last`` ahead."""
    for days in range(first, last + 1):
        for opening in evenings.openings_on(days):
            starts = opening.ends - length - timedelta(hours=1)
            if starts >= opening.starts + timedelta(hours=1):
                yield studio_day(starts, evenings.zone), Span(starts, starts + length)


def _has_time(evenings: Evenings, cast: Cast, span: Span) -> bool:
    """The member is nowhere else then."""
    if evenings.is_away(cast.member, span):
        return False
    own = Booking.objects.filter(member=cast.member, cancelled_at=None)
    return not own.filter(starts__lt=span.ends, ends__gt=span.starts).exists()


def _minute(moment: datetime, evenings: Evenings) -> int:
    local = moment.astimezone(evenings.zone)
    return local.hour * 60 + local.minute


def _offered(evenings: Evenings, cast: Cast) -> None:
    """They waited for the booth that somebody else had, who has just given it back."""
    station, now = evenings.station(LARGE), evenings.now
    process = next(one for one in station.processes.all() if one.code == PROCESS)
    for day, span in _evenings(evenings, 1, 12, timedelta(hours=3)):
        theirs = evenings.ask_some(station, process, span) if _has_time(evenings, cast, span) else None
        if theirs is None:
            continue
        wish = bookings.wait(
            member=cast.member,
            need=Need(negative=LARGE_NEGATIVE, process=PROCESS, kind=station.kind, length=180),
            first_day=day,
            last_day=day,
            not_before=_minute(span.starts, evenings),
            not_after=_minute(span.ends, evenings),
            now=now - timedelta(days=2, minutes=11),
            by=cast.member,
        )
        bookings.cancel(booking=theirs, now=now - timedelta(minutes=8), by=theirs.member)
        if Offer.objects.filter(wish=wish, answer="").exists():
            return
        bookings.stop_waiting(wish=wish, now=now - timedelta(minutes=7), by=cast.member)


def _series(evenings: Evenings, cast: Cast) -> None:
    """The same evening in each of the next weeks, on the first day and at the first booth where all of them are to be
    had."""
    made_at = (evenings.now - timedelta(days=1, hours=2)).replace(second=0, microsecond=0)
    for first, span in _evenings(evenings, 2, 9, timedelta(hours=2)):
        if not all(_has_time(evenings, cast, week) for week in _weeks(span, evenings)):
            continue
        of = Recurrence(first, first + timedelta(weeks=WEEKS - 1), 1, _minute(span.starts, evenings), span.length)
        for station, process in _booths(evenings):
            try:
                bookings.book_series(
                    member=cast.member, station=station, process=process, of=of, now=made_at, by=cast.member
                )
            except Refused:
                continue
            return


def _weeks(span: Span, evenings: Evenings) -> Iterator[Span]:
    for week in range(WEEKS):
        starts = week_shifted(span.starts, week, evenings.zone)
        yield Span(starts, starts + span.length)


def _booths(evenings: Evenings) -> Iterator[tuple[Station, object]]:
    for station in evenings.booths:
        for process in station.processes.all():
            if process.code == PROCESS:
                yield station, process


def _film(evenings: Evenings, cast: Cast) -> None:
    """Two rolls at the sink; they dry for an hour and a half after whoever developed them has gone."""
    sink, kit = evenings.station("F1"), {"TANK-2": 1, "REEL": 2, "CABINET": 1}
    for _day, span in _evenings(evenings, 1, 8, timedelta(hours=2)):
        if _has_time(evenings, cast, span) and evenings.ask(sink, None, span, who=cast.member, kit=kit):
            return


def _three_stays(evenings: Evenings, cast: Cast) -> None:
    booked = 0
    for _day, span in _evenings(evenings, 1, 21, timedelta(hours=3)):
        if booked == THREE or not _has_time(evenings, cast, span):
            continue
        for station, process in _booths(evenings):
            kit = {"LENS-80": 1, "FOCUSER": 1} if booked == 0 else None
            if evenings.ask(station, process, span, who=cast.member, kit=kit):
                booked += 1
                break
