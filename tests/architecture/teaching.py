"""The rows of classes, and what the world has of them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from .roles import GUEST, ROLES, Row, for_all, for_house, for_members, for_shifts, for_staff, for_tutors, only_theirs

#: Whoever has the place, and staff; a keyholder is nobody's secretary.
OWN_PLACE = {**only_theirs("member", 200), "staff": 200, "manager": 200}
TAUGHT = for_tutors(200)
#: Whoever teaches it and whoever runs the house; for others it is not there.
THEIRS_AND_HOUSE = {r: 404 if a == 403 else a for r, a in for_shifts(200).items()}

TEACHING: dict[str, Row] = {
    "classes/": Row("/classes/", for_all(200)),
    "classes/atom.xml": Row("/classes/atom.xml", for_all(200)),
    "classes/rss.xml": Row("/classes/rss.xml", for_all(200)),
    "classes/calendar.ics": Row("/classes/calendar.ics", for_all(200)),
    "classes/yours/": Row("/classes/yours/", for_members(200)),
    "classes/with/<str:word>/": Row(
        "/classes/with/{word}/",
        for_all(200),
        {role: 422 if role in GUEST else 302 for role in ROLES},
        {"heads": "1", "key": "invited"},
    ),
    "classes/with/<str:word>/calendar.ics": Row("/classes/with/{word}/calendar.ics", for_all(200)),
    "classes/<str:reference>/": Row(
        "/classes/{course.reference}/",
        for_all(200),
        {role: 422 if role in GUEST else 302 for role in ROLES},
        {"heads": "1", "key": "join"},
    ),
    "classes/<str:reference>/calendar.ics": Row("/classes/{course.reference}/calendar.ics", for_all(200)),
    "classes/<str:reference>/plan/": Row(
        "/classes/{course.reference}/plan/", TAUGHT, for_tutors(302), {"do": "go", "key": "go"}
    ),
    "classes/<str:reference>/roster/": Row(
        "/classes/{course.reference}/roster/", TAUGHT, for_tutors(302), {"do": "note", "notes": "x", "key": "n"}
    ),
    "classes/<str:reference>/paper/": Row(
        "/classes/{course.reference}/paper/",
        THEIRS_AND_HOUSE,
        {r: 302 if a == 200 else a for r, a in THEIRS_AND_HOUSE.items()},
    ),
    "door/group/<int:pk>/gone/": Row("/door/group/{group.pk}/gone/", None, for_house(302)),
    "places/<int:pk>/": Row(
        "/places/{place.pk}/",
        OWN_PLACE,
        {role: 302 if answer == 200 else answer for role, answer in OWN_PLACE.items()},
        {"do": "give_up", "key": "back"},
    ),
    # The link itself is the key: whoever has it has the place.
    "places/of/<str:key>/": Row(
        "/places/of/{guest_key}/", for_all(200), for_all(302), {"do": "confirm", "key": "confirm"}
    ),
    "outlines/": Row("/outlines/", for_tutors(200)),
    "outlines/new/": Row("/outlines/new/", for_tutors(200), for_tutors(422)),
    "outlines/<str:code>/": Row("/outlines/first-prints/", for_tutors(200), for_tutors(302), {"retire": "1"}),
    "outlines/<str:code>/dates/": Row("/outlines/first-prints/dates/", for_tutors(200), for_tutors(422)),
    "hires/": Row("/hires/", for_staff(200)),
    "hires/new/": Row("/hires/new/", for_staff(200), for_staff(422)),
    "hires/<str:reference>/": Row(
        "/hires/{hire.course.reference}/", for_staff(200), for_staff(302), {"do": "agree", "key": "agree"}
    ),
    "hires/<str:reference>/change/": Row("/hires/{hire.course.reference}/change/", for_staff(200), for_staff(422)),
}


def taught(cast: dict[str, Any], house: Any, now: datetime) -> dict[str, Any]:
    """A class of the tutor's with the member's place and one that a guest has still to confirm, and a private class."""
    from studiodesk.classes import actions
    from studiodesk.classes.queries import invitation_of, place_key
    from tests.classes.making import at, outline

    of = outline(house, now, meetings=1, heads_most=12, heads_a_station=6, heads_least=1)
    made = {"outline": of, "tutor": cast["tutor"], "now": now, "by": cast["staff"]}
    course = actions.announce(spans=[at(now, 20)], **made)
    private = actions.announce(spans=[at(now, 21)], is_private=True, **made)
    place = actions.sign_up(course=course, heads=1, member=cast["member"], by=cast["member"], now=now)
    guest = actions.sign_up(course=course, heads=1, name="Kim", email="kim@example.org", now=now)
    group = course.meetings.get().stay
    things = {
        "group": group,
        "course": course,
        "place": place,
        "guest_key": place_key(guest),
        "word": invitation_of(private),
    }
    return {**things, "hire": _hired(cast, now)}


def _hired(cast: dict[str, Any], now: datetime) -> Any:
    """A school has the scanner, and a quote that nobody agreed to yet."""
    from studiodesk.classes import actions
    from studiodesk.classes.queries.hires import ALL, AskedHire, needs_of
    from studiodesk.classes.rules.hires import Group
    from tests.classes.making import at

    group = Group("Vlietschool", "Noor Vos", "noor@example.org", heads=4, supervisors=1, heads_a_supervisor=8)
    asked = AskedHire(group=group, spans=[at(now, 22)], needs=needs_of({"scanning station": ALL}, {}))
    row = actions.hire(asked=asked, now=now, by=cast["staff"])
    return actions.quote(hire=row, amount_minor=20_000, terms="", now=now, by=cast["staff"])
