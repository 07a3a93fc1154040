"""The other bookings, and groups, that whoever books has to do with: one query for all of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import (
    BigIntegerField,
    BooleanField,
    CharField,
    DateTimeField,
    ExpressionWrapper,
    F,
    IntegerField,
    Value,
)

from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Station
from studiodesk.timekeeping import Span

from ..models import Booking
from ..rules.own import OwnStay
from .groups_in import groups_touching
from .persons import STANDING, own_ones, own_stay
from .touching import touching

#: What is read of each booking, and of what it keeps of a room.
COLUMNS = ("pk", "member_id", "starts", "ends", "guests", "processor_id", *STANDING)
#: A group's row in the same columns: all its heads are one with so many guests, and nobody's own.
GROUP = "group"
OF_GROUPS = (
    "pk",
    Value(None, output_field=BigIntegerField()),
    "starts",
    "ends",
    ExpressionWrapper(F("heads") - 1, output_field=IntegerField()),
    Value(None, output_field=BigIntegerField()),
    "cancelled_at",
    Value(False, output_field=BooleanField()),
    Value(None, output_field=DateTimeField()),
    Value(None, output_field=DateTimeField()),
    Value(GROUP, output_field=CharField()),
)
KEPT = ("zone_holds__zone_id", "zone_holds__light", "zone_holds__starts", "zone_holds__ends")


@dataclass(frozen=True)
class Other:
    """Another booking of that day, or a group.  ``unlike_light``: when it keeps the station's room in another light."""

    span: Span
    processor_id: int | None
    arrived_at: datetime | None
    comes: bool
    guests: int
    unlike_light: tuple[Span, ...] = ()


def who_else(
    span: Span,
    member: Member,
    station: Station,
    process: Process | None,
    *,
    since: datetime | None,
    now: datetime,
    leaving_out: Booking | None,
) -> tuple[list[Other], list[OwnStay]]:
    """Who else is there, when the station's shared room is kept for another light, and the person's own bookings that
    the rules of the house look at, in no order.  ``since``: see ``own_since``.
    """
    # Columns and no rows: on a full day there are a hundred of them, and of each a third is asked.
    rows = Booking.objects.filter(touching(span) | own_ones(member, since)).order_by()
    if leaving_out is not None:
        rows = rows.exclude(pk=leaving_out.pk)
    zone = station.zone_id
    light = process.light if process is not None and zone is not None else None
    kept = () if light is None else KEPT
    others: dict[tuple[str, int], Other] = {}
    own: dict[int, OwnStay] = {}
    booked = rows.values_list(*COLUMNS, *kept, named=True)
    grouped = groups_touching(span).order_by().values_list(*OF_GROUPS, *kept, named=True)
    for row in booked.union(grouped, all=True):
        stay = Span(row.starts, row.ends)
        if since is not None and row.member_id == member.pk and stay.ends > since:
            own[row.pk] = own_stay(row, now)
        if row.cancelled_at is not None or not stay.overlaps(span):
            continue
        key = (GROUP if row.source == GROUP else "", row.pk)
        unlike = others[key].unlike_light if key in others else ()
        if light is not None and row.zone_holds__zone_id == zone and row.zone_holds__light != light:
            unlike = (*unlike, Span(row.zone_holds__starts, row.zone_holds__ends))
        others[key] = Other(stay, row.processor_id, row.arrived_at, row.released_at is None, row.guests, unlike)
    return list(others.values()), list(own.values())
