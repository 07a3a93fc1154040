"""The tablet at the dry end of a processor: what went through, tapped in with one finger."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.bookings import queries as house
from studiodesk.bookings.models import Booking
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.words import say

from .. import actions, queries
from ..forms import OTHERS, TABLET_KINDS, TabletForm, booking_choice, booking_pk
from ..models import Feed, PaperClass, SheetSize
from ..rules.feeding import MOST_SHEETS, TABLET_UNDO
from .common import answered_once, asker, sheet_count, studio_zone, today

LIGHTS = ("dim-red", "dim-amber", "plain")
LIGHT_COOKIE = "tablet_light"
A_YEAR_S = 365 * 24 * 3600
AT_HAND = 12  # so many of today's people stand on the page at once, the rest behind "More"


def tablet_page(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """For an enrolled tablet, or for somebody who runs the house."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if getattr(request, "tablet", None) is None:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path() if request.method == "GET" else "/")
            if not request.user.may_run_the_house:
                raise PermissionDenied
        return view(request, *args, **kwargs)

    return guarded


def light(request: HttpRequest) -> str:
    """The tablet's colours: asked for in the address, else kept in its cookie, else dim red."""
    asked = request.GET.get("look") or request.COOKIES.get(LIGHT_COOKIE, "")
    return asked if asked in LIGHTS else LIGHTS[0]


@require_safe
@tablet_page
def tablet(request: HttpRequest) -> HttpResponse:
    return render(request, "chemistry/tablet.html", {"processors": stations.processors(), "dim": light(request)})


@require_POST
@tablet_page
def tablet_look(request: HttpRequest) -> HttpResponse:
    """Keep the colours chosen on this tablet, and go back to where it was."""
    chosen, back = request.POST.get("look", ""), request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None) and back.startswith(reverse("tablet"))
    # What was tapped in so far comes along, so that another light costs nobody their entry.
    tapped = {
        name: request.POST[name] for name in ("sheet", "sheets", "paper", "kind", "who") if request.POST.get(name)
    }
    query = f"?{urlencode(tapped)}" if tapped else ""
    response = HttpResponseRedirect(f"{back}{query}" if safe else reverse("tablet"))
    if chosen in LIGHTS:
        response.set_cookie(
            LIGHT_COOKIE, chosen, max_age=A_YEAR_S, httponly=True, samesite="Lax", secure=request.is_secure()
        )
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@tablet_page
def tablet_processor(request: HttpRequest, code: str) -> HttpResponse:
    """The steppers and tiles of one processor; a POST logs, unless it only steps the count."""
    page = _page(request, _processor(code), timezone.now())
    if request.method != "POST":
        return _drawn(request, page, page.form(initial=_start(request.GET, page)))
    if "step_sheets" in request.POST:
        return _drawn(request, page, page.form(initial=request.POST.dict() | {"sheets": _stepped(request.POST)}))
    form = page.form(request.POST)
    if not form.is_valid():
        return _drawn(request, page, form, status=422)
    chosen = form.cleaned_data
    try:
        answered_once(request, {"code": code, **chosen}, page.now, lambda: _log(request, page, chosen))
    except Refused as refused:
        form.refuse(refused.refusal)
        return _drawn(request, page, form, status=refused.refusal.facts.get("status", 409))
    kept = QueryDict(mutable=True)
    kept["sheet"], kept["who"], kept["logged"] = chosen["sheet"], chosen["who"], "1"
    if chosen.get("paper"):
        kept["paper"] = chosen["paper"]
    return redirect(f"{reverse('tablet_processor', args=[code])}?{kept.urlencode()}")


