"""What is taught in the demo, as ``test_demo`` asks at every one of its moments."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from django.test import Client

from studiodesk.bookings.models import Booking
from studiodesk.classes.models import Attendance, Course, Meeting, PrivateNeed
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as hours_rules
from studiodesk.timekeeping import Span, studio_day
from studiodesk.upkeep.demo import Demo
from studiodesk.upkeep.demo.evenings import Evenings
from studiodesk.upkeep.demo.teaching import Teaching

ZONE = ZoneInfo("Europe/Amsterdam")


def something_is_taught(demo: Demo, now: datetime) -> None:
    ended = Course.objects.filter(meetings__stay__ends__lt=now).get()
    (meeting,) = ended.meetings.all()
    came = Attendance.objects.filter(meeting=meeting, came_at__isnull=False)
    assert came.count() == ended.seats.count() - 1 >= 3 and not came.filter(station=None).exists()
    assert ended.decided == "go" and meeting.notes

    ahead = Course.objects.filter(meetings__stay__starts__gt=now).distinct()
    full = ahead.get(outline__code="rc-first-prints")
    (begins,) = (one.stay.starts.astimezone(ZONE) for one in full.meetings.all())
    assert begins.weekday() == 5 and begins.time() in (time(11), time(13, 30))
    assert (begins.date() - studio_day(now, ZONE)).days <= 7
    assert (full.heads_most, full.seats.count()) == (8, 7) and full.seats.filter(place__member=None).count() == 2
    assert [place.heads for place in full.places.filter(state="waiting")] == [2]
    assert PrivateNeed.objects.filter(place__course=full).count() == 1

    two = ahead.get(outline__code="fibre-two-evenings")
    first, second = (one.stay.starts.astimezone(ZONE).replace(tzinfo=None) for one in two.meetings.all())
    assert second - first == timedelta(weeks=1)  # by the clock on the wall, whatever was done to it between
    assert two.places.get(member=demo.cast.member).state == "booked"
    assert ahead.filter(sort="open evening", drop_in=True).count() == 3
    assert ahead.get(sort="talk").seats.exists()

    everybody_can_be_there(now)
    page = Client().get("/classes/").content.decode()
    for course in ahead:
        assert course.title in page
    nothing_is_kept_where_the_house_is_never_open(demo, now)


def everybody_can_be_there(now: datetime) -> None:
    """The house is open to its people, and none of them stands in a booth at that time."""
    for meeting in Meeting.objects.select_related("stay", "course"):
        stay = Span(meeting.stay.starts, meeting.stay.ends)
        day = studio_day(stay.starts, ZONE)
        assert any(opening.covers(stay) for opening in hours_rules.open_spans(day, stations.hours(), ZONE)), meeting
        assert not stay.holds(now) and meeting.stay.holds.exists()
        elsewhere = Booking.objects.filter(cancelled_at=None, starts__lt=stay.ends, ends__gt=stay.starts)
        theirs = elsewhere.filter(member__places__course=meeting.course, member__places__state="booked")
        assert not theirs.exists(), (meeting.course, theirs)


def nothing_is_kept_where_the_house_is_never_open(demo: Demo, now: datetime) -> None:
    said: list[str] = []
    before = Course.objects.count()
    evenings = Evenings(now=now, zone=ZONE, people=demo.cast.others, random=Random(1))
    evenings.hours = hours_rules.Hours({})
    Teaching(evenings, demo.cast, announced=now - timedelta(days=30), say=said.append).everything()
    assert len(said) == 7 and "No time was found for “A year through a pinhole”; it is left out." in said
    assert Course.objects.count() == before
