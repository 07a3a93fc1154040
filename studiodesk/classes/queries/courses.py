"""Outlines and their dates: what there is, what is to come, and what a run needs of the house."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.core import signing
from django.db.models import Max, Min, Prefetch, QuerySet

from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries.groups import GroupWish, Needed
from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Station
from studiodesk.timekeeping import Span

from ..models import Course, Hire, Meeting, Outline, Place
from ..rules import dates

#: Kind of station, process, how many; without a kind places at a processor.  See ``OutlineNeed``.
Need = tuple[str, Process | None, int | None]
#: A class that began so long ago is no longer "ahead": people come late and look it up.
JUST_BEGUN = timedelta(hours=1)


def outlines() -> QuerySet[Outline]:
    """The outlines in use, by name."""
    return Outline.objects.filter(retired_at__isnull=True).order_by("name", "pk")


def access_outline(code: str) -> Outline:
    """One outline for staff; ``Outline.DoesNotExist`` if there is none."""
    return Outline.objects.select_related("process").prefetch_related("needs__process", "papers").get(code=code)


def courses() -> QuerySet[Course]:
    """Courses with ``starts`` of their first date that stands and ``ends`` of their last."""
    rows = Course.objects.select_related("outline", "tutor")
    return rows.annotate(starts=Min("meetings__stay__starts"), ends=Max("meetings__stay__ends"))


def with_dates(of: str = "meetings") -> Prefetch:
    """For a list of courses: what ``meetings_of`` asks, read for all of them at once."""
    return Prefetch(of, Meeting.objects.select_related("stay").order_by("stay__starts", "pk"), to_attr="dated")


def with_places() -> Prefetch:
    """For a list of courses: what ``standing_of`` asks, read for all of them at once."""
    return Prefetch("places", Place.objects.exclude(state=Place.State.ENDED), to_attr="standing")


def ahead(now: datetime) -> QuerySet[Course]:
    """What has not ended, the soonest first; called-off ones too, for people look for what became of them."""
    return courses().filter(ends__gt=now).order_by("starts", "pk")


def public_ahead(now: datetime) -> QuerySet[Course]:
    """What everybody may read about: neither private nor hired, and begun an hour ago at most."""
    rows = ahead(now).filter(is_private=False, hire__isnull=True, starts__gt=now - JUST_BEGUN)
    return rows.exclude(sort="room kept").prefetch_related(with_dates(), with_places())


def due_for_decision(now: datetime) -> QuerySet[Course]:
    """What has come to its day of decision and not begun, the longest due first."""
    rows = courses().filter(decided="", decide_at__lte=now, starts__gt=now)
    return rows.order_by("decide_at", "pk")


def courses_of_tutor(tutor: Member, now: datetime) -> QuerySet[Course]:
    """What somebody teaches, from a day ago on."""
    return courses().filter(tutor=tutor, ends__gt=now - timedelta(days=1)).order_by("starts", "pk")


def access_course(reference: str) -> Course:
    """One course by its reference; ``Course.DoesNotExist`` if there is none."""
    return courses().get(reference=reference)


def meetings_of(course: Course) -> list[Meeting]:
    """Its dates in order, with their stays; no query for a course of a list that was read ``with_dates``."""
    known: list[Meeting] | None = getattr(course, "dated", None)
    return known if known is not None else list(course.meetings.select_related("stay").order_by("stay__starts", "pk"))


def standing_of(course: Course) -> list[Place]:
    """Its places that have not ended, in line order; no query for a course that was read ``with_places``."""
    known: list[Place] | None = getattr(course, "standing", None)
    return known if known is not None else list(course.places.exclude(state=Place.State.ENDED))


def invitation_of(course: Course) -> str:
    """The word in the link to a private course; made anew (``invitation`` raised) it is another."""
    return signing.dumps([course.reference, course.invitation], salt="classes.invitation")


def course_of_invitation(word: str) -> Course:
    """The private course that a link names; ``Course.DoesNotExist`` for a link that is none or no longer good."""
    try:
        reference, invitation = signing.loads(word, salt="classes.invitation")
    except (signing.BadSignature, ValueError, TypeError) as error:
        raise Course.DoesNotExist from error
    return courses().get(reference=reference, invitation=invitation, is_private=True)


def wishes_for(
    outline: Outline, spans: Sequence[Span], heads: int, heads_a_station: int | None = None, *, beside: int = 1
) -> list[GroupWish]:
    """What ``outline`` needs with so many people at each of ``spans``.

    ``beside``: who is in the house with them and needs no station: whoever teaches, and looks after them.  A room that
    is kept has nobody in it who would count.
    """
    needs = [
        (one.kind, one.process or (outline.process if one.kind else None), one.number) for one in outline.needs.all()
    ]
    return wishes_with(
        _with_processes(needs, outline),
        spans,
        stations=dates.stations_for(heads, heads_a_station or outline.heads_a_station),
        in_it=0 if outline.sort == GroupStay.Sort.ROOM else heads + beside,
        before=timedelta(minutes=outline.before_minutes),
        after=timedelta(minutes=outline.after_minutes),
    )


def wishes_with(
    needs: Sequence[Need], spans: Sequence[Span], *, stations: int, in_it: int, before: timedelta, after: timedelta
) -> list[GroupWish]:
    """One wish for each of ``spans``; a need without a number is for ``stations``.  ``in_it``: heads in the house."""
    needed = tuple(Needed(kind, process, stations if number is None else number) for kind, process, number in needs)
    return [GroupWish(span, in_it, needed, before, after) for span in spans]


def wishes_of(course: Course, spans: Sequence[Span]) -> list[GroupWish]:
    """What this course needs at each of ``spans``; ``[]`` for one without an outline, which keeps nothing."""
    if course.outline is None:
        return []
    hire = Hire.objects.filter(course=course).first()
    beside = 1 + (hire.supervisors if hire is not None else 0)
    return wishes_for(course.outline, spans, course.heads_most, course.heads_a_station, beside=beside)


def _with_processes(needs: list[Need], outline: Outline) -> list[Need]:
    """A kind none of whose stations does the outline's process is kept without it: a bay, a table to talk at."""
    if outline.process is None:
        return needs
    does = set(Station.objects.filter(processes=outline.process).values_list("kind", flat=True))
    return [(kind, process if not kind or kind in does else None, number) for kind, process, number in needs]


def paper_expected(course: Course, heads: int) -> int:
    """mm² that so many heads of this course are expected to put through."""
    if course.outline is None:
        return 0
    papers = [dates.PaperNeed(p.width_mm, p.height_mm, p.sheets_a_head) for p in course.outline.papers.all()]
    return dates.paper_area(papers, heads)