@require_POST
@tablet_page
def tablet_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back the last log of this tablet."""
    try:
        feed = queries.access_feed(pk, tablet=getattr(request, "tablet", None))
    except Feed.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.undo_sheets(feed=feed, now=timezone.now(), **asker(request))
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Taken back: %(what)s.") % {"what": sheets_words(feed)})
    return redirect("tablet_processor", code=feed.processor.code)


def sheets_words(feed: Feed) -> str:
    return sheet_count(feed.sheets, feed.sheet.label, feed.length_mm)


def _processor(code: str) -> Processor:
    try:
        return queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing


@dataclass(frozen=True)
class _Page:
    """What a processor's page stands on: the sizes it takes, all of today's bookings, this tablet's last log."""

    processor: Processor
    sizes: list[SheetSize]
    papers: list[PaperClass]
    bookings: list[Booking]
    last: Feed | None
    now: datetime

    def form(self, *args: Any, **kwargs: Any) -> TabletForm:
        return TabletForm(*args, sizes=self.sizes, bookings=self.bookings, papers=self.papers, **kwargs)


def _page(request: HttpRequest, processor: Processor, now: datetime) -> _Page:
    return _Page(
        processor=processor,
        sizes=queries.sheets_for(processor),
        papers=queries.papers_for(processor),
        bookings=queries.who_today(processor, today(now), now),
        last=queries.last_log(processor, now - TABLET_UNDO, **asker(request)),
        now=now,
    )


def _start(asked: QueryDict, page: _Page) -> dict[str, Any]:
    """What is chosen to begin with: as before; else the only one who is here; never a guess among several."""
    here = [booking for booking in page.bookings if queries.is_in(booking, page.now)]
    return {
        "sheet": asked.get("sheet") or (page.last.sheet.code if page.last else ""),
        "sheets": _stepped(asked),
        "kind": asked.get("kind") or Feed.Kind.PRINT,
        "paper": asked.get("paper") or (page.last.paper.code if page.last and page.last.paper else ""),
        "who": asked.get("who") or (booking_choice(here[0]) if len(here) == 1 else ""),
    }


def _stepped(sent: QueryDict) -> int:
    """The count after one press of a stepper; whatever is no number begins again at 1."""
    try:
        count = int(sent.get("sheets", "1")) + int(sent.get("step_sheets", "0"))
    except ValueError:
        count = 1
    return min(MOST_SHEETS, max(1, count))


def _log(request: HttpRequest, page: _Page, chosen: dict[str, Any]) -> dict[str, Any]:
    pk = booking_pk(chosen["who"])
    feed = actions.log_sheets(
        processor=page.processor,
        sheet=next(size for size in page.sizes if size.code == chosen["sheet"]),
        sheets=chosen["sheets"],
        kind=chosen["kind"],
        paper=next((one for one in page.papers if one.code == chosen.get("paper")), None),
        who=Feed.Who.BOOKING if pk else chosen["who"],
        booking=queries.access_booking_here(page.processor, pk) if pk else None,
        fed_at=page.now,
        now=page.now,
        **asker(request),
    )
    return {"feed": feed.pk}


def _drawn(request: HttpRequest, page: _Page, form: TabletForm, *, status: int = 200) -> HttpResponse:
    """The page: every tile knows whether it is chosen, every booking how it stands."""
    value = {name: str(form[name].value() or "") for name in form.fields}
    bookings = [
        {"value": booking_choice(one), "booking": one, "chosen": booking_choice(one) == value["who"]}
        for one in page.bookings
    ]
    context = {
        "processor": page.processor,
        "form": form,
        "last": page.last,
        "last_words": sheets_words(page.last) if page.last else "",
        "dim": light(request),
        "sheets": value["sheets"] or "1",
        "most": MOST_SHEETS,
        "tiles": {
            "sheet": [(code, name, code == value["sheet"]) for code, name in form.fields["sheet"].choices],  # type: ignore[attr-defined]
            "paper": [(one.code, one.name, one.code == value.get("paper")) for one in page.papers],
            "kind": [(code, name, code == value["kind"]) for code, name in TABLET_KINDS],
            "who": [(code, name, code == value["who"]) for code, name in OTHERS],
        },
        "bookings": bookings[:AT_HAND],
        "more": bookings[AT_HAND:],
        "more_chosen": any(one["chosen"] for one in bookings[AT_HAND:]),
        "warnings": queries.warnings_for(page.processor, page.now, zone=studio_zone()),
        "outstay": house.makes_room(page.now, studio_zone(), page.bookings),
        "now": page.now,
    }
    return render(request, "chemistry/tablet_processor.html", context, status=status)
