"""What a class asks of the baths, and what it put through them: one entry for all of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry import queries as chemistry_queries
from studiodesk.chemistry.models import Feed
from studiodesk.chemistry.views.common import answered_once, sent, studio_zone
from studiodesk.classes import queries as classes
from studiodesk.classes.models import Course, Meeting
from studiodesk.classes.queries import evening
from studiodesk.classes.views.common import may_manage
from studiodesk.people.access import member_page
from studiodesk.stations.models import Processor
from studiodesk.words import say

from .. import queries
from ..forms import GroupSheetsForm


def _meeting(request: HttpRequest, reference: str) -> Meeting:
    """The date that is asked for, else the one that is on or comes next; 404 for whoever neither teaches nor helps."""
    try:
        course = classes.access_course(reference)
    except Course.DoesNotExist as missing:
        raise Http404 from missing
    if not (may_manage(request.user, course) or request.user.may_run_the_house):
        raise Http404
    asked = request.GET.get("date", "")
    many = classes.meetings_of(course)
    found = next((one for one in many if str(one.pk) == asked), None) if asked else None
    found = found or (None if asked else evening.meeting_now(course, timezone.now()))
    if found is None:
        raise Http404
    return found


def _forms(request: HttpRequest, meeting: Meeting, now: datetime) -> list[dict[str, Any]]:
    """A form for each processor that the class may use; none before its preparation begins."""
    if now < meeting.stay.starts - timedelta(minutes=meeting.stay.before_minutes):
        return []
    here = queries.class_at_desk(meeting, {})
    heads = here.here or here.heads
    out = []
    for processor in queries.processors_of(meeting):
        sizes = chemistry_queries.sheets_for(processor)
        usual = queries.usual_sheets(meeting, sizes, heads)
        is_this = request.method == "POST" and request.POST.get("processor") == processor.code
        form = GroupSheetsForm(request.POST if is_this else None, sizes=sizes, usual=usual, prefix=processor.code)
        out.append({"processor": processor, "form": form})
    return out


def _log(meeting: Meeting, processor: Processor, form: GroupSheetsForm, by: Any) -> dict[str, Any]:
    """They went through while the class was on: what is written down later counts at its end."""
    now = timezone.now()
    made = chemistry.log_group_sheets(
        group=meeting.stay,
        processor=processor,
        sheets=form.sheets,
        kind=form.cleaned_data["kind"],
        fed_at=min(now, meeting.stay.ends),
        now=now,
        by=by,
    )
    count = sum(feed.sheets for feed in made)
    said = ngettext("Logged %(count)d sheet for the class.", "Logged %(count)d sheets for the class.", count)
    return {"words": said % {"count": count}}


def _undo(request: HttpRequest, meeting: Meeting) -> None:
    key = request.POST.get("undo", "")
    feed = next((one for one in chemistry_queries.logged_for_group(meeting.stay) if str(one.pk) == key), None)
    if feed is None:
        raise Http404
    try:
        chemistry.undo_sheets(feed=feed, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Taken back."))


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def class_paper(request: HttpRequest, reference: str) -> HttpResponse:
    """``?date=`` names one of its dates.  POST logs for one processor, or takes a row back (``undo``)."""
    now, zone = timezone.now(), studio_zone()
    meeting = _meeting(request, reference)
    here = f"{reverse('class_paper', args=[reference])}?date={meeting.pk}"
    if request.method == "POST" and "undo" in request.POST:
        _undo(request, meeting)
        return redirect(here)
    rows, status = _forms(request, meeting, now), 200
    for row in rows:
        form = row["form"]
        if not form.is_bound:
            continue
        status = 422
        if not form.is_valid():
            continue
        work = _work(meeting, row["processor"], form, request.user)
        try:
            answer = answered_once(request, sent(request), now, work)
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, answer["words"])
            return redirect(here)
    if request.method == "POST" and status == 200:
        messages.warning(request, _("Paper is logged here once the class has begun."))
        return redirect(here)
    lines = chemistry_queries.standings(now, zone=zone)
    asked = queries.asked_of(queries.ahead(lines, now, zone).baths.values(), queries.bath_changes_ahead(now))
    logged = chemistry_queries.logged_for_group(meeting.stay)
    context = {
        "course": meeting.course,
        "meeting": meeting,
        "meetings": classes.meetings_of(meeting.course),
        "at_desk": queries.class_at_desk(meeting, asked),
        "expected": classes.paper_expected(meeting.course, meeting.course.heads_most),
        "rows": rows,
        "logged": logged,
        "logged_mm2": _counted(logged),
        "is_over": meeting.stay.ends <= now,
    }
    return render(request, "desk/class_paper.html", context, status=status)


def _work(meeting: Meeting, processor: Processor, form: GroupSheetsForm, by: Any) -> Any:
    return lambda: _log(meeting, processor, form, by)


def _counted(feeds: list[Feed]) -> int:
    return sum(feed.sheet_area_mm2 * feed.sheets for feed in feeds if getattr(feed, "undone_by", None) is None)
