"""What is on, for everybody; one class, with signing up for it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.people import actions as people
from studiodesk.people.access import address_of

from .. import actions, queries
from ..forms import SignUpForm
from ..models import Course, Place
from ..rules import places as rules
from ..rules.places import ADULT, age_on
from ..words import LEVEL_WORDS
from .common import answered_once, facts_of, may_manage, runs_classes, said_of, seen_by
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
    # Of whoever has told us their birthday the act itself knows how old they are.
    asks_age = course.minimum_age if member is None or member.born_on is None else None
    sent = request.POST if request.method == "POST" else None
    return SignUpForm(sent, member=member, under_age=under_age, minimum_age=asks_age)


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
        "structured": ""
        if course.is_private
        else event_json(course, facts["stays"], here, facts["left"], signs_up=facts["signs_up"]),
        "open": not course.is_off and facts["signs_up"] and facts["terms"].starts > timezone.now(),
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
        if member is None:  # a machine that fills forms costs everybody else their places
            address = address_of(request, behind_proxy=settings.HTTPS)
            people.ask_from_address(code="classes.guest_signs_up", address=address, now=now)
        left = rules.seats_left(queries.terms_of(course), queries.parties_of(course))
        place = actions.sign_up(course=course, member=member, by=member, now=now, **form.values)
        # Whose place was there before reads what a new one would: nobody finds out by an address who comes.
        in_line = place.state == "waiting" if place.made_at == now else form.cleaned_data["heads"] > left
        return {"place": place.pk, "in_line": in_line}

    try:
        answer = answered_once(request, now, work)
    except Refused as refused:
        code = refused.refusal.code
        if not code.startswith(("classes.", "people.wait")):
            raise
        field = FIELD_OF.get(code)
        form.add_error(field if field in form.fields else None, said_of(refused.refusal))
        return _page(request, course, form, {"classes.full": 409, "people.wait": 429}.get(code, 422), word)
    place = Place.objects.get(pk=answer["place"])
    if place.member_id is not None:
        said = _("You are in line; we write as soon as there is a place.") if place.state == "waiting" else _("Yours.")
        messages.success(request, said)
        return redirect("place", pk=place.pk)
    # A guest's page is behind the link in the letter; what is shown here can only send it elsewhere.
    context = {
        "place": place,
        "address": form.cleaned_data["email"],
        "in_line": answer["in_line"],
        "course": course,
        "again": _way(course, word),
    }
    return render(request, "classes/look_in_your_mail.html", context)
