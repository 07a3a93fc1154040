"""Writing a safety note: here, because what is said afterwards speaks of bookings."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from studiodesk.people.access import staff_page
from studiodesk.safety import actions, texts
from studiodesk.safety import queries as safety
from studiodesk.safety.forms import NoteForm
from studiodesk.stations.models import Processor

from .. import queries
from ..words import in_force_words


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def safety_note_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        processor = safety.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing
    note, now = safety.current_note(processor), timezone.now()
    title, body = (note.title, texts.without_news(note.body)) if note else texts.standard(processor)
    form = NoteForm(request.POST or None, initial={"title": title, "body": body})
    if request.method == "POST" and form.is_valid():
        made = actions.publish_note(processor=processor, now=now, by=request.user, **form.cleaned_data)
        if note is None or made.version != note.version:
            messages.success(request, in_force_words(queries.have_yet_to_read(made, now)))
        return redirect("safety_note", code=processor.code)
    status = 422 if request.method == "POST" else 200
    context = {"processor": processor, "note": note, "form": form}
    return render(request, "safety/safety_note_edit.html", context, status=status)
