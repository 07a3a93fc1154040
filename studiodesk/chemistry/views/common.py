"""What the chemistry pages share: the studio's day, and answering a form once."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import ngettext

from studiodesk.journal.actions import once
from studiodesk.sizes import run_words
from studiodesk.timekeeping import Span, day_span, studio_day


def studio_zone() -> ZoneInfo:
    """The zone that the middleware set for this request."""
    return ZoneInfo(timezone.get_current_timezone_name())


def today(now: datetime) -> Span:
    zone = studio_zone()
    return day_span(studio_day(now, zone), zone)


def asker(request: HttpRequest) -> dict[str, Any]:
    """Who acts, as the acts ask it: the tablet if one is enrolled, else the person."""
    tablet = getattr(request, "tablet", None)
    return {"tablet": tablet} if tablet is not None else {"by": request.user}


def asker_name(request: HttpRequest) -> str:
    tablet = getattr(request, "tablet", None)
    return f"tablet:{tablet.pk}" if tablet is not None else f"member:{request.user.pk}"


def answered_once(
    request: HttpRequest, body: Mapping[str, Any], now: datetime, work: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Do ``work`` once however often this form is sent; the same answer comes back."""
    answer, _replayed = once(
        key=request.POST.get("key", ""),
        asker=asker_name(request),
        body={"path": request.path, **body},
        now=now,
        work=work,
    )
    return answer


def exact(at: datetime, now: datetime) -> datetime:
    """A form knows minutes only: what was written as of this minute is of this moment, after what was done before."""
    return now if at == now.replace(second=0, microsecond=0) else at


def sent(request: HttpRequest) -> dict[str, Any]:
    """The fields of a form as they were sent, without its keys and without the doubts it answers."""
    return {name: value for name, value in request.POST.items() if name not in {"csrfmiddlewaretoken", "key", "sure"}}


def sheet_count(sheets: int, size: str, length_mm: int | None = None) -> str:
    """ "5 sheets of 20×25 cm / 8×10 in"; of a roll "2 pieces of 61 cm roll, each 1.5 m" """
    if length_mm is None:
        return ngettext("%(count)s sheet of %(size)s", "%(count)s sheets of %(size)s", sheets) % {
            "count": sheets,
            "size": size,
        }
    said = ngettext("%(count)s piece of %(size)s, %(m)s", "%(count)s pieces of %(size)s, each %(m)s", sheets)
    return said % {"count": sheets, "size": size, "m": run_words(length_mm)}


def code_for(name: str, taken: Container[str], *, longest: int) -> str:
    """A code that nothing has yet, made of the name."""
    stem = slugify(name, allow_unicode=True)[: longest - 4] or "x"
    code, number = stem, 1
    while code in taken:
        number += 1
        code = f"{stem}-{number}"
    return code
