"""Which letters somebody wants."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.journal import actions, queries, rules
from studiodesk.journal.words import ALWAYS_OF_THE_HOUSE_WORDS, ALWAYS_WORDS

from ..access import member_page
from ..forms import LettersForm


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def letters_wanted(request: HttpRequest) -> HttpResponse:
    """A tick a topic; what changes what somebody may count on comes always and is only listed."""
    person = request.user
    opens = person.is_tutor or person.may_run_the_house
    topics = rules.topics_for(opens_the_house=opens, runs_the_house=person.may_run_the_house)
    form = LettersForm(request.POST if request.method == "POST" else None, wants=queries.wants(person, topics))
    if request.method == "POST" and form.is_valid():
        actions.choose_letters(person=person, wanted=form.wanted(), now=timezone.now(), by=person)
        messages.success(request, _("Your choice is kept."))
        return redirect("letters_wanted")
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "always": ALWAYS_WORDS + (ALWAYS_OF_THE_HOUSE_WORDS if opens else [])}
    return render(request, "people/letters_wanted.html", context, status=status)
