"""What the chemistry cost: by process over a stretch of days, and of one evening."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.bookings.models import Booking
from studiodesk.people.access import staff_page
from studiodesk.sizes import area_unit, mm2_per_unit
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import day_span, studio_day
from studiodesk.words import money_words

from .. import queries
from ..forms import TablesForm
from ..queries import cost as reads
from ..rules import cost as rules
from .common import studio_zone

DAYS = 28


def money(minor: int | None, studio: Studio) -> str:
    """ "12.40 EUR"; "–" for nothing known."""
    return "–" if minor is None else money_words(minor, studio.currency_digits, studio.currency)


def _whole(minor: Fraction | None) -> int | None:
    return None if minor is None else rules.rounded(minor)


@require_safe
@staff_page
def cost(request: HttpRequest) -> HttpResponse:
    """``?from=`` and ``until=``: days; the last four weeks to begin with."""
    now, zone, studio = timezone.now(), studio_zone(), stations.studio()
    today = studio_day(now, zone)
    form = TablesForm(request.GET or {"from": today - timedelta(days=DAYS - 1), "until": today})
    wrong = not form.is_valid()
    starts, ends = (None, None) if wrong else form.stretch(zone)
    starts = starts or day_span(today - timedelta(days=DAYS - 1), zone).starts
    ends = ends or day_span(today, zone).ends
    found = [] if wrong else reads.process_costs(starts, min(ends, now) if ends > now else ends)
    sizes = [] if wrong else reads.sizes_through(starts, ends)
    context = {
        "form": form,
        "wrong": form if wrong else None,
        "starts": starts,
        "last": ends - timedelta(seconds=1),
        "processes": [_process(one, sizes, studio) for one in found],
        "currency": studio.currency,
    }
    return render(request, "chemistry/cost.html", context, status=422 if wrong else 200)


def _process(one: rules.ProcessCost, sizes: list[Any], studio: Studio) -> dict[str, Any]:
    """The parts of a process in whole coins that sum to its total."""
    parts = rules.in_whole_coins(
        [part for bath in one.baths for part in (Fraction(bath.refills_minor), bath.replenisher_minor)]
    )
    return {
        "of": one,
        "total": money(sum(parts), studio),
        "per_area": money(_whole(one.minor_for(mm2_per_unit())), studio),
        "unit": area_unit(),
        "baths": [
            {
                "of": bath,
                "refills": money(parts[2 * number], studio),
                "replenisher": money(parts[2 * number + 1], studio),
            }
            for number, bath in enumerate(one.baths)
        ],
        "sizes": [
            {"size": size, "cost": money(_whole(one.minor_for(size.area_mm2)), studio)}
            for size in (sizes if one.area_mm2 else [])
        ],
    }


@require_safe
@staff_page
def cost_of_booking(request: HttpRequest, pk: int) -> HttpResponse:
    """What the chemistry of one evening cost, ready to be charged by whoever does."""
    try:
        booking = queries.access_any_booking(pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    studio = stations.studio()
    shares = reads.booking_shares(booking)
    parts = rules.in_whole_coins([part for one in shares for part in (one.replenisher_minor, one.refill_minor)])
    context = {
        "booking": booking,
        "logged": queries.logged_for(booking),
        "shares": [
            {
                "of": one,
                "replenisher": money(parts[2 * number], studio),
                "refill": money(parts[2 * number + 1], studio) if one.shares_refill else "–",
                "total": money(parts[2 * number] + parts[2 * number + 1], studio),
            }
            for number, one in enumerate(shares)
        ],
        "total": money(sum(parts), studio),
        "some_unshared": any(not one.shares_refill for one in shares),
    }
    return render(request, "chemistry/cost_of_booking.html", context)
