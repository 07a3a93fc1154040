"""What is on, for everybody; one class, with signing up for it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions, queries
from ..forms import SignUpForm
from ..models import Course, Place
from ..rules.places import ADULT, age_on
from ..words import LEVEL_WORDS
from .common import answered_once, facts_of, may_manage, runs_classes, seen_by
from .structured import event_json

#: The refusals of signing up that belong to a field.
FIELD_OF = {
    "classes.needs_adult": "adult_name",
    "classes.no_address": "email",
    "classes.full": "heads",
    "classes.never_so_many": "heads",
    "classes.is_a_group": "heads",
    "classes.no_heads": "heads",
}


@require_safe
def whats_on(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    rows = []
    for course in queries.public_ahead(now):
        facts = facts_of(course, request.user)
        rows.append({**facts, "level": LEVEL_WORDS.get(course.level, "")})
    return render(request, "classes/whats_on.html", {"rows": rows, "runs_classes": runs_classes(request.user)})


def _form(request: HttpRequest, course: Course) -> SignUpForm:
    member = request.user if request.user.is_authenticated else None
    day = timezone.localdate(queries.terms_of(course).starts)
    under_age = member is not None and member.born_on is not None and age_on(member.born_on, day) < ADULT
    return SignUpForm(request.POST if request.method == "POST" else None, member=member, under_age=under_age)


def _way(course: Course, word: str) -> str:
    """Where people sign up for it: its page, or the link that they were given."""
    return reverse("invited", args=[word]) if word else reverse("course", args=[course.reference])


def _page(request: HttpRequest, course: Course, form: SignUpForm, status: int = 200, word: str = "") -> HttpResponse:
    facts = facts_of(course, request.user)
    here = request.build_absolute_uri(_way(course, word))
    context: dict[str, Any] = {
        **facts,
        "form": form,
        "level": LEVEL_WORDS.get(course.level, ""),
        "here": here,
        "manages": may_manage(request.user, course),
        "word": word,
        "structured": "" if course.is_private else event_json(course, facts["stays"], here, facts["left"]),
        "open": not course.is_off and not course.drop_in and facts["terms"].starts > timezone.now(),
    }
    return render(request, "classes/course.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def course(request: HttpRequest, reference: str) -> HttpResponse:
    return _answered(request, seen_by(request.user, reference))


@require_http_methods(["GET", "HEAD", "POST"])
def invited(request: HttpRequest, word: str) -> HttpResponse:
    """A private course, for whoever has the link to it."""
    try:
        found = queries.course_of_invitation(word)
    except Course.DoesNotExist as missing:
        raise Http404 from missing
    return _answered(request, found, word)


def _answered(request: HttpRequest, course: Course, word: str = "") -> HttpResponse:
    form = _form(request, course)
    if request.method != "POST":
        return _page(request, course, form, word=word)
    if not form.is_valid():
        return _page(request, course, form, 422, word)
    member, now = (request.user if request.user.is_authenticated else None), timezone.now()

    def work() -> dict[str, Any]:
        return {"place": actions.sign_up(course=course, member=member, by=member, now=now, **form.values).pk}

    try:
        answer = answered_once(request, now, work)
    except Refused as refused:
        code = refused.refusal.code
        if not code.startswith("classes."):
            raise
        field = FIELD_OF.get(code)
        form.add_error(field if field in form.fields else None, str(say(refused.refusal)))
        return _page(request, course, form, 409 if code == "classes.full" else 422, word)
    place = Place.objects.get(pk=answer["place"])
    if place.member_id is not None:
        said = _("You are in line; we write as soon as there is a place.") if place.state == "waiting" else _("Yours.")
        messages.success(request, said)
        return redirect("place", pk=place.pk)
    # A guest's page is behind the link in the letter; what is shown here can only send it elsewhere.
    context = {"place": place, "course": course, "again": _way(course, word)}
    return render(request, "classes/look_in_your_mail.html", context)
