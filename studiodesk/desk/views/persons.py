"""The people who come here, for staff."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.classes import queries as classes
from studiodesk.people import actions as people_actions
from studiodesk.people import queries as people_queries
from studiodesk.people import rules as people_rules
from studiodesk.people.access import staff_page
from studiodesk.people.forms import RolesForm
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.words import say

from .. import actions, queries
from ..words import entry_words, left_words


@staff_page
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    words, former = request.GET.get("q", "")[:100].replace("\x00", ""), request.GET.get("left") == "1"
    listed = queries.people_listed(words, former=former)
    return render(request, "desk/people.html", {"people": listed, "q": words, "former": former})


def person_named(request: HttpRequest, number: str) -> Member:
    """The person whom whoever asks may see, or 404."""
    try:
        return people_queries.access_person(request.user, number)
    except Member.DoesNotExist as missing:
        raise Http404 from missing


@staff_page
@require_safe
def person(request: HttpRequest, number: str) -> HttpResponse:
    found = person_named(request, number)
    now = timezone.now()
    shown = queries.person_page(found, now, request.user)
    context = {
        "page": shown,
        "person": found,
        "standing": queries.standing_of(found, now, at_the_desk=True),
        "happened": [(entry, words) for entry in shown.entries if (words := entry_words(entry))],
    }
    return render(request, "desk/person.html", context)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def person_standing(request: HttpRequest, number: str) -> HttpResponse:
    """A page asks before somebody is marked as having left.  POST ``here`` 1 or 0, and ``cancel`` 1 with their
    bookings."""
    found, now = person_named(request, number), timezone.now()
    refusal = people_queries.may_set_standing(found, request.user)
    if refusal is not None:
        raise Refused(refusal)
    if request.method != "POST":
        coming = queries.can_be_cancelled(found, now)
        context = {
            "person": found,
            "coming": coming,
            "keys": people_queries.keys_with(found),
            "shifts": stations.shifts_to_come(found, now),
            "places": classes.places_to_come(found, now),
        }
        return render(request, "desk/person_leaves.html", context)
    if request.POST.get("here") == "1":
        people_actions.set_standing(person=found, is_active=True, now=now, by=request.user)
        messages.success(request, _("%(name)s is here again.") % {"name": found.name})
    else:
        cancel = request.POST.get("cancel") == "1"
        count = actions.let_go(person=found, cancel_bookings=cancel, now=now, by=request.user)
        messages.success(request, left_words(found.name, count))
    return redirect("person", number=found.number)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def person_roles(request: HttpRequest, number: str) -> HttpResponse:
    person = person_named(request, number)
    before = frozenset(role for role in people_rules.ROLES if getattr(person, f"is_{role}"))
    form = RolesForm(request.POST if request.method == "POST" else None, by=request.user, before=before)
    if request.method == "POST" and form.is_valid():
        try:
            shifts = actions.set_roles(person=person, roles=form.roles(), now=timezone.now(), by=request.user)
        except Refused as refused:
            form.add_error(None, str(say(refused.refusal)))
        else:
            messages.success(request, _("The roles of %(name)s are kept.") % {"name": person.name})
            if shifts:
                said = ngettext(
                    "%(count)d shift has nobody now: whoever may take it is told.",
                    "%(count)d shifts have nobody now: whoever may take them is told.",
                    shifts,
                )
                messages.warning(request, said % {"count": shifts})
            return redirect("person", number=person.number)
    status = 422 if request.method == "POST" else 200
    return render(request, "desk/person_roles.html", {"form": form, "person": person}, status=status)
