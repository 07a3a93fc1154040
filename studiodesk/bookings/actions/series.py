"""Booking a series, changing and cancelling this one, this and the following, or all that are still to come."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record, tell
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Process, Station
from studiodesk.timekeeping import Span, studio_day

from ..models import Booking, Series
from ..queries import rules_for, still_to_come
from ..rules import series as rules
from .cancelling import cancel
from .changing import SAME, New, Same, change
from .holding import wait_for_the_house
from .making import book


@dataclass(frozen=True)
class Elsewhere:
    """Where and when one occurrence is booked instead."""

    station: Station
    span: Span


@dataclass(frozen=True)
class Booked:
    """``shifted``: the days on which the clock jumps over the wished time, so that it begins later."""

    series: Series
    bookings: list[Booking]
    shifted: list[date]


@act
def book_series(
    *,
    member: Member,
    station: Station,
    process: Process | None,
    of: rules.Recurrence,
    now: datetime,
    by: Member,
    kit: Mapping[KitItem, int] | None = None,
    skip: Collection[date] = (),
    elsewhere: Mapping[date, Elsewhere] | None = None,
) -> Booked:
    """Book every occurrence, or none: ``bookings.series_clashes`` names all that cannot be, each with its reason.

    ``skip``: days to leave out; ``elsewhere``: what is booked instead on others.
    """
    zone = stations.zone()
    most = rules_for(member, now).number("series_bookings")
    days = rules.occurrences(of, zone, most)
    refusal = rules.may_recur(of, len(days), most)
    if refusal:
        raise Refused(refusal)
    row = Series.objects.create(
        member=member,
        station=station,
        process=process,
        every_weeks=of.every_weeks,
        first_day=of.first_day,
        last_day=of.last_day,
        begins_minute=of.begins_minute,
        length_minutes=int(of.length.total_seconds()) // 60,
        made_at=now,
    )
    wanted = [one for one in days if one.day not in skip]
    if not wanted:
        refuse("bookings.series_all_skipped")

    def one(occurrence: rules.Occurrence) -> Booking:
        other = (elsewhere or {}).get(occurrence.day)
        span = other.span if other else occurrence.span
        return book(
            member=member,
            station=other.station if other else station,
            process=process,
            starts=span.starts,
            ends=span.ends,
            now=now,
            by=by,
            kit=kit,
            series=row,
            quietly=True,
        )

    made = _all_or_none([(day.day, day.span, lambda day=day: one(day)) for day in wanted])
    shifted = [day.day for day in wanted if day.shifted and day.day not in (elsewhere or {})]
    _tell(row, "bookings.series_booked", made, now, by, {"shifted": [day.isoformat() for day in shifted]})
    return Booked(row, made, shifted)


def _all_or_none(work: list[tuple[date, Span, Callable[[], Booking]]]) -> list[Booking]:
    """Do each; what is refused is gathered, and then nothing of all this happened."""
    done: list[Booking] = []
    clashes: list[rules.Clash] = []
    for day, span, do in work:
        try:
            done.append(do())
        except Refused as refused:
            clashes.append(rules.Clash(day, span, refused.refusal))
    refusal = rules.clashes_refusal(clashes, len(work))
    if refusal:
        raise Refused(refusal)
    return done


def _tell(row: Series, code: str, bookings: list[Booking], now: datetime, by: Member, more: dict[str, Any]) -> None:
    """One letter for all of them."""
    facts = {"member": row.member_id, "bookings": [booking.pk for booking in bookings], **more}
    entry = record(code=code, happened_at=now, now=now, by=by, about=row, facts=facts)
    key = f"{code}:{row.pk}:{max((booking.sequence for booking in bookings), default=0)}:{len(bookings)}"
    tell(entry=entry, person=row.member, code=code, unique_key=f"{key}:{entry.pk}", due_at=now)


def _reached(booking: Booking, scope: str, now: datetime) -> list[Booking]:
    """The bookings that the scope means, soonest first, the person's row locked before all of them."""
    if booking.series_id is None:
        refuse("bookings.not_a_series")
    wait_for_the_house()
    locked(Member.objects.filter(pk=booking.member_id)).get()
    booking.refresh_from_db(fields=["series", "starts"])  # another tab may have moved it, or parted it from the others
    coming = still_to_come(booking.series, now)
    # Whoever is in already keeps theirs, unless just that one is meant: then it is said why it cannot be.
    ahead = {one.pk: one for one in coming if scope == rules.THIS or one.arrived_at is None}
    keys = rules.reached([(key, one.starts) for key, one in ahead.items()], booking.starts, scope, now)
    if not keys:
        refuse("bookings.series_over")
    return [ahead[key] for key in keys]


