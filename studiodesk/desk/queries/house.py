"""The first page, what is out of service, and the people who come here."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.classes.models import Meeting, Place
from studiodesk.journal import queries as journal
from studiodesk.people import queries as people
from studiodesk.people.models import Member
from studiodesk.safety import queries as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Station, Studio
from studiodesk.timekeeping import studio_day

from .guides import been_here

#: So many classes stand on the first page.
NEXT_CLASSES = 3


def access_booking(member: Member, pk: int) -> Booking:
    return bookings.access_booking(member, pk)


def people_listed(words: str, *, former: bool) -> QuerySet[Member]:
    """People with ``coming``: how many bookings each has that stand."""
    standing = Count("bookings", filter=Q(bookings__cancelled_at__isnull=True))
    return people.people(words, former=former).annotate(booked=standing)


def can_be_cancelled(person: Member, now: datetime) -> list[Booking]:
    """What somebody has booked and has not come to yet, soonest first."""
    coming, _gone = bookings.coming_and_gone(person, now, gone=0)
    return [booking for booking in coming if booking.arrived_at is None]


@dataclass(frozen=True)
class PersonPage:
    """``may_change``: whoever looks may say that this person has left or is here again."""

    person: Member
    may_change: bool
    booked: int
    cancelled: int
    came: int
    coming: list[Booking] = field(default_factory=list)
    read: list[Any] = field(default_factory=list)
    unread: list[Any] = field(default_factory=list)
    entries: list[Any] = field(default_factory=list)
    keys: list[Any] = field(default_factory=list)


def person_page(person: Member, now: datetime, by: Member) -> PersonPage:
    """What staff see of one person: bookings, notes read, what happened to their roles."""
    counts = Booking.objects.filter(member=person).aggregate(
        booked=Count("pk", filter=Q(cancelled_at__isnull=True)),
        cancelled=Count("pk", filter=Q(cancelled_at__isnull=False)),
        came=Count("pk", filter=Q(arrived_at__isnull=False)),
    )
    notes = safety.notes_for(person)
    return PersonPage(
        person=person,
        may_change=people.may_set_standing(person, by) is None,
        coming=bookings.coming_and_gone(person, now, gone=0)[0],
        read=list(safety.acknowledgements_of(person)),
        unread=[note for note in notes if not note.is_read],
        entries=list(journal.entries_about("member", person.pk)[:20]),
        keys=list(people.keys_with(person)),
        **counts,
    )


def have_yet_to_read(note: SafetyNote, now: datetime) -> int:
    """How many people have booked the note's processor from now on and have not read this version."""
    coming = Booking.objects.filter(processor_id=note.processor_id, cancelled_at__isnull=True, starts__gt=now)
    return coming.exclude(member__acknowledgements__note=note).values("member").distinct().order_by().count()


@dataclass(frozen=True)
class NextClass:
    """``state``: how somebody's place in it stands; None where they only teach it."""

    meeting: Meeting
    state: str | None


@dataclass(frozen=True)
class FirstPage:
    """What the first page says to a member: what comes next, the classes too, and what stands before it.

    ``is_new``: they were never signed in to a booking, nor look after the house.
    """

    next: Booking | None
    more: int
    unread: list[Any]
    classes: list[NextClass] = field(default_factory=list)
    is_new: bool = False


def first_page(member: Member, now: datetime) -> FirstPage:
    coming, _gone = bookings.coming_and_gone(member, now, gone=0)
    notes = [note for note in safety.notes_for(member) if not note.is_read]
    is_new = not member.may_run_the_house and not been_here(member)
    return FirstPage(coming[0] if coming else None, max(0, len(coming) - 1), notes, classes_of(member, now), is_new)


def classes_of(member: Member, now: datetime) -> list[NextClass]:
    """The next dates that somebody teaches or has a place in, or waits for one; one query."""
    theirs = Place.objects.filter(member=member).exclude(state__in=[Place.State.ENDED, Place.State.ASKED])
    rows = Meeting.objects.filter(stay__cancelled_at__isnull=True, stay__ends__gt=now)
    rows = rows.filter(Q(course__tutor=member) | Q(course__in=theirs.values("course")))
    rows = rows.annotate(place_state=Subquery(theirs.filter(course=OuterRef("course")).values("state")[:1]))
    rows = rows.select_related("stay", "course").order_by("stay__starts", "pk")[:NEXT_CLASSES]
    return [NextClass(row, row.place_state) for row in rows]


def day_to_show(now: datetime, member: Member | None, studio: Studio) -> bookings.DayView | None:
    """Today while the house is or will be open, else the next day within a fortnight on which it is."""
    zone = stations.zone(studio)
    today = studio_day(now, zone)
    hours = stations.hours(studio, today, today + timedelta(days=15))
    for day in (today + timedelta(days=n) for n in range(15)):
        if any(span.ends > now for span in house_rules.open_spans(day, hours, zone)):
            return bookings.day_view(day, member, studio)
    return None


@dataclass(frozen=True)
class ThePlace:
    """What a stranger may know of the house: its kinds of station with how many, its processes, its week."""

    kinds: list[tuple[str, int]]
    processes: list[str]
    week: list[tuple[int, list[tuple[int, int]]]]


def the_place() -> ThePlace:
    kinds = Station.objects.values("kind").annotate(of=Count("pk")).order_by("kind").values_list("kind", "of")
    week = sorted(stations.hours().week.items())
    return ThePlace(list(kinds), [process.name for process in stations.processes()], week)
