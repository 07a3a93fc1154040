"""Safety notes: read, acknowledged, written."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.people import rules as people
from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor

from . import actions, queries, rules
from .forms import ReadForm


def _processor(code: str) -> Processor:
    try:
        return queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing


@member_page
@require_safe
def safety_notes(request: HttpRequest) -> HttpResponse:
    notes = queries.notes_for(request.user)
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
