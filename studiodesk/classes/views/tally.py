"""Club nights and open evenings: nobody signs up, heads are counted as they come and go."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions, queries
from ..forms import TallyForm
from ..models import Meeting
from ..queries import evening
from .common import answered_once


def _sent(request: HttpRequest, form: TallyForm, came: int, inside: int) -> tuple[int, int] | None:
    """The two numbers after what was pressed: one more came, one left, or both as they are written."""
    do = request.POST.get("do", "")
    if do == "one":
        return came + 1, inside + 1
    if do == "off":
        return came, max(inside - 1, 0)
    if do == "all":
        return came, 0
    if do != "both":
        raise Http404
    return (form.cleaned_data["came"], form.cleaned_data["inside"]) if form.is_valid() else None


def tally(request: HttpRequest, meeting: Meeting) -> HttpResponse:
    """The two numbers of the evening; whoever may see the roster of a class may see this."""
    inside = evening.heads_in(meeting)
    do = request.POST.get("do", "") if request.method == "POST" else ""
    initial = {"came": meeting.tally, "inside": inside}
    form = TallyForm(request.POST if do == "both" else None, initial=initial)
    status = 200
    if do:
        wanted = _sent(request, form, meeting.tally, inside)
        status = 422
        if wanted is not None:

            def work() -> dict[str, Any]:
                asked = {"meeting": meeting, "now": timezone.now(), "by": request.user}
                return {"came": actions.set_tally(came=wanted[0], inside=wanted[1], **asked).tally}

            try:
                answered_once(request, timezone.now(), work)
            except Refused as refused:
                if refused.refusal.code not in {"classes.more_in_than_came", "classes.not_begun"}:
                    raise
                form = form if form.is_bound else TallyForm(initial)
                form.is_valid()
                form.add_error(None, str(say(refused.refusal)))
            else:
                messages.success(request, _("Kept."))
                return redirect(f"{reverse('roster', args=[meeting.course.reference])}?date={meeting.pk}")
    context = {
        "course": meeting.course,
        "meeting": meeting,
        "meetings": queries.meetings_of(meeting.course),
        "form": form,
        "inside": inside,
    }
    response = render(request, "classes/tally.html", context, status=status)
    response["Cache-Control"] = "private, no-store"
    return response
