"""Help where it is needed: what helps whom, a first evening, the steward's day, mixing, a bath change."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studiodesk.bookings.rules.keeping import EARLIEST_SIGN_IN
from studiodesk.bookings.words.outages import DANGER
from studiodesk.bookings.words.rule_sentences import sentences
from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.words.mixing import PRODUCT_UNITS, STATES, USES_SHORT
from studiodesk.people.access import house_page, member_page
from studiodesk.stations.models import Processor

from .. import queries
from .home import week_words

View = Callable[..., HttpResponse]

TITLES = {
    "first": _("Your first evening"),
    "day": _("The day, for whoever looks after the house"),
    "mixing": _("Mixing, from the bottle to the label"),
    "change": _("Bath change"),
}


def _with_studio(title: str) -> Callable[[View], View]:
    """A guide of a house that is not described yet says so, in place of half a guide."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if request.studio is None:
                return render(request, "desk/guides/nothing_yet.html", {"title": TITLES[title]})
            return view(request, *args, **kwargs)

        return guarded

    return decorate


@member_page
@require_safe
def help_page(request: HttpRequest) -> HttpResponse:
    """What helps, by who asks: everybody, tutors, whoever runs the house, staff, managers."""
    member = request.user
    context = {"is_new": not queries.been_here(member), "teaches": member.is_tutor or member.is_staff}
    return render(request, "desk/guides/help.html", context)


@member_page
@never_cache
@require_safe
@_with_studio("first")
def first_evening(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    guide = queries.first_evening(request.user, request.studio, now)
    context = {
        "guide": guide,
        "now": now,
        "week": week_words(guide.week),
        "rules": sentences(guide.rules.values),
        "earliest": EARLIEST_SIGN_IN,
        "danger": DANGER,
    }
    return render(request, "desk/guides/first_evening.html", context)


@house_page
@never_cache
@require_safe
@_with_studio("day")
def steward_day(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    day = queries.stewards_day(request.user, request.studio, now)
    context = {
        "day": day,
        "now": now,
        "danger": DANGER,
        "earliest": EARLIEST_SIGN_IN,
        "no_show": day.rules.limit("no_show_minutes"),
        "least_heads": day.rules.number("least_heads"),
        "overrun": day.rules.number("overrun_minutes"),
    }
    return render(request, "desk/guides/day.html", context)


def _states(lives: Any) -> list[tuple[Any, int]]:
    """How long a mix keeps in each state, in whole days."""
    return [(STATES[life.state], life.life_s // 86_400) for life in lives]


@house_page
@never_cache
@require_safe
@_with_studio("mixing")
def mixing_guide(request: HttpRequest) -> HttpResponse:
    found = queries.to_mix(timezone.now())
    rows = [
        {
            "to": one,
            "use": USES_SHORT[one.recipe.use],
            "parts": [
                (part, PRODUCT_UNITS[part.product.unit] if part.product else PRODUCT_UNITS["mL"])
                for part in one.recipe.parts.all()
            ],
            "lives": _states(one.recipe.lives.all()),
        }
        for one in found
    ]
    context = {"rows": rows, "notes": queries.notes_by_processor(), "last_read": queries.last_read(found)}
    return render(request, "desk/guides/mixing.html", context)


@house_page
@never_cache
@require_safe
@_with_studio("change")
def change_guides(request: HttpRequest) -> HttpResponse:
    """Every processor: how its baths stand and when there is time."""
    now = timezone.now()
    return render(request, "desk/guides/changes.html", {"changes": queries.to_change(request.studio, now), "now": now})


@house_page
@never_cache
@require_safe
@_with_studio("change")
def change_guide(request: HttpRequest, code: str) -> HttpResponse:
    """One processor, step by step."""
    now: datetime = timezone.now()
    try:
        processor = chemistry.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing
    guide = queries.change_guide(processor, request.studio, now, request.user)
    is_trays = chemistry.is_tray_line(processor)
    return render(request, "desk/guides/change.html", {"guide": guide, "now": now, "is_trays": is_trays})
