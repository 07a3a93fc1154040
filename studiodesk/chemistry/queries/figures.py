"""The figures of a bath through time, and how much paper goes through it."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import F, Min, Sum

from studiodesk.stations.models import Processor

from ..models import Bath, BathSetting, PumpCalibration
from ..rules.leading import Use
from . import reckoning

WEEKS = 4


def versions(bath: Bath) -> list[BathSetting]:
    """Every version of its figures, the latest first."""
    return list(BathSetting.objects.filter(bath=bath).select_related("entered_by").order_by("-in_force_from"))


def use_of(processor: Processor, now: datetime) -> Use:
    """The mean of the last four weeks (of as much of them as is known); test strips and rejects count like prints."""
    known = reckoning.feeds_known().filter(processor=processor, fed_at__lte=now)
    first = known.aggregate(first=Min("fed_at"))["first"]
    if first is None:
        return Use(0.0, 0)
    since = now - timedelta(weeks=WEEKS)
    area = known.filter(fed_at__gt=since).aggregate(area=Sum(F("sheets") * F("sheet_area_mm2")))["area"] or 0
    weeks = min((now - first) / timedelta(weeks=1), WEEKS)
    return Use(area / weeks if weeks > 0 else 0.0, (now - first).days)


def calibrations(bath: Bath) -> list[PumpCalibration]:
    """What its pump was measured to give, the latest first."""
    return list(PumpCalibration.objects.filter(bath=bath).select_related("recorded_by").order_by("-at", "-pk"))


def rate_at(bath: Bath, at: datetime) -> int:
    """µL/m² in force then; 0 without a rate."""
    return reckoning.history_of(bath, reckoning.histories([bath.pk])).at(at).rate_ul_per_m2 or 0


def is_tray_line(processor: Processor) -> bool:
    """Whether all of it can be poured back into bottles: nothing that a pump gives to, nothing that runs away."""
    rows = BathSetting.objects.filter(bath__processor=processor).order_by("bath", "in_force_from")
    latest = set(dict(rows.values_list("bath", "dosing")).values())
    return BathSetting.Dosing.BATCH in latest and latest <= {BathSetting.Dosing.BATCH, BathSetting.Dosing.HAND}
