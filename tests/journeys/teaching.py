"""Classes to look at: one that is full with a line, a course of two evenings, one called off, a guest who confirms."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from studiodesk.chemistry.actions import log_group_sheets
from studiodesk.chemistry.queries import sheets_for
from studiodesk.classes import actions
from studiodesk.classes.queries import invitation_of, place_key
from studiodesk.classes.queries.hires import ALL, AskedHire, needs_of
from studiodesk.classes.rules.hires import Group
from studiodesk.desk.queries import processors_of
from studiodesk.people.models import Member
from studiodesk.stations.models import Process
from studiodesk.timekeeping import Span


def taught(people: dict[str, Member], now: datetime) -> dict[str, Any]:
    """Two outlines and four classes of them; the member has a place, and another one is kept for them; a school."""
    staff, tutor, rc = people["staff"], people["tutor"], Process.objects.get(code="rc")

    def outline(code: str, name: str, meetings: int) -> Any:
        return actions.write_outline(
            code=code,
            says={
                "name": name,
                "summary": "From a negative to a finished print, in one evening.\n\nGloves and aprons are here.",
                "meetings": meetings,
                "length_minutes": 180,
                "before_minutes": 30,
                "after_minutes": 30,
                "heads_least": 2,
                "heads_most": 4,
                "heads_a_station": 2,
                "price_minor": 6000,
                "member_price_minor": 4500,
                "decide_days": 3,
                "bring": "Two negatives and old clothes",
                "process": rc,
            },
            needs=[("enlarger booth", rc, None), ("", rc, None)],
            papers=[(203, 254, 4)],
            now=now,
            by=staff,
        )[0]

    def evening(days: int) -> Span:
        starts = datetime(2026, 11, 25, 14, tzinfo=now.tzinfo) + timedelta(days=days)
        return Span(starts, starts + timedelta(hours=3))

    one, two = outline("first-prints", "First prints", 1), outline("two-evenings", "From film to print", 2)
    made = {"tutor": tutor, "now": now, "by": staff}
    full = actions.announce(outline=one, spans=[evening(14)], **made)
    course = actions.announce(outline=two, spans=[evening(16), evening(23)], **made)
    off = actions.announce(outline=one, spans=[evening(18)], **made)
    actions.call_off_course(course=off, because="No water in the house", now=now, by=staff)
    private = actions.announce(outline=one, spans=[evening(21)], is_private=True, **made)
    leaver = actions.sign_up(course=full, heads=2, member=people["friend"], now=now)
    actions.sign_up(course=full, heads=1, name="Kim", email="kim@example.org", now=now)
    place = actions.sign_up(course=full, heads=2, member=people["member"], now=now, wait=True)
    actions.give_up(place=leaver, now=now, by=people["friend"])
    actions.sign_up(course=full, heads=3, member=people["keyholder"], now=now, wait=True)
    mine = actions.sign_up(course=course, heads=2, member=people["member"], now=now)
    guest = actions.sign_up(course=course, heads=1, name="Sam", email="sam@example.org", now=now)
    hired = _hired(staff, now, rc)
    return {
        "on": _on(outline, people, now),
        "club": _club(people, now),
        "hire": hired.course.reference,
        "course": full.reference,
        "two": course.reference,
        "place": mine.pk,
        "offered_place": place.pk,
        "guest_key": place_key(guest),
        "word": invitation_of(private),
    }


def _on(outline: Any, people: dict[str, Member], now: datetime) -> str:
    """A class that has begun: two are here, and some of its paper is logged."""
    of = outline("open-lab", "Printing together", 1)
    tutor, staff = people["tutor"], people["staff"]
    span = Span(now, now + timedelta(hours=3))
    row = actions.announce(outline=of, spans=[span], tutor=tutor, now=now, by=staff)
    for name, heads in (("friend", 2), ("member", 1)):
        actions.sign_up(course=row, heads=heads, member=people[name], now=now - timedelta(minutes=1))
    meeting = row.meetings.get()
    came = list(row.seats.order_by("number"))[:2]
    actions.mark_arrivals(meeting=meeting, came=came, not_here=[], now=now, by=tutor)
    machine = next(iter(processors_of(meeting)))
    log_group_sheets(
        group=meeting.stay, processor=machine, sheets=[(sheets_for(machine)[0], 6)], kind="print", fed_at=now, now=now,
        by=tutor,
    )  # fmt: skip
    return str(row.reference)


def _club(people: dict[str, Member], now: datetime) -> str:
    """A club night on which some have come."""
    says = {"name": "Print night", "sort": "open evening", "length_minutes": 120, "heads_most": 12, "heads_least": 1}
    staff = people["staff"]
    of, _ = actions.write_outline(code="print-night", says=says, needs=[], papers=[], now=now, by=staff)
    row = actions.announce(outline=of, spans=[Span(now, now + timedelta(hours=2))], tutor=staff, now=now, by=staff)
    actions.set_tally(meeting=row.meetings.get(), came=5, inside=4, now=now, by=staff)
    return str(row.reference)


def _hired(staff: Member, now: datetime, rc: Process) -> Any:
    """A school with all booths on two mornings, with a quote that it has not agreed to; a room kept for weeks."""
    starts = datetime(2026, 12, 15, 8, tzinfo=now.tzinfo)
    mornings = [Span(starts + timedelta(weeks=n), starts + timedelta(weeks=n, hours=4)) for n in (0, 1)]
    group = Group("Vlietschool, class 4b", "Noor Vos", "noor@example.org", "+31 6 1234567", 12, 2, 8)
    needs = needs_of({"enlarger booth": ALL}, {rc: ALL}, rc)
    asked = AskedHire(group=group, spans=mornings, needs=needs, process=rc, heads_a_station=2, papers=[(203, 254, 2)])
    school = actions.hire(asked=asked, now=now, by=staff)
    terms = "Paper and chemistry are in it. Paid within 30 days; free of charge until a week before."
    actions.quote(hire=school, amount_minor=48_000, terms=terms, now=now, by=staff)
    weeks = [Span(starts + timedelta(days=40), starts + timedelta(days=70))]
    club = Group("Camera club of the lower harbour", "Wim de Wit", "wim@example.org", heads=1)
    show = {"needs": needs_of({"shooting bay": 1}, {}), "sort": "room kept", "title": "Exhibition: thirty years"}
    room = actions.hire(asked=AskedHire(group=club, spans=weeks, **show), now=now, by=staff)
    actions.quote(hire=room, amount_minor=30_000, terms="Everything in.", now=now, by=staff)
    actions.agree(hire=room, now=now, by=staff)
    return school