@act
def change_series(
    *,
    booking: Booking,
    scope: str,
    now: datetime,
    by: Member,
    station: Station | Same = SAME,
    begins_minute: int | None = None,
    length: timedelta | None = None,
    skip: Collection[date] = (),
) -> list[Booking]:
    """Give the bookings that ``scope`` means another station, another time of the day or another length.

    Each keeps its own local day.  All or none; those of ``skip`` stay as they are.  What follows a changed one becomes
    a series of its own, so that a later "all" means those that are alike.  If all are so already, nothing is written.
    """
    zone = stations.zone()
    reached = _reached(booking, scope, now)
    work: list[tuple[date, Span, Callable[[], Booking]]] = []
    for row in reached:
        day = studio_day(row.starts, zone)
        if day in skip:
            continue
        local = row.starts.astimezone(zone)
        minute = local.hour * 60 + local.minute if begins_minute is None else begins_minute
        span = rules.occurrence(day, minute, length or row.ends - row.starts, zone).span
        if begins_minute is None:  # also the second of two times that the clock shows twice stays as it is
            span = Span(row.starts, row.starts + span.length)
        new = New(station=station, starts=span.starts, ends=span.ends)
        work.append((day, span, lambda row=row, new=new: change(booking=row, new=new, now=now, by=by, quietly=True)))
    if not work:
        refuse("bookings.series_all_skipped")
    were = {row.pk: row.sequence for row in reached}
    changed = _all_or_none(work)
    if all(row.sequence == were[row.pk] for row in changed):
        return []
    series = _series_of(booking, scope, changed, now)
    if scope != rules.THIS:
        values: dict[str, Any] = {}
        if not isinstance(station, Same):
            values["station"] = station
        if begins_minute is not None:
            values["begins_minute"] = begins_minute
        if length is not None:
            values["length_minutes"] = int(length.total_seconds()) // 60
        Series.objects.filter(pk=series.pk).update(**values)
    _tell(series, "bookings.series_changed", changed, now, by, {})
    return changed


def _series_of(booking: Booking, scope: str, changed: list[Booking], now: datetime) -> Series:
    """The row that stands for the changed ones: for "this and the following" a new one, parted from what was before."""
    row: Series = booking.series
    if scope != rules.FOLLOWING:
        return row
    first = studio_day(booking.starts, stations.zone())
    new = Series.objects.create(
        member=row.member,
        station=row.station,
        process=row.process,
        every_weeks=row.every_weeks,
        first_day=first,
        last_day=row.last_day,
        begins_minute=row.begins_minute,
        length_minutes=row.length_minutes,
        made_at=now,
    )
    Booking.objects.filter(pk__in=[one.pk for one in changed]).update(series=new)
    Series.objects.filter(pk=row.pk).update(last_day=max(row.first_day, first - timedelta(days=1)))
    return new


@act
def cancel_series(*, booking: Booking, scope: str, now: datetime, by: Member) -> list[Booking]:
    """Cancel the bookings that ``scope`` means; what has begun stays.  One letter says which."""
    reached = _reached(booking, scope, now)
    alone = scope == rules.THIS
    gone = [cancel(booking=row, now=now, by=by, quietly=not alone) for row in reached]
    if alone:
        return gone
    _tell(booking.series, "bookings.series_cancelled", gone, now, by, {})
    return gone
