"""Safety notes: read and acknowledged; sign-offs: given, taken back, and what needs one."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.people import rules as people
from studiodesk.people.access import manager_page, member_page, tutor_page
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.words import say

from . import actions, queries, rules
from .forms import FIELD_OF, NeedForm, ReadForm, SignOffForm
from .models import SignOff, SignOffNeed


def _processor(code: str) -> Processor:
    try:
        return queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing


@member_page
@require_safe
def safety_notes(request: HttpRequest) -> HttpResponse:
    notes = sorted(queries.notes_for(request.user), key=lambda note: note.is_read)  # what is still to read, first
    without = [one for one in stations.processors() if one.pk not in {note.processor_id for note in notes}]
    return render(request, "safety/safety_notes.html", {"notes": notes, "without": without})


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def safety_note(request: HttpRequest, code: str) -> HttpResponse:
    processor = _processor(code)
    note = queries.current_note(processor)
    way = request.POST.get("next") or request.GET.get("next") or ""
    way = way if people.is_local_path(way) else ""
    if request.method == "POST":
        form = ReadForm(request.POST)
        if note is None or not form.is_valid():
            return HttpResponseBadRequest()
        if form.cleaned_data["version"] != note.version:
            raise Refused(Refusal("safety.newer_note", {"name": processor.name}))
        actions.acknowledge(note=note, member=request.user, now=timezone.now())
        messages.success(request, _("Kept: you have read “%(title)s”.") % {"title": note.title})
        return redirect(way or "safety_notes")
    read = queries.acknowledged_at(note, request.user) if note else None
    blocks = rules.blocks(note.body) if note else []
    context = {"processor": processor, "note": note, "blocks": blocks, "read": read, "next": way}
    return render(request, "safety/safety_note.html", context)


def _choices() -> dict[str, Any]:
    return {"kinds": stations.kinds(), "processes": list(stations.processes())}


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def sign_offs(request: HttpRequest) -> HttpResponse:
    """``?who=`` is the number of whoever is to be signed off."""
    now = timezone.now()
    initial = {"who": request.GET.get("who", "")[:30].replace("\x00", "")}
    form = SignOffForm(request.POST or None, initial=initial, **_choices())
    if request.method == "POST" and form.is_valid():
        member = form.cleaned_data["who"]
        try:
            made = actions.give_sign_off(member=member, **form.of(), now=now, by=request.user)
        except Refused as refused:
            form.add_error(FIELD_OF.get(refused.refusal.code), str(say(refused.refusal)))
        else:
            said = _("%(name)s is signed off for %(what)s.") % {"name": member.name, "what": queries.what_of(made)}
            messages.success(request, said)
            return redirect("sign_offs")
    context = {"form": form, "needs": queries.needs(now), "latest": queries.latest_sign_offs(), "now": now}
    status = 422 if request.method == "POST" else 200
    return render(request, "safety/sign_offs.html", context, status=status)


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def sign_off_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """A page asks before a sign-off is taken back: somebody may have booked by it."""
    try:
        found = queries.access_sign_off(request.user, pk)
    except SignOff.DoesNotExist as missing:
        raise Http404 from missing
    what = queries.what_of(found)
    if request.method != "POST":
        return render(request, "safety/sign_off_revoke.html", {"sign_off": found, "what": what})
    actions.revoke_sign_off(sign_off=found, now=timezone.now(), by=request.user)
    messages.success(
        request, _("%(name)s is no longer signed off for %(what)s.") % {"name": found.member, "what": what}
    )
    return redirect("sign_offs")


@manager_page
@require_http_methods(["GET", "HEAD", "POST"])
def sign_off_needs(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    form = NeedForm(request.POST or None, **_choices())
    if request.method == "POST" and form.is_valid():
        try:
            need, _new = actions.set_sign_off_need(
                **form.of(), lasts_days=form.cleaned_data["lasts_days"], now=now, by=request.user
            )
        except Refused as refused:
            form.add_error(FIELD_OF.get(refused.refusal.code), str(say(refused.refusal)))
        else:
            messages.success(request, _("%(what)s needs a sign-off.") % {"what": queries.what_of(need)})
            return redirect("sign_off_needs")
    context = {"form": form, "needs": queries.needs(now)}
    status = 422 if request.method == "POST" else 200
    return render(request, "safety/sign_off_needs.html", context, status=status)


@manager_page
@require_POST
def sign_off_need_end(request: HttpRequest, pk: int) -> HttpResponse:
    """What is not needed any more is not found any more: then there is nothing left to do."""
    try:
        need = queries.access_need(pk)
    except SignOffNeed.DoesNotExist:
        return redirect("sign_off_needs")
    actions.end_sign_off_need(need=need, now=timezone.now(), by=request.user)
    messages.success(request, _("%(what)s can be booked without a sign-off.") % {"what": queries.what_of(need)})
    return redirect("sign_off_needs")
