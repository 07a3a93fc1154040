"""A class as whoever runs it sees it: who comes, who waits; moving it, deciding it, calling it off."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries import groups
from studiodesk.people.access import tutor_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import CallOffForm, MoveForm, TutorForm
from ..models import Course, Hire, Place
from ..words import THEIR_STATE_WORDS
from .common import answered_once, facts_of, may_manage, moved_spans
from .dates import look_at_wishes
from .room import room_asked, room_chosen, room_context

#: Then the page shows no form to say it in.
NO_FORM_IS_LEFT = frozenset({"classes.called_off", "classes.is_over", "classes.nothing_to_move"})


def _forms(request: HttpRequest, do: str) -> dict[str, Any]:
    sent = {do: request.POST}
    return {
        "move": MoveForm(sent.get("move"), today=studio_day(timezone.now(), stations.zone())),
        "tutor": TutorForm(sent.get("tutor")),
        "call_off": CallOffForm(sent.get("call_off")),
    }


def _acts(request: HttpRequest, course: Course, form: Any) -> dict[str, tuple[Callable[[], Any], str]]:
    """What each button does, and what is said afterwards."""
    asked = {"course": course, "now": timezone.now(), "by": request.user}

    def move() -> Any:
        wishes = _wished(course, form)
        room = room_chosen(request, wishes, asked["now"], _coming(course))
        return actions.move_course(spans=[wish.span for wish in wishes], room=room, **asked)

    return {
        "go": (lambda: actions.decide(goes=True, **asked), _("It takes place, and everybody is told.")),
        "invitation": (lambda: actions.make_invitation(**asked), _("A new link is made; the one before is worthless.")),
        "move": (move, _("Moved, and everybody is told.")),
        "tutor": (lambda: actions.set_tutor(tutor=form.cleaned_data["tutor"], **asked), _("Kept, and both are told.")),
        "call_off": (
            lambda: actions.call_off_course(because=form.cleaned_data["because"], **asked),
            _("Called off, and everybody is told."),
        ),
    }


def _blocked(request: HttpRequest, course: Course, form: MoveForm) -> dict[str, Any]:
    """Why it cannot be moved there, the nearest days that fit, and members' bookings that could move out of its way."""
    now = timezone.now()
    wishes, own = _wished(course, form), _coming(course)
    return {
        "looked": look_at_wishes(wishes, own),
        "near": groups.nearest_days(wishes, now=now, leaving_out=own),
        "asked": [("do", "move"), *((name, form.data.get(name, "")) for name in form.fields)],
        **room_context(room_asked(request, wishes, now, own)),
    }


def _coming(course: Course) -> list[GroupStay]:
    now = timezone.now()
    return [meeting.stay for meeting in queries.meetings_of(course) if meeting.stay.starts > now]


def _wished(course: Course, form: MoveForm) -> list[groups.GroupWish]:
    said = form.cleaned_data
    return queries.wishes_of(course, sorted(moved_spans(course, said["first_day"], said["begins"])))


def _line(place: Place) -> dict[str, Any]:
    """One sign-up with how to reach whoever it is; of a class that was called off nobody gave anything back."""
    was_called_off = place.ended_because == "called off"
    return {
        "place": place,
        "address": place.member.email if place.member is not None else place.email,
        "state": _("Called off") if was_called_off else THEIR_STATE_WORDS[place.state],
    }


def _places(course: Course) -> list[Place]:
    """Who comes or waits; of a class that was called off, whoever was down for it until then."""
    rows = queries.places_of(course)
    if course.is_off:
        return [one for one in rows if one.ended_because == "called off"]
    return [one for one in rows if one.state != Place.State.ENDED]


def _page(request: HttpRequest, course: Course, forms: dict[str, Any], status: int = 200, **more: Any) -> HttpResponse:
    facts = facts_of(course, request.user)
    stays = facts["stays"]
    context = {
        **facts,
        **more,
        "forms": forms,
        "places": [_line(one) for one in _places(course)],
        "invitation": request.build_absolute_uri(reverse("invited", args=[queries.invitation_of(course)]))
        if course.is_private
        else "",
        "coming": bool(stays) and stays[-1].ends > timezone.now() and not course.is_off,
        "hire": Hire.objects.filter(course=course).first(),
        "area": queries.paper_expected(course, course.heads_most),
    }
    return render(request, "classes/plan.html", context, status=status)


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def plan(request: HttpRequest, reference: str) -> HttpResponse:
    try:
        course = queries.access_course(reference)
    except Course.DoesNotExist as missing:
        raise Http404 from missing
    if not may_manage(request.user, course):
        raise Http404
    do = request.POST.get("do", "")
    forms = _forms(request, do)
    if request.method != "POST":
        return _page(request, course, forms)
    form = forms.get(do)
    if form is not None and not form.is_valid():
        return _page(request, course, forms, 422)
    act = _acts(request, course, form).get(do)
    if act is None:
        raise Http404
    try:
        answered_once(request, timezone.now(), lambda: {"did": bool(act[0]())})
    except Refused as refused:
        code = refused.refusal.code
        if form is None or code in NO_FORM_IS_LEFT or not code.startswith(("classes.", "bookings.")):
            raise
        form.add_error(None, str(say(refused.refusal)))
        more = _blocked(request, course, form) if code in {"bookings.no_room_for_group", "classes.choose_moves"} else {}
        return _page(request, course, forms, 409, **more)
    messages.success(request, act[1])
    return redirect("course_plan", reference=course.reference)
