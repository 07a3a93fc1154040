"""How much water a bath was topped up with, and after how many days."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day

from ..models import Bath, BathEntry
from ..rules import entering, evaporating
from . import reckoning

FILLS_UP = (entering.WATER, entering.REFILL)


def days_before(entry: BathEntry, zone: ZoneInfo) -> int:
    """Local days from the last topping-up or refill to this one; 1 if none is known."""
    earlier = reckoning.entries_known().filter(bath=entry.bath_id, event__in=FILLS_UP, at__lt=entry.at)
    last = earlier.exclude(pk=entry.pk).order_by("-at", "-pk").values_list("at", flat=True).first()
    return 1 if last is None else (studio_day(entry.at, zone) - studio_day(last, zone)).days


def toppings(bath: Bath, zone: ZoneInfo, last: int = 20) -> list[tuple[int, int]]:
    """(days, pL) of the last toppings-up with water of this bath, in time order."""
    rows = list(reckoning.entries_known().filter(bath=bath, event__in=FILLS_UP).order_by("at", "pk"))
    found = []
    for before, row in pairwise(rows):
        if row.event == entering.WATER:
            found.append(((studio_day(row.at, zone) - studio_day(before.at, zone)).days, row.amount_pl or 0))
    return found[-last:]


def usual_pl_per_day(bath: Bath, set_pl: int | None, zone: ZoneInfo) -> int | None:
    """What is set, else what the log says; None where neither does."""
    return set_pl or evaporating.learned(toppings(bath, zone))


def worked_today(bath: Bath, at: datetime, zone: ZoneInfo) -> bool:
    """Whether paper went through on the day of ``at`` before it, since the bath was topped up or filled last."""
    fed = reckoning.feeds_known().filter(processor=bath.processor_id, fed_at__lte=at, sheet_area_mm2__gt=0)
    last = fed.order_by("-fed_at").values_list("fed_at", flat=True).first()
    if last is None or studio_day(last, zone) != studio_day(at, zone):
        return False
    since = reckoning.entries_known().filter(bath=bath, event__in=FILLS_UP, at__gt=last, at__lte=at)
    return not since.exists()
