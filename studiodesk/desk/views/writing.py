"""How the house writes: language, clock, inches or centimetres."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.people.access import manager_page
from studiodesk.stations import actions
from studiodesk.stations import queries as stations

from ..forms import WritingForm


@manager_page
@require_http_methods(["GET", "HEAD", "POST"])
def writing(request: HttpRequest) -> HttpResponse:
    studio = stations.studio()
    initial = {"language": studio.language, "clock": studio.clock, "units": studio.units}
    form = WritingForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        actions.set_writing(**form.cleaned_data, now=timezone.now(), by=request.user)
        messages.success(request, _("Kept: every page and letter is written so from now on."))
        return redirect("writing")
    status = 422 if request.method == "POST" else 200
    return render(request, "desk/writing.html", {"form": form, "house": studio}, status=status)
