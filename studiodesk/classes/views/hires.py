"""Groups that hire the house or a part of it: the list, a new one, one of them, another number of people."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.queries import groups
from studiodesk.people.access import staff_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import CallOffForm, GroupForm, HireForm, MoveForm, QuoteForm
from ..models import Hire
from ..queries import hires as found
from ..rules.dates import supervisors_needed
from ..rules.hires import group_refusal, spans_of
from .common import answered_once, moved_spans
from .dates import asking_for, is_blocked, look_at_wishes
from .room import room_asked, room_chosen, room_context

#: The refusals that belong to a field.
FIELD_OF = {"classes.too_few_supervisors": "supervisors", "classes.hire_no_contact": "contact_email"}


@staff_page
@require_safe
def hires(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    context = {"coming": found.hires_ahead(now), "over": found.hires_before(now)}
    return render(request, "classes/hires.html", context)


def _said(form: Any, refused: Refused) -> int:
    """The refusal at the field that it is about, or above all of them; raised again if it is no answer to a form.

    Gives the status of the page that says so.
    """
    code = refused.refusal.code
    if not code.startswith(("classes.", "bookings.")) or code == "classes.staff_hire_out":
        raise refused
    field = FIELD_OF.get(code)
    form.add_error(field if field in form.fields else None, str(say(refused.refusal)))
    return int(refused.refusal.facts.get("status", 409))


def _asked(form: HireForm) -> found.AskedHire:
    """What the form asks for; raises ``Refused`` for times that cannot be, or a group that cannot come."""
    said, zone = form.cleaned_data, stations.zone()
    refusal = group_refusal(form.group)
    today = timezone.localtime(timezone.now(), zone).date()
    spans = spans_of(form.days(), said["begins"], said["ends"], form.nights, today, zone)
    for one in (refusal, spans):
        if isinstance(one, Refusal):
            raise Refused(one)
    needs = form.needs
    if not needs:
        raise Refused(Refusal("classes.nothing_to_keep", {"status": 422}))
    return found.AskedHire(
        group=form.group,
        spans=spans,
        needs=needs,
        title=said["title"],
        sort=said["sort"],
        process=said["process"],
        heads_a_station=said["heads_a_station"],
        before=timedelta(minutes=said["before"]),
        after=timedelta(minutes=said["after"]),
        papers=form.papers,
    )


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def hire_new(request: HttpRequest) -> HttpResponse:
    """GET with a day looks only; POST keeps everything for all dates, or nothing of it."""
    sent = request.POST if request.method == "POST" else request.GET if "first_day" in request.GET else None
    form, now = HireForm(sent), timezone.now()
    context: dict[str, Any] = {"form": form, "rows": [], "near": []}
    if sent is None or not form.is_valid():
        return render(request, "classes/hire_new.html", context, status=422 if form.is_bound else 200)
    wishes, status = None, 200
    try:
        asked = _asked(form)
        wishes = found.wishes_of_hire(asked)
        if request.method == "POST":
            room = room_chosen(request, wishes, now)

            def work() -> dict[str, Any]:
                return {"hire": actions.hire(asked=asked, now=now, by=request.user, room=room).course.reference}

            made = answered_once(request, now, work)
            messages.success(request, _("All of it is kept, and the contact is told."))
            return redirect("hire", reference=made["hire"])
    except Refused as refused:
        status = _said(form, refused)
    if wishes is not None:
        context["rows"] = look_at_wishes(wishes)
        if is_blocked(context["rows"]):
            context["near"] = [
                {"day": day, "query": _moved_to(day, form, sent)} for day in groups.nearest_days(wishes, now=now)
            ]
            context |= room_context(room_asked(request, wishes, now))
    context["fits"] = bool(context["rows"]) and not is_blocked(context["rows"]) and not form.errors
    context["asked"] = [(name, value) for name, value in sent.items() if name in form.fields]
    return render(request, "classes/hire_new.html", context, status=status)


def _moved_to(day: Any, form: HireForm, sent: Any) -> str:
    """The same question about another first day, and a last day as far from it."""
    asked = sent.copy()
    if form.cleaned_data["last_day"]:
        asked["last_day"] = (day + timedelta(days=form.nights)).isoformat()
    return asking_for(day, asked)


def _access(reference: str) -> Hire:
    try:
        return found.access_hire(reference)
    except Hire.DoesNotExist as missing:
        raise Http404 from missing


def _acts(request: HttpRequest, row: Hire, form: Any) -> dict[str, tuple[Callable[[], Any], str]]:
    """What each button does, and what is said afterwards."""
    who = {"now": timezone.now(), "by": request.user}

    def move() -> Any:
        said = form.cleaned_data
        spans = moved_spans(row.course, said["first_day"], said["begins"])
        return actions.move_course(course=row.course, spans=spans, **who)

    return {
        "quote": (
            lambda: actions.quote(hire=row, amount_minor=form.amount_minor, terms=form.cleaned_data["terms"], **who),
            _("The quote is written to the contact."),
        ),
        "agree": (lambda: actions.agree(hire=row, **who), _("Noted: they agree. They get it in writing.")),
        "forget": (lambda: actions.forget_contact(hire=row, **who), _("The contact is taken out.")),
        "move": (move, _("Moved, and the contact is told.")),
        "call_off": (
            lambda: actions.call_off_course(course=row.course, because=form.cleaned_data["because"], **who),
            _("Called off, and the contact is told."),
        ),
    }


def _page(request: HttpRequest, row: Hire, forms: dict[str, Any], status: int = 200) -> HttpResponse:
    course, now = row.course, timezone.now()
    ratio = row.heads_a_supervisor
    stays = [meeting.stay for meeting in queries.meetings_of(course)]
    context = {
        "hire": row,
        "course": course,
        "dates": [{"stay": stay, "kept": found.kept_for(stay)} for stay in stays],
        "needed": supervisors_needed(row.heads, ratio) if ratio else None,
        "forms": forms,
        "coming": not course.is_off and any(stay.ends > now for stay in stays),
        "area": queries.paper_expected(course, row.heads),
    }
    response = render(request, "classes/hire.html", context, status=status)
    response["Cache-Control"] = "private, no-store"
    return response


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def hire(request: HttpRequest, reference: str) -> HttpResponse:
    row, do = _access(reference), request.POST.get("do", "")
    sent = {name: request.POST if name == do else None for name in ("quote", "move", "call_off")}
    forms: dict[str, Any] = {
        "quote": QuoteForm(sent["quote"], studio=stations.studio(), hire=row),
        "move": MoveForm(sent["move"], today=studio_day(timezone.now(), stations.zone())),
        "call_off": CallOffForm(sent["call_off"]),
    }
    forms["call_off"].fields["because"].label = _("Why: the contact reads it")
    if request.method != "POST":
        return _page(request, row, forms)
    form = forms.get(do)
    if form is not None and not form.is_valid():
        return _page(request, row, forms, 422)
    act = _acts(request, row, form).get(do)
    if act is None:
        raise Http404
    try:
        answered_once(request, timezone.now(), lambda: {"did": bool(act[0]())})
    except Refused as refused:
        if form is None:
            raise
        return _page(request, row, forms, _said(form, refused))
    messages.success(request, act[1])
    return redirect("hire", reference=reference)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def hire_change(request: HttpRequest, reference: str) -> HttpResponse:
    """Other people, another number, other things: refused with what stands in the way, or kept."""
    row, now = _access(reference), timezone.now()
    stays = [meeting.stay for meeting in queries.meetings_of(row.course)]
    form = GroupForm(request.POST if request.method == "POST" else None, hire=row, process=stays[0].process)
    context: dict[str, Any] = {"form": form, "hire": row, "course": row.course, "rows": []}
    if not form.is_bound or not form.is_valid():
        return render(request, "classes/hire_change.html", context, status=422 if form.is_bound else 200)
    group, needs = form.group, form.needs

    def work() -> dict[str, Any]:
        return {"hire": actions.change_hire(hire=row, group=group, needs=needs, now=now, by=request.user).pk}

    try:
        answered_once(request, now, work)
    except Refused as refused:
        status = _said(form, refused)
        if refused.refusal.code == "bookings.no_room_for_group":
            coming = [stay for stay in stays if stay.starts > now]
            context["rows"] = look_at_wishes(found.wishes_if_changed(row, group, needs, coming), coming)
        return render(request, "classes/hire_change.html", context, status=status)
    messages.success(request, _("Kept, and the contact is told."))
    return redirect("hire", reference=reference)
