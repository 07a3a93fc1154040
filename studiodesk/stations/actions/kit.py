"""Describing kit: what a booking can take along, and how many pieces of it there are."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record

from .. import rules
from ..models import KitItem, Resource
from .describing import _changed, _resource, set_lanes


@act
def describe_kit(
    *,
    code: str,
    name: str,
    pieces: int,
    now: datetime,
    by: Any = None,
    sort: str = KitItem.Sort.OTHER,
    kinds: Sequence[str] = (),
    process_codes: Sequence[str] = (),
    from_end_minutes: int | None = None,
    outlasts_minutes: int = 0,
) -> tuple[KitItem, bool]:
    """An item with so many pieces; 0: none is lent out any more.  Answers the row and whether anything changed.

    The row that bookings lock is locked first, so that no piece can be booked while it is being taken away.
    ``by`` None is the house itself (a description that is loaded).  Refused: ``stations.staff_only``,
    ``stations.kit_out_of_range``, ``stations.piece_is_held``.
    """
    if by is not None and not (by.is_active and by.is_staff):
        refuse("stations.staff_only", status=403)
    refusal = rules.kit_refusal(pieces, from_end_minutes, outlasts_minutes)
    if refusal:
        raise Refused(refusal)
    values = {
        "name": name,
        "sort": sort,
        "pieces": pieces,
        "kinds": list(kinds),
        "process_codes": list(process_codes),
        "from_end_minutes": from_end_minutes,
        "outlasts_minutes": outlasts_minutes,
    }
    list(locked(Resource.objects.filter(pk__in=KitItem.objects.filter(code=code).values("resource_id"))))
    row = KitItem.objects.select_related("resource").filter(code=code).first()
    if row is None:
        row = KitItem.objects.create(code=code, resource=_resource(Resource.Sort.KIT, pieces), **values)
        _noted("stations.kit_added", row, now, by)
        return row, True
    if row.pieces != pieces:
        held = set_lanes(row.resource, pieces, now)
        refusal = rules.fewer_pieces(held, pieces, row.name)
        if refusal:
            raise Refused(refusal)
    changed = _changed(row, values)
    if changed:
        _noted("stations.kit_changed", row, now, by)
    return row, changed


def _noted(code: str, row: KitItem, now: datetime, by: Any) -> None:
    record(code=code, happened_at=now, now=now, by=by, about=row, facts={"pieces": row.pieces})
