"""What the pages of classes share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import Http404, HttpRequest
from django.utils import timezone

from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import once
from studiodesk.people.views.sessions import whole_minute
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import MissingTime, Span, localise
from studiodesk.words import say

from .. import queries
from ..models import Course, Place
from ..rules import places as rules
from ..words import STATE_WORDS

DAY = timedelta(days=1)


def answered_once(
    request: HttpRequest, now: datetime, work: Callable[[], dict[str, Any]], body: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """Do ``work`` once however often this form is sent; the same answer comes back."""
    sent = {name: value for name, value in request.POST.items() if name not in {"csrfmiddlewaretoken", "key"}}
    who = f"member:{request.user.pk}" if request.user.is_authenticated else "guest"
    answer, _replayed = once(
        key=request.POST.get("key", ""),
        asker=who,
        body={"path": request.path, **(sent if body is None else body)},
        now=now,
        work=work,
    )
    return answer


def said_of(refusal: Refusal) -> str:
    """The sentence of a refusal; a wait ends at a full minute, for no sentence names seconds."""
    if refusal.code == "people.wait":
        refusal = Refusal(refusal.code, {**refusal.facts, "until": whole_minute(refusal.facts["until"])})
    return str(say(refusal))


def runs_classes(person: Any) -> bool:
    """Tutors and staff: they write outlines and plan dates."""
    return bool(person.is_authenticated and person.is_active and (person.is_staff or person.is_tutor))


def may_manage(person: Any, course: Course) -> bool:
    """Staff, and whoever teaches it."""
    return bool(person.is_authenticated and person.is_active and (person.is_staff or person.pk == course.tutor_id))


def seen_by(person: Any, reference: str) -> Course:
    """A course that this person may see: a public one, their own, one they teach; ``Http404`` otherwise."""
    try:
        course = queries.access_course(reference)
    except Course.DoesNotExist as missing:
        raise Http404 from missing
    is_open = not course.is_private and not hasattr(course, "hire")
    standing = course.places.exclude(state=Place.State.ENDED)
    mine = person.is_authenticated and standing.filter(member=person.pk).exists()
    if not (is_open or mine or may_manage(person, course)):
        raise Http404
    return course


def facts_of(course: Course, person: Any) -> dict[str, Any]:
    """What every page of a course shows: its dates, its seats, one's own place."""
    terms, standing = queries.terms_of(course), queries.standing_of(course)
    parties = [queries.party_of(place) for place in standing]
    own = next((place for place in standing if person.is_authenticated and place.member_id == person.pk), None)
    return {
        "course": course,
        "stays": [meeting.stay for meeting in queries.meetings_of(course)],
        "terms": terms,
        "left": max(rules.seats_left(terms, parties), 0),
        "waiting": sum(party.heads for party in rules.line(parties)),
        "own": own,
        "own_state": STATE_WORDS[own.state] if own is not None else "",
        "signs_up": rules.may_be_signed_up_for(terms),
    }


def moved_spans(course: Course, first_day: date, begins: time) -> list[Span]:
    """All dates to come, moved as far as the first of them is.

    A date of some hours keeps its length; one of a day and more its time of day at the end.  Raises ``Refused`` with
    ``classes.no_such_time`` where the clock jumps over ``begins``.
    """
    now, zone = timezone.now(), stations.zone()
    coming = [meeting.stay for meeting in queries.meetings_of(course) if meeting.stay.starts > now]
    if not coming:
        return []
    days = first_day - timezone.localtime(coming[0].starts, zone).date()
    out = []
    for stay in coming:
        was, until = (timezone.localtime(moment, zone) for moment in (stay.starts, stay.ends))
        naive = datetime.combine(was.date() + days, begins)
        try:
            starts, length = localise(naive, zone, strict=True), stay.ends - stay.starts
        except MissingTime as missing:
            raise Refused(Refusal("classes.no_such_time", {"day": naive.date()})) from missing
        if length < DAY:
            out.append(Span(starts, starts + length))
        else:
            out.append(Span(starts, localise(naive + (until.replace(tzinfo=None) - was.replace(tzinfo=None)), zone)))
    return out
