"""How long a session lasts: staff are logged out after 30 minutes of nothing or 12 hours, members after 14 days.

Also the one thing that a request of a tablet keeps: the day on which it was last used.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from django.contrib import auth, messages
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _

from .. import actions, queries

#: The session's row is written at most this often for having been seen.
SEEN_STEP_S = 60


def _is_over(request: HttpRequest, now: datetime) -> bool:
    whole, idle = queries.idle_limits(request.user)
    began = datetime.fromtimestamp(request.session.get("began", now.timestamp()), UTC)
    seen = datetime.fromtimestamp(request.session.get("seen", now.timestamp()), UTC)
    return now - began >= whole or (idle is not None and now - seen >= idle)


def _note_seen(request: HttpRequest, now: datetime) -> None:
    """A page that refreshes itself does not count as somebody being there."""
    stamp = int(now.timestamp())
    request.session.setdefault("began", stamp)
    if stamp - request.session.get("seen", 0) >= SEEN_STEP_S and "poll" not in request.GET:
        request.session["seen"] = stamp


def limits(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware, below the ones that find the user, the messages and the tablet."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            now = timezone.now()
            if _is_over(request, now):
                auth.logout(request)
                messages.info(request, _("You were logged out, because your time was over. Log in to go on."))
            else:
                _note_seen(request, now)
        tablet = getattr(request, "tablet", None)
        if tablet is not None and request.method == "POST":
            today = timezone.localtime(timezone.now()).date()
            if tablet.last_used_on != today:
                actions.tablet_used(tablet=tablet, today=today)
        return get_response(request)

    return answer
