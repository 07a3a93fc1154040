"""A class while it is on: who came, who sits where, who is signed off, what the next tutor should know."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.bookings.actions import group_door as door
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.stations.models import Station

from ..models import Attendance, Course, Meeting, Seat
from ..queries.evening import stations_of
from ..rules import evening as rules
from .courses import fresh

#: So long before it begins people come in for it, or as long as it is prepared.
DOOR_OPENS = timedelta(hours=1)
#: More heads than any house counts at its door.
MOST_TALLY = 2000


def may_teach(by: Member, course: Course) -> None:
    """Whoever teaches it, and staff."""
    if not (by.is_active and (by.is_staff or by.pk == course.tutor_id)):
        refuse("classes.tutors_evening", status=403)


def _that_stands(meeting: Meeting, by: Member) -> Meeting:
    course = fresh(meeting.course)
    may_teach(by, course)
    if course.is_off or meeting.stay.cancelled_at is not None:
        refuse("classes.called_off")
    return meeting


def _may_come_by(meeting: Meeting, now: datetime) -> None:
    """Nobody is in for a class before the door opens for it."""
    early = max(timedelta(minutes=meeting.stay.before_minutes), DOOR_OPENS)
    if now < meeting.stay.starts - early:
        refuse("classes.not_begun")


def _seats(meeting: Meeting, seats: Sequence[Seat]) -> list[Seat]:
    """Those of this course that are still somebody's; a seat that was given back meanwhile is left out."""
    rows = Seat.objects.filter(pk__in=[seat.pk for seat in seats], course=meeting.course_id, place__state="booked")
    return list(rows.select_related("place__member").order_by("number"))


@act
def mark_arrivals(
    *, meeting: Meeting, came: Sequence[Seat], not_here: Sequence[Seat], now: datetime, by: Member
) -> int:
    """These came, those did not; answers how many changed.  Whoever is marked twice came when they first were.

    The roll-call counts them from then on, and whoever teaches, too.
    """
    _that_stands(meeting, by)
    _may_come_by(meeting, now)
    there = {row.seat_id: row for row in Attendance.objects.filter(meeting=meeting, came_at__isnull=False)}
    new = [seat for seat in _seats(meeting, came) if seat.pk not in there]
    slips = [there[seat.pk] for seat in _seats(meeting, not_here) if seat.pk in there]
    if new and now < meeting.stay.ends:
        visits = door.note_in(meeting.stay, [_named(seat) for seat in new], now=now, by=by)
        for seat, visit in zip(new, visits, strict=True):
            facts = {"came_at": now, "left_at": None, "visit": visit}
            Attendance.objects.update_or_create(seat=seat, meeting=meeting, defaults=facts)
        if by.pk == meeting.course.tutor_id:
            door.note_in(meeting.stay, [("", by)], now=now, by=by, kind="tutor")
    elif new:
        # Written down afterwards: they were there, and nobody is in the house for it now.
        was = {"came_at": meeting.stay.starts, "left_at": meeting.stay.ends, "visit": None}
        for seat in new:
            Attendance.objects.update_or_create(seat=seat, meeting=meeting, defaults=was)
    if slips:
        door.never_came(row.visit_id for row in slips if row.visit_id is not None)
        gone = {"came_at": None, "left_at": None, "visit": None}
        Attendance.objects.filter(pk__in=[row.pk for row in slips]).update(**gone)
    changed = len(new) + len(slips)
    if changed:
        record(code="classes.arrived", happened_at=now, now=now, by=by, about=meeting, facts={"heads": changed})
    return changed


def _named(seat: Seat) -> tuple[str, Member | None]:
    """Who sits there, for the roll-call: the member themselves on the first seat of their party, else a name."""
    place = seat.place
    is_first = not Seat.objects.filter(place=place, number__lt=seat.number).exists()
    if is_first and place.member is not None:
        return "", place.member
    of = place.member.name if place.member is not None else place.name
    return seat.name or of, None


@act
def some_left(*, meeting: Meeting, seats: Sequence[Seat], now: datetime, by: Member) -> int:
    """These have gone home before the others; answers how many that were.  Twice is once."""
    _that_stands(meeting, by)
    here = Attendance.objects.filter(meeting=meeting, came_at__isnull=False, left_at__isnull=True)
    rows = list(here.filter(seat__in=[seat.pk for seat in _seats(meeting, seats)]))
    door.note_out((row.visit_id for row in rows if row.visit_id is not None), now=now)
    for row in rows:
        row.left_at = max(now, row.came_at or now)
        row.save(update_fields=["left_at"])
    if rows:
        record(code="classes.some_left", happened_at=now, now=now, by=by, about=meeting, facts={"heads": len(rows)})
    return len(rows)


