"""Whether somebody may come through the door now, decided under a lock so that no two take the last place."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from studiodesk.acts import locked
from studiodesk.answers import Refused, refuse
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio

from ..queries import door
from ..rules import door as rules
from .making import OVERRIDE_LENGTH


def studio_of_the_door() -> Studio:
    """The studio, locked: whoever comes in waits for whoever comes in before them.  Taken before any other lock."""
    return locked(Studio.objects.all()).first() or stations.studio()


def let_in(
    coming: Sequence[rules.Present],
    *,
    studio: Studio,
    now: datetime,
    by: Member | None,
    override: str = "",
    opens: bool = False,
) -> dict[str, Any]:
    """Raises ``Refused`` if there is no room, or if they would be too few; gives what the journal keeps.

    A keyholder or staff who signs somebody in is in the house: they count.  ``opens``: whoever opens the house is the
    first, so being alone is no bar to them.
    """
    inside = door.in_house(now, studio)
    full = rules.may_enter(inside.present, coming, studio.heads_at_once)
    at_the_desk = [rules.Present(by.pk)] if by is not None and by.may_run_the_house else []
    few = None if opens else rules.not_alone([*inside.present, *at_the_desk], coming, inside.least)
    broken = [one for one in (full, few) if one is not None]
    reason = override.strip()
    if not broken:
        return {}
    if not reason:
        raise Refused(broken[0])
    if by is None or not (by.is_staff if full else by.may_run_the_house):
        refuse("bookings.not_yours_to_override", status=403)
    return {"reason": reason[:OVERRIDE_LENGTH], "rules": [one.code for one in broken], "inside": inside.heads}
