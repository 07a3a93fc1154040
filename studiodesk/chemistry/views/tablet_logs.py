"""What an enrolled tablet's scripts ask and tell: the facts of today, a log, a log taken back.  All of it JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST, require_safe

from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import once
from studiodesk.words import say

from .. import actions, queries
from ..forms import OTHERS, TABLET_KINDS, booking_choice, booking_pk
from ..models import Feed
from ..rules.feeding import TABLET_UNDO
from ..rules.tablet_clock import fed_at, moment_of
from .common import asker_name, studio_zone, today

LONGEST_LOG = 4096
TEXTS, NUMBERS = ("processor", "sheet", "paper", "kind", "who"), ("sheets", "tapped", "sent")


def tablet_answer(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """For an enrolled tablet alone; a refusal is an object with its sentence and way on."""

    @wraps(view)
    @cache_control(no_store=True)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            if getattr(request, "tablet", None) is None:
                refuse("chemistry.tablet_out_of_use", status=401)
            return view(request, *args, **kwargs)
        except Refused as refused:
            return _refusal(refused.refusal)

    return guarded


def _refusal(refusal: Refusal) -> JsonResponse:
    said = say(refusal)
    body = {"code": said.code, "said": said.sentence, "way_on": said.way_on}
    return JsonResponse(body, status=int(refusal.facts.get("status", 409)))


@require_safe
@tablet_answer
def tablet_facts(request: HttpRequest) -> HttpResponse:
    """All that the shell draws its pages from, and the token that logs are sent with."""
    now, zone = timezone.now(), studio_zone()
    return JsonResponse(
        {
            "token": get_token(request),
            "now": _ms(now),
            "until": _ms(today(now).ends),
            "undo_ms": int(TABLET_UNDO.total_seconds() * 1000),
            "zone": str(zone),
            "half_days": getattr(request.studio, "clock", "") == "12",  # type: ignore[attr-defined]
            "kinds": TABLET_KINDS,
            "others": OTHERS,
            "processors": [_mouth(one) for one in queries.mouths(now, zone)],
        }
    )


def _mouth(one: queries.Mouth) -> dict[str, Any]:
    return {
        "code": one.processor.code,
        "name": one.processor.name,
        "sheet": [(size.code, size.label) for size in one.sizes],
        "paper": [(paper.code, paper.name) for paper in one.papers],
        "who": [(booking_choice(booking), booking.member.name, _where_and_when(booking)) for booking in one.bookings],
    }


def _where_and_when(booking: Any) -> str:
    return render_to_string("chemistry/_tablet_who.html", {"booking": booking}).strip()


def _ms(moment: datetime) -> int:
    return int(moment.timestamp() * 1000)


def _sent_log(request: HttpRequest) -> dict[str, Any]:
    """The log as the tablet wrote it down; refused if our own scripts cannot have written it."""
    try:
        if len(request.body) > LONGEST_LOG:
            raise ValueError
        body = json.loads(request.body)
        found = {name: body[name] for name in (*TEXTS, *NUMBERS)}
    except (ValueError, KeyError, TypeError, RecursionError):
        refuse("chemistry.tablet_unreadable", status=400)
    right = all(type(found[name]) is str and "\0" not in found[name] for name in TEXTS)
    right = right and all(type(found[name]) is int for name in NUMBERS)
    if not right or found["kind"] not in dict(TABLET_KINDS):
        refuse("chemistry.tablet_unreadable", status=400)
    if not found["who"].startswith("b") and found["who"] not in dict(OTHERS):
        refuse("chemistry.tablet_unreadable", status=400)
    return found


def _key(request: HttpRequest) -> tuple[str, UUID | None]:
    """The key as it was sent, with or without the quotes that the draft for that header asks for."""
    text = request.headers.get("Idempotency-Key", "").strip().strip('"')
    try:
        return text, UUID(text)
    except ValueError:
        return text, None


@require_POST
@tablet_answer
def tablet_logs(request: HttpRequest) -> HttpResponse:
    """One log, counted once however often it is sent."""
    now = timezone.now()
    text, key = _key(request)
    log = _sent_log(request)
    tapped_at, sent_at = moment_of(log["tapped"]), moment_of(log.pop("sent"))
    if tapped_at is None or sent_at is None or (text and key is None):
        refuse("chemistry.tablet_unreadable", status=400)
    at = fed_at(tapped_at, sent_at, now)
    answer, _replayed = once(
        key=str(key) if key else "",
        asker=asker_name(request),
        body={"path": request.path, **log},
        now=now,
        work=lambda: _log(request, key, log, at, now),
    )
    return JsonResponse(answer)


def _log(request: HttpRequest, key: Any, log: dict[str, Any], at: datetime, now: datetime) -> dict[str, Any]:
    try:
        processor = queries.access_processor(log["processor"])
        sheet = queries.access_size(log["sheet"])
        paper = queries.access_paper(log["paper"]) if log["paper"] else None
    except ObjectDoesNotExist:
        refuse("chemistry.no_longer_listed", status=422)
    if paper is None and queries.papers_for(processor):
        refuse("chemistry.paper_needed", status=422, processor=processor.name)
    pk = booking_pk(log["who"])
    booking = None
    if log["who"] not in dict(OTHERS):
        try:
            booking = queries.access_booking_of_day(processor, pk or 0, at, studio_zone())
        except ObjectDoesNotExist:
            refuse("chemistry.booking_of_another_day", status=422)
    feed = actions.log_from_tablet(
        key=key,
        processor=processor,
        sheet=sheet,
        sheets=log["sheets"],
        kind=log["kind"],
        who=Feed.Who.BOOKING if booking else log["who"],
        booking=booking,
        paper=paper,
        fed_at=at,
        now=now,
        tablet=request.tablet,  # type: ignore[attr-defined]
    )
    return {"key": str(key), "feed": feed.pk}


@require_POST
@tablet_answer
def tablet_log_undo(request: HttpRequest, key: UUID) -> HttpResponse:
    """Take a log back that this tablet sent; sent again after a lost answer it says that it is taken back."""
    tablet = request.tablet  # type: ignore[attr-defined]
    try:
        feed = queries.access_feed_by_key(key, tablet=tablet)
    except Feed.DoesNotExist:
        refuse("chemistry.log_unknown", status=404)
    try:
        actions.undo_sheets(feed=feed, now=timezone.now(), tablet=tablet)
    except Refused as refused:
        if refused.refusal.code != "chemistry.already_undone":
            raise
    return JsonResponse({"key": str(key), "feed": feed.pk})