@act
def all_left(*, meeting: Meeting, now: datetime, by: Member) -> int:
    """Everybody of the class has left the house; answers how many that were.  Twice is once."""
    _that_stands(meeting, by)
    here = Attendance.objects.filter(meeting=meeting, came_at__isnull=False, left_at__isnull=True)
    count = here.update(left_at=now)
    door.group_gone(group=meeting.stay, now=now, by=by)
    return count


@act
def set_tally(*, meeting: Meeting, came: int, inside: int, now: datetime, by: Member) -> Meeting:
    """Of an evening to which people just come: so many came in all, and so many of them are in the house now.

    Refused: ``classes.not_drop_in``, ``classes.more_in_than_came``.
    """
    _that_stands(meeting, by)
    row = Meeting.objects.select_related("course", "stay").get(pk=meeting.pk)
    if not row.course.drop_in:
        refuse("classes.not_drop_in")
    _may_come_by(row, now)
    if not 0 <= inside <= came <= MOST_TALLY:
        refuse("classes.more_in_than_came", most=MOST_TALLY)
    before, row.tally = row.tally, came
    row.save(update_fields=["tally"])
    door.set_heads_in(row.stay, inside, now=now, by=by)
    facts = {"before": before, "came": came, "inside": inside}
    record(code="classes.tallied", happened_at=now, now=now, by=by, about=row, facts=facts)
    return row


@act
def seat_heads(*, meeting: Meeting, at: Mapping[int, Station | None], now: datetime, by: Member) -> None:
    """Who sits at which station of the class (seat → station; None: nowhere in particular)."""
    _that_stands(meeting, by)
    theirs = {station.pk for station in stations_of(meeting)}
    for seat in Seat.objects.filter(pk__in=at, course=meeting.course_id, place__state="booked"):
        station = at[seat.pk]
        if station is not None and station.pk not in theirs:
            refuse("classes.not_its_station", name=station.name)
        Attendance.objects.update_or_create(seat=seat, meeting=meeting, defaults={"station": station})


@act
def share_out_stations(*, meeting: Meeting, now: datetime, by: Member) -> None:
    """Everybody gets a station, parties side by side, no station two more than another."""
    _that_stands(meeting, by)
    seats = Seat.objects.filter(course=meeting.course_id, place__state="booked").order_by("number")
    ordered = sorted(seats, key=lambda seat: (seat.place_id, seat.number))
    many = {station.pk: station for station in stations_of(meeting)}
    found = rules.share_out([seat.pk for seat in ordered], list(many))
    seat_heads(meeting=meeting, at={seat: many[key] for seat, key in found.items()}, now=now, by=by)


@act
def sign_off_heads(*, meeting: Meeting, seats: Sequence[Seat], now: datetime, by: Member) -> list[Member]:
    """Sign these off, in one go, for all that the outline says; answers whom.

    Only whoever was there can be signed off, and of a party only the member who signed up, on its first seat: the
    others have no account.  Refused as one sign-off is, and ``classes.signs_nobody_off``, ``classes.not_begun``,
    ``classes.nobody_to_sign_off``.
    """
    row = _that_stands(meeting, by).course
    if now < meeting.stay.starts:
        refuse("classes.not_begun")
    needs = list(row.outline.signs_off.select_related("process")) if row.outline is not None else []
    if not needs:
        refuse("classes.signs_nobody_off")
    came = set(Attendance.objects.filter(meeting=meeting, came_at__isnull=False).values_list("seat", flat=True))
    signed = []
    for seat in _seats(meeting, seats):
        member = _named(seat)[1]
        if member is None or seat.pk not in came:
            continue
        for need in needs:
            safety.give_sign_off(member=member, kind=need.kind, process=need.process, now=now, by=by)
        signed.append(member)
    if not signed:
        refuse("classes.nobody_to_sign_off")
    return signed


@act
def leave_note(*, meeting: Meeting, notes: str, now: datetime, by: Member) -> None:
    """For whoever teaches the next one."""
    course = fresh(meeting.course)
    may_teach(by, course)
    Meeting.objects.filter(pk=meeting.pk).update(notes=notes.strip()[:4000])
