"""Staff make people and send them links."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions, queries
from ..access import staff_page
from ..forms import PersonForm
from ..models import Member


def _person(request: HttpRequest, number: str) -> Member:
    try:
        return queries.access_person(request.user, number)
    except Member.DoesNotExist as missing:
        raise Http404 from missing


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def person_new(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST or None, by=request.user, initial={"number": queries.next_number()})
    if request.method == "POST" and form.is_valid():
        now, data = timezone.now(), form.cleaned_data
        try:
            person = actions.make_person(
                number=data["number"],
                name=data["name"],
                email=data["email"],
                roles=form.roles(),
                joined_on=timezone.localtime(now).date(),
                now=now,
                by=request.user,
            )
        except Refused as refused:
            fields = {"people.email_taken": "email", "people.number_taken": "number"}
            form.add_error(fields.get(refused.refusal.code), str(say(refused.refusal)))
        else:
            messages.success(request, _("%(name)s is sent a link that sets a password.") % {"name": person.name})
            return redirect("person", number=person.number)
    status = 422 if request.method == "POST" else 200
    return render(request, "people/person_new.html", {"form": form}, status=status)


@staff_page
@require_POST
def person_invite(request: HttpRequest, number: str) -> HttpResponse:
    person = _person(request, number)
    actions.invite_person(person=person, now=timezone.now(), by=request.user)
    messages.success(request, _("%(name)s is sent a link that sets a password.") % {"name": person.name})
    return redirect("person", number=person.number)
