"""What chemistry cost in a stretch of time, and what one evening did."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from fractions import Fraction
from itertools import pairwise

from django.db.models import F, Sum

from studiodesk.bookings.models import Booking

from ..models import Bath, BathEntry, BathSetting, Feed, SheetSize
from ..rules import cost, entering
from ..rules.settings import PaperFigures
from . import reckoning
from .bottles import given_until
from .standings import baths


def _versions(of: list[int]) -> dict[int, list[BathSetting]]:
    """Bath id → its versions in time order, with the prices that the rules of a tank do not need."""
    found: dict[int, list[BathSetting]] = defaultdict(list)
    for row in BathSetting.objects.filter(bath__in=of).order_by("in_force_from"):
        found[row.bath_id].append(row)
    return found


def _at(versions: list[BathSetting], moment: datetime) -> BathSetting:
    """The version in force then; before the first one the first answers."""
    held = [row for row in versions if row.in_force_from <= moment]
    return held[-1] if held else versions[0]


def process_costs(starts: datetime, ends: datetime) -> list[cost.ProcessCost]:
    """What each process cost in ``[starts, ends)``, by its name; processes without a bath are left out."""
    listed = list(baths())
    versions = _versions([bath.pk for bath in listed])
    fed = reckoning.feeds_known().filter(fed_at__gte=starts, fed_at__lt=ends)
    areas = fed.values("processor__process").annotate(area=Sum(F("sheets") * F("sheet_area_mm2")))
    by_process = {row["processor__process"]: row["area"] or 0 for row in areas.order_by("processor__process")}
    found: dict[int, list[cost.BathCost]] = defaultdict(list)
    names: dict[int, str] = {}
    for bath in listed:
        if bath.pk in versions:
            process = bath.processor.process
            names[process.pk] = process.name
            found[process.pk].append(_bath_cost(bath, versions[bath.pk], starts, ends))
    return sorted(
        (cost.ProcessCost(names[pk], by_process.get(pk, 0), tuple(listed)) for pk, listed in found.items()),
        key=lambda one: one.name,
    )


def _bath_cost(bath: Bath, versions: list[BathSetting], starts: datetime, ends: datetime) -> cost.BathCost:
    """A rotated first bath is filled with what was the second: that costs nothing more."""
    refills = reckoning.entries_known().filter(bath=bath, event=entering.REFILL, at__gte=starts, at__lt=ends)
    fresh: list[BathEntry] = [row for row in refills if not row.rotation or row.age_from is None]
    prices = [_at(versions, row.at).refill_cost_minor for row in fresh]
    given, paid, unpriced = 0, Fraction(0), any(price is None for price in prices)
    edges = [starts, *(row.in_force_from for row in versions if starts < row.in_force_from < ends), ends]
    before = given_until(bath, starts)
    for since, until in pairwise(edges):
        after = given_until(bath, until)
        amount, before = after - before, after
        price = _at(versions, since).replenisher_minor_per_kl
        given += amount
        paid += cost.replenisher_cost(amount, price)
        unpriced |= amount > 0 and price is None
    return cost.BathCost(
        name=f"{bath.name}, {bath.processor.name}",
        refills=len(fresh),
        refills_minor=sum(price or 0 for price in prices),
        given_pl=given,
        replenisher_minor=paid,
        unpriced=unpriced,
    )


def sizes_through(starts: datetime, ends: datetime) -> list[SheetSize]:
    """The sheet sizes that went through in ``[starts, ends)``, the smallest first."""
    fed = reckoning.feeds_known().filter(fed_at__gte=starts, fed_at__lt=ends, sheet__sort=SheetSize.Sort.SHEET)
    return list(SheetSize.objects.filter(pk__in=fed.values("sheet")).order_by("width_mm", "length_mm"))


def booking_shares(booking: Booking) -> list[cost.Share]:
    """What the sheets logged for a booking asked of each bath of its processor."""
    if booking.processor_id is None:
        return []
    feeds = list(Feed.objects.filter(booking=booking, undoes=None, undone_by=None).select_related("paper"))
    listed = list(baths().filter(processor=booking.processor_id))
    versions, figures = _versions([bath.pk for bath in listed]), reckoning.histories([bath.pk for bath in listed])
    found = []
    for bath in listed:
        if bath.pk not in versions:
            continue
        sheets = []
        for feed in feeds:
            settings = figures[bath.pk].at(feed.fed_at)
            own: PaperFigures = settings.of_paper(feed.paper.code if feed.paper else "")
            rate = (own.rate_ul_per_m2 or 0) if settings.replenished else 0
            sheets.append((feed.sheet_area_mm2 * feed.sheets, rate, own.capacity_mm2_per_l))
        priced = _at(versions[bath.pk], feeds[-1].fed_at if feeds else booking.starts)
        found.append(
            cost.share_of_bath(
                bath.name,
                sheets,
                volume_pl=priced.volume_pl,
                minor_per_kl=priced.replenisher_minor_per_kl,
                refill_minor=priced.refill_cost_minor,
            )
        )
    return found
