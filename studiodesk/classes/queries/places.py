"""Who has a place and who waits."""

from __future__ import annotations

from datetime import datetime

from django.core import signing
from django.db.models import Min, QuerySet

from studiodesk.bookings.models import GroupStay
from studiodesk.people.models import Member

from ..models import Course, Place
from ..rules import places as rules
from ..rules.places import Party, Terms
from .courses import meetings_of, standing_of, with_dates


def terms_of(course: Course) -> Terms:
    """What the rules ask of a course: its first date's start and its last date's end among them."""
    stays = [meeting.stay for meeting in meetings_of(course)]
    return Terms(
        heads_most=course.heads_most,
        starts=min(stay.starts for stay in stays),
        ends=max(stay.ends for stay in stays),
        is_off=course.is_off,
        drop_in=course.drop_in,
        is_room=course.sort == GroupStay.Sort.ROOM,
        free_cancel_days=course.free_cancel_days,
        minimum_age=course.minimum_age,
    )


def party_of(place: Place) -> Party:
    return Party(
        key=place.pk,
        heads=place.heads,
        state=place.state,
        in_line_since=place.in_line_since,
        until=place.until,
        offers_run_out=place.offers_run_out,
        booked_at=place.booked_at,
    )


def parties_of(course: Course) -> list[Party]:
    """Everybody who has not ended, in line order."""
    return [party_of(place) for place in standing_of(course)]


def places_of(course: Course) -> QuerySet[Place]:
    """The sign-ups of a course with their people and seats, in line order."""
    return course.places.select_related("member").prefetch_related("seats").order_by("in_line_since", "pk")


def places_of_member(member: Member) -> QuerySet[Place]:
    """Somebody's places that have not ended, with their courses and their dates."""
    rows = Place.objects.filter(member=member).exclude(state=Place.State.ENDED)
    return rows.select_related("course").prefetch_related(with_dates("course__meetings"))


def access_place(member: Member, pk: int) -> Place:
    """One's own place, or any for staff; ``Place.DoesNotExist`` otherwise."""
    rows = Place.objects.select_related("course", "member")
    return rows.get(pk=pk) if member.is_active and member.is_staff else rows.get(pk=pk, member=member)


def place_key(place: Place) -> str:
    """The word in a guest's link.  It holds the address, so that a corrected one makes the link before worthless."""
    return signing.dumps([place.reference, place.email.casefold()], salt="classes.place")


def place_of_key(key: str) -> Place:
    """The guest's place that a link names; ``Place.DoesNotExist`` for anything else."""
    try:
        reference, address = signing.loads(key, salt="classes.place")
    except (signing.BadSignature, ValueError, TypeError) as error:
        raise Place.DoesNotExist from error
    row = Place.objects.select_related("course").get(reference=reference, member__isnull=True)
    # Not by the database: what it takes for the same letter in capitals is not what Python does.
    if row.email.casefold() != address:
        raise Place.DoesNotExist
    return row


def places_to_come(member: Member, now: datetime) -> QuerySet[Place]:
    """Somebody's places and sign-ups in classes that have not begun."""
    rows = Place.objects.filter(member=member).exclude(state=Place.State.ENDED).select_related("course")
    return rows.annotate(starts=Min("course__meetings__stay__starts")).filter(starts__gt=now).order_by("pk")


def with_a_line(now: datetime) -> list[Course]:
    """Courses to come in which somebody waits who could be asked."""
    rows = Course.objects.filter(places__state=Place.State.WAITING).exclude(decided=Course.Decided.OFF)
    coming = rows.annotate(starts=Min("meetings__stay__starts")).filter(starts__gt=now).order_by("pk")
    return [row for row in coming if rules.to_ask(terms_of(row), parties_of(row), now)]


def run_out(now: datetime) -> QuerySet[Place]:
    """What was kept only until now or before: offers, and guests who never opened their link."""
    kept = [Place.State.ASKED, Place.State.OFFERED]
    return Place.objects.filter(state__in=kept, until__lte=now).order_by("until", "pk")
