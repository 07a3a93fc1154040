"""What the timer asks before it reckons."""

from __future__ import annotations

from datetime import date, datetime

from django.db.models import Min, Q

from studiodesk.bookings.models import Booking
from studiodesk.chemistry.models import Bath, Feed, Fill
from studiodesk.journal.models import Entry

from ..models import KeptForecast
from .telling import latest

#: What an import of history writes into the journal.
IMPORTED = ("bookings.history_recorded", "chemistry.past_sheets", "chemistry.past_entries")


#: What makes the classes ahead others than those that were reckoned with.
GROUPS = ("bookings.group_kept", "bookings.group_moved", "bookings.group_cancelled")


def changed_since(now: datetime) -> str:
    """What came about after the last forecast that wants another one; "" if nothing did.  Four queries.

    A bath was filled anew or described, or a history imported ("bath change"); a group was kept, moved or called off
    ("classes").  A file may tell of fillings still to come: the tank of ``now`` is the one that counts.
    """
    begun = Fill.objects.filter(Q(began_at=None) | Q(began_at__lte=now), Q(ended_at=None) | Q(ended_at__gt=now))
    since = dict(begun.values_list("bath", "began_at"))
    newest = latest()
    baths = Bath.objects.filter(settings__isnull=False).order_by().values_list("pk", flat=True).distinct()
    if any(pk not in newest or newest[pk].tank_since != since.get(pk) for pk in baths):
        return str(KeptForecast.Why.BATH_CHANGE)
    last = max((row.reckoned_at for row in newest.values()), default=None)
    if last is None:
        return ""
    told = Entry.objects.filter(recorded_at__gt=last, code__in=[*IMPORTED, *GROUPS]).order_by()
    codes = set(told.values_list("code", flat=True).distinct())
    if codes.intersection(IMPORTED):
        return str(KeptForecast.Why.BATH_CHANGE)
    return str(KeptForecast.Why.CLASSES) if codes else ""


def nights_since(day: date) -> set[date]:
    """The local days from ``day`` on of which a night's forecast is kept."""
    rows = KeptForecast.objects.filter(why=KeptForecast.Why.NIGHTLY, day__gte=day).order_by()
    return set(rows.values_list("day", flat=True).distinct())


def history_began() -> datetime | None:
    """The first sheets or the first stay that is recorded."""
    firsts = [
        Feed.objects.aggregate(first=Min("fed_at"))["first"],
        Booking.objects.aggregate(first=Min("starts"))["first"],
    ]
    return min((moment for moment in firsts if moment is not None), default=None)
