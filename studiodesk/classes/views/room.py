"""Members' bookings that stand in the way of a class: each is offered a move first, and nothing is done in silence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.http import HttpRequest

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.models import Booking, GroupStay
from studiodesk.bookings.queries import hit
from studiodesk.bookings.queries.groups import GroupWish
from studiodesk.bookings.queries.making_room import moves_for_group, room_for
from studiodesk.stations import queries as stations

#: What the form sends for a booking that is to be cancelled, for nothing suits.
CANCEL = "cancel"
Room = list[tuple[Booking, hit.Option | None]]


def room_asked(
    request: HttpRequest, wishes: Sequence[GroupWish], now: datetime, own: Sequence[GroupStay] = ()
) -> list[hit.Hit] | None:
    """The bookings that would have to move, with where each could go; None if that does not make it fit.

    Nothing for a tutor who does not run the house: they ask staff.
    """
    if not request.user.may_run_the_house:
        return []
    found = room_for(wishes, now=now, leaving_out=own)
    return moves_for_group(found, wishes, stations.studio(), now, request.user, own) if found else found


def room_chosen(
    request: HttpRequest, wishes: Sequence[GroupWish], now: datetime, own: Sequence[GroupStay] = ()
) -> Room:
    """What the form chose for each booking in the way; nothing if it offered no moves.

    Raises ``Refused`` (``classes.choose_moves``) if one has no choice: it was left alone, or booked meanwhile.
    """
    if "room" not in request.POST or not request.user.may_run_the_house:
        return []
    out: Room = []
    for booking in room_for(wishes, now=now, leaving_out=own) or []:
        sent = request.POST.get(f"move-{booking.pk}", "")
        option = None if sent == CANCEL else hit.option_of(sent)
        if option is None and sent != CANCEL:
            raise Refused(Refusal("classes.choose_moves", {"name": booking.member.name}))
        out.append((booking, option))
    return out


def room_context(hits: list[hit.Hit] | None) -> dict[str, Any]:
    return {"room": hits or [], "no_room": hits is None}
