"""What announcing a class and hiring have in common: everything is kept and the course written, or neither."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from studiodesk.bookings.actions.groups import keep_group
from studiodesk.bookings.actions.making import new_reference
from studiodesk.bookings.actions.moving import make_room
from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.groups import GroupWish
from studiodesk.bookings.queries.hit import Option
from studiodesk.people.models import Member
from studiodesk.stations.models import Process

from ..models import Course, Meeting, Outline

#: Bookings with the move that was chosen for each; None: it is cancelled.
Room = Sequence[tuple[Booking, Option | None]]


def clear_the_way(room: Room, title: str, now: datetime, by: Member | None) -> None:
    """Move what stands in the way of ``title`` ("": it is nobody else's business), as chosen; the members are told.

    Refused as ``make_room`` is.
    """
    if by is None:
        return
    why = _("“%(title)s” takes place then.") % {"title": title} if title else _("A group has the house then.")
    for booking, option in sorted(room, key=lambda one: (one[0].starts, one[0].pk)):
        make_room(booking=booking, option=option, now=now, by=by, reason=why)


def make_course(
    *,
    outline: Outline,
    wishes: Sequence[GroupWish],
    title: str,
    process: Process | None,
    now: datetime,
    by: Member | None,
    tutor: Member | None = None,
    is_private: bool = False,
    room: Room = (),
    **says: Any,
) -> Course:
    """The course of ``outline`` with a meeting for each of ``wishes``; ``says``: columns that the outline has not.

    ``room``: members' bookings that move first, each as it was chosen.  Called inside an act.
    Refused: what ``keep_group`` and ``make_room`` are.
    """
    clear_the_way(room, "" if is_private else title.strip(), now, by)
    stays = keep_group(
        wishes=wishes,
        title=title,
        sort=outline.sort,
        now=now,
        by=by,
        process=process,
        led_by=tutor,
        shows_title=not is_private,
    )
    course = Course.objects.create(
        reference=new_reference(),
        outline=outline,
        title=title.strip()[:120],
        sort=outline.sort,
        summary=outline.summary,
        level=outline.level,
        bring=outline.bring,
        tutor=tutor,
        heads_a_station=outline.heads_a_station,
        minimum_age=outline.minimum_age,
        price_minor=outline.price_minor,
        member_price_minor=outline.member_price_minor,
        free_cancel_days=outline.free_cancel_days,
        is_private=is_private,
        made_at=now,
        made_by=by,
        **says,
    )
    Meeting.objects.bulk_create(Meeting(course=course, stay=stay) for stay in stays)
    return course
