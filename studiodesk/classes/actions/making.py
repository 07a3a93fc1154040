"""What announcing a class and hiring have in common: everything is kept and the course written, or neither."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from studiodesk.bookings.actions.groups import keep_group
from studiodesk.bookings.actions.making import new_reference
from studiodesk.bookings.queries.groups import GroupWish
from studiodesk.people.models import Member
from studiodesk.stations.models import Process

from ..models import Course, Meeting, Outline


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
    **says: Any,
) -> Course:
    """The course of ``outline`` with a meeting for each of ``wishes``; ``says``: columns that the outline has not.

    Called inside an act.  Refused: what ``keep_group`` is.
    """
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
