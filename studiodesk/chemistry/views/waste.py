"""Waste: what stands where, who takes it, and where the silver is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import house_page, staff_page
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import ConnectForm, PermitForm, PickUpForm, PourForm, StreamForm, WasteContainerForm, WasteLevelForm
from ..models import Container, ContainerEntry, WasteStream
from ..queries import waste as reads
from ..rules import doubting
from .common import answered_once, code_for, exact, sent, studio_zone

KEEP = timedelta(days=3 * 365)
#: the word in the address → form, act, what is said
DEEDS: dict[str, tuple[Any, Callable[..., Any], Any]] = {
    "connect": (ConnectForm, actions.connect_container, gettext_lazy("It is connected.")),
    "pour": (PourForm, actions.pour_into_container, gettext_lazy("Written down.")),
    "level": (WasteLevelForm, actions.measure_container, gettext_lazy("The level is written down.")),
}


@require_safe
@house_page
def waste(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    context = {
        "stood": reads.stood(now),
        "streams": reads.streams(),
        "permits": reads.permits(),
        "pick_ups": reads.pick_ups(),
        "balance": reads.balance(now).grams(),
        "today": studio_day(now, studio_zone()),
        "now": now,
    }
    return render(request, "chemistry/waste.html", context)


def _form_page(request: HttpRequest, form: Any, title: Any, button: Any, status: int) -> HttpResponse:
    context = {"form": form, "title": title, "button": button}
    return render(request, "chemistry/waste_form.html", context, status=status)


def _kept(request: HttpRequest, form: Any, title: Any, button: Any, work: Callable[[], Any], said: Any) -> HttpResponse:
    """A form of its own page: shown, or carried out once and back to the waste."""
    if request.method != "POST":
        return _form_page(request, form, title, button, 200)
    if form.is_valid():
        now = timezone.now()
        try:
            answered_once(request, sent(request), now, lambda: {"kept": work().pk})
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, said)
            return redirect("waste")
    return _form_page(request, form, title, button, 422)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def stream_new(request: HttpRequest) -> HttpResponse:
    return _stream(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def stream_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        return _stream(request, reads.access_stream(code))
    except WasteStream.DoesNotExist as missing:
        raise Http404 from missing


def _stream(request: HttpRequest, row: WasteStream | None) -> HttpResponse:
    baths = list(queries.baths())
    initial: dict[str, Any] = {}
    if row is not None:
        given = [str(pk) for pk in row.baths.values_list("pk", flat=True)]
        initial = {"name": row.name, "bears_silver": row.bears_silver, "conditions": row.conditions, "baths": given}
    form = StreamForm(request.POST or None, baths=baths, initial=initial)

    def work() -> Any:
        taken = set(WasteStream.objects.values_list("code", flat=True))
        code = row.code if row is not None else code_for(form.cleaned_data["name"], taken, longest=30)
        return actions.keep_stream(code=code, now=timezone.now(), by=request.user, **form.values())

    return _kept(request, form, row.name if row else _("A stream of waste"), _("Keep the stream"), work, _("Kept."))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def permit_new(request: HttpRequest) -> HttpResponse:
    form = PermitForm(request.POST or None)

    def work() -> Any:
        return actions.keep_permit(now=timezone.now(), by=request.user, **form.cleaned_data)

    return _kept(request, form, _("A permit or agreement"), _("Keep the permit"), work, _("Kept."))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def waste_container_new(request: HttpRequest) -> HttpResponse:
    form = WasteContainerForm(request.POST or None, streams=reads.streams())

    def work() -> Any:
        return actions.keep_waste_container(now=timezone.now(), by=request.user, **form.values())

    return _kept(request, form, _("A container for waste"), _("Keep the container"), work, _("Kept."))


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def pick_up_new(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    listed = [one for one in reads.containers() if one.in_use]
    initial = {"at": now, "keep_until": studio_day(now, studio_zone()) + KEEP}
    form = PickUpForm(request.POST or None, containers=listed, initial=initial)

    def work() -> Any:
        values = form.values()
        return actions.pick_up(**values | {"at": exact(values["at"], now)}, now=now, by=request.user)

    return _kept(request, form, _("Waste taken away"), _("Write down the pick-up"), work, _("Written down."))


def _container(code: str) -> Container:
    try:
        return reads.access_container(code)
    except Container.DoesNotExist as missing:
        raise Http404 from missing


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def waste_container(request: HttpRequest, code: str) -> HttpResponse:
    """POST ``deed``: one of ``DEEDS``."""
    row, now = _container(code), timezone.now()
    deed = request.POST.get("deed", "")
    forms = {name: _blank(name, now, row) for name in DEEDS}
    status = 200
    if request.method == "POST" and deed in DEEDS:
        kind, act, said = DEEDS[deed]
        form = kind(request.POST, prefix=deed, **({"streams": reads.streams()} if kind is PourForm else {}))
        if form.is_valid():
            try:
                answered_once(
                    request,
                    sent(request),
                    now,
                    lambda: {"entry": act(container=row, now=now, by=request.user, **_values(form, row, now)).pk},
                )
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, said)
                return redirect("waste_container", code=code)
        forms[deed], status = form, 422
    return _container_page(request, row, forms, forms.get(deed) if status == 422 else None, now, status)


def _values(form: Any, row: Container, now: datetime) -> dict[str, Any]:
    """A container is connected at the beginning of its minute: a bath change of the same minute runs into it."""
    values: dict[str, Any] = form.values()
    form.ask_again_about(values["at"], now)
    if isinstance(form, PourForm):
        form.ask_again(doubting.doubt_unit(values["amount_pl"], None, row.capacity_pl))
    return values if isinstance(form, ConnectForm) else values | {"at": exact(values["at"], now)}


def _blank(name: str, now: datetime, row: Container) -> Any:
    kind = DEEDS[name][0]
    if kind is PourForm:
        what = row.stream.code if row.stream else ""
        return kind(prefix=name, streams=reads.streams(), initial={"at": now, "what": what})
    return kind(prefix=name, initial={"at": now})


def _container_page(
    request: HttpRequest, row: Container, forms: dict[str, Any], wrong: Any, now: datetime, status: int
) -> HttpResponse:
    [stands] = reads.stood(now, of=[row])
    zone = studio_zone()
    today = studio_day(now, zone)
    entries = [
        {"row": one, "may_undo": one.pick_up_id is None and studio_day(one.recorded_at, zone) == today}
        for one in reversed(stands.entries)
    ]
    context = {"container": row, "stands": stands, "forms": forms, "wrong": wrong, "entries": entries, "now": now}
    return render(request, "chemistry/waste_container.html", context, status=status)


@require_POST
@house_page
def container_entry_undo(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    row = _container(code)
    try:
        entry = ContainerEntry.objects.select_related("container").get(container=row, pk=pk)
    except ContainerEntry.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.take_back_container_entry(entry=entry, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("The entry was taken back."))
    return redirect("waste_container", code=code)
