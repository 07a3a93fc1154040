"""A class while it is on: its stations, who has a seat, who came, what only the tutor reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from studiodesk.bookings.queries.groups_in import stations_kept
from studiodesk.people.models import Member
from studiodesk.safety import queries as safety
from studiodesk.stations.models import Station

from ..models import Attendance, Course, Meeting, PrivateNeed, Seat
from ..words import head_words
from .courses import meetings_of


@dataclass(frozen=True)
class Head:
    """One line of the roster.  ``need`` is "" for everybody but whoever teaches."""

    seat: Seat
    name: str
    came_at: datetime | None
    station: Station | None
    can_be_signed_off: bool
    need: str = ""
    left_at: datetime | None = None
    is_signed_off: bool = False

    @property
    def is_here(self) -> bool:
        return self.came_at is not None and self.left_at is None


def stations_of(meeting: Meeting) -> list[Station]:
    """The stations that are kept for this date, in the house's order."""
    return list(stations_kept(meeting.stay_id))


def meeting_now(course: Course, now: datetime) -> Meeting | None:
    """The date that is on or comes next; the last one if all are over."""
    many = meetings_of(course)
    return next((one for one in many if one.stay.ends > now), many[-1] if many else None)


def roster(meeting: Meeting, reader: Member) -> list[Head]:
    """Everybody who has a seat, in seat order, as this person may read it."""
    seats = Seat.objects.filter(course=meeting.course_id, place__state="booked").select_related("place__member")
    there = {row.seat_id: row for row in Attendance.objects.filter(meeting=meeting).select_related("station")}
    teaches = reader.pk == meeting.course.tutor_id
    needs = dict(PrivateNeed.objects.filter(place__course=meeting.course_id).values_list("place_id", "words"))
    signed = _signed_off(meeting)
    found, first = [], set()
    for seat in seats.order_by("number"):
        place, row = seat.place, there.get(seat.pk)
        of_party = place.member.name if place.member is not None else place.name
        is_first = place.pk not in first
        first.add(place.pk)
        found.append(
            Head(
                seat=seat,
                name=head_words(seat.name, of_party, is_first=is_first),
                came_at=row.came_at if row is not None else None,
                station=row.station if row is not None else None,
                can_be_signed_off=is_first and place.member is not None,
                need=needs.get(place.pk, "") if teaches and is_first else "",
                left_at=row.left_at if row is not None else None,
                is_signed_off=is_first and place.member_id in signed,
            )
        )
    return found


def _signed_off(meeting: Meeting) -> set[int]:
    """Members in this course who are signed off, at its end, for all that its outline signs people off for."""
    outline = meeting.course.outline
    needs = list(outline.signs_off.values_list("kind", "process")) if outline is not None else []
    if not needs:
        return set()
    theirs: dict[int, set[tuple[str, int | None]]] = {}
    rows = safety.valid_sign_offs(meeting.stay.ends).filter(member__places__course=meeting.course_id)
    for member, kind, process in rows.values_list("member", "kind", "process"):
        theirs.setdefault(member, set()).add((kind, process))
    return {member for member, held in theirs.items() if held.issuperset(needs)}


def notes_before(meeting: Meeting) -> list[Meeting]:
    """What was left for whoever teaches next, of this course and of others by its outline, the latest first."""
    rows = Meeting.objects.filter(stay__starts__lt=meeting.stay.starts).exclude(notes="")
    of = {"course__outline": meeting.course.outline_id} if meeting.course.outline_id else {"course": meeting.course_id}
    return list(rows.filter(**of).select_related("stay").order_by("-stay__starts", "-pk")[:3])


def heads_in(meeting: Meeting) -> int:
    """How many of it the roll-call has in the house now, whoever leads it not counted."""
    rows = meeting.stay.visits.filter(left_at__isnull=True, kind="group")
    return sum(rows.values_list("heads", flat=True))
