"""Somebody's own telephone number, and whom to call for them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions
from ..access import member_page
from ..forms import ContactForm


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def contact(request: HttpRequest) -> HttpResponse:
    before = {name: getattr(request.user, name) for name in ContactForm.base_fields}
    form = ContactForm(request.POST if request.method == "POST" else None, initial=before)
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_person_facts(person=request.user, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as refused:
            form.add_error(refused.refusal.facts.get("field"), str(say(refused.refusal)))
        else:
            messages.success(request, _("Kept."))
            return redirect("you")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/contact.html", {"form": form}, status=status)
