"""Who gets what answer at every address: the table; ``world`` is the small world that it is asked in.

``TABLE`` has a row for every route (by its pattern); the answers of a row follow from who it is for.  A route that is
missing, and a row whose route is gone, fail the test.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.urls import get_resolver
from django.urls.resolvers import URLResolver

from .bathing import BATHING
from .door import DOOR
from .mixing import MIXING
from .roles import (
    GUEST,
    LOG_IN,
    NEVER,
    NOT_SO,
    NOT_YOURS,
    ROLES,
    Row,
    for_all,
    for_house,
    for_managers,
    for_members,
    for_owner,
    for_shifts,
    for_staff,
    for_tablet,
    for_tutors,
    only_theirs,
)
from .teaching import TEACHING
from .world import World, build

__all__ = ["NEVER", "ROLES", "TABLE", "World", "build", "expected", "routes"]

TABLE: dict[str, Row] = {
    # people
    "log-in/": Row(
        "/log-in/",
        {role: 200 if role in GUEST else 302 for role in ROLES},
        {role: 422 if role in GUEST else 302 for role in ROLES},
        {"email": "x@example.org", "password": "no"},
    ),
    "log-out/": Row("/log-out/", None, for_all(302)),
    "you/": Row("/you/", for_members(200)),
    "reading/": Row("/reading/", None, for_all(302), {"language": "en-gb"}),
    "house/writing/": Row(
        "/house/writing/",
        for_managers(200),
        for_managers(302),
        {"language": "en-gb", "clock": "24", "units": "metric"},
    ),
    "you/contact/": Row("/you/contact/", for_members(200), for_members(302), {"phone": "020 12345"}),
    "you/letters/": Row("/you/letters/", for_members(200), for_members(302), {"reminders": "on"}),
    "password/forgotten/": Row("/password/forgotten/", for_all(200), for_all(200), {"email": "x@example.org"}),
    "password/change/": Row("/password/change/", for_members(200), for_members(422), {"password": "short"}),
    "password/<str:who>/<str:token>/": Row("/password/MQ/x-y/", for_all(410), for_all(410), {"password": "x" * 20}),
    "people/new/": Row(
        "/people/new/",
        for_staff(200),
        for_staff(302),
        {"name": "Zoë", "email": "zoe@example.org", "number": "Z1"},
    ),
    "people/<str:number>/roles/": Row(
        "/people/{member.number}/roles/", for_staff(200), for_staff(302), {"tutor": "on"}
    ),
    "people/<str:number>/invite/": Row("/people/{invited.number}/invite/", None, for_staff(302)),
    "people/<str:number>/membership/": Row(
        "/people/{member.number}/membership/",
        for_staff(200),
        for_staff(302),
        {"plan": "month", "first_day": "2027-03-01", "key": "give"},
    ),
    "people/<str:number>/membership/<int:pk>/end/": Row(
        "/people/{member.number}/membership/{membership.pk}/end/", for_staff(200), for_staff(302), {"on": "2027-01-01"}
    ),
    "people/<str:number>/membership/<int:pk>/take-back/": Row(
        "/people/{member.number}/membership/{membership.pk}/take-back/", None, for_staff(302)
    ),
    "people/<str:number>/day-pass/": Row(
        "/people/{other.number}/day-pass/", None, for_staff(302), {"plan": "day", "key": "pass"}
    ),
    "people/<str:number>/facts/": Row(
        "/people/{member.number}/facts/", for_staff(200), for_staff(302), {"phone": "020 12345"}
    ),
    "memberships/": Row("/memberships/", for_staff(200)),
    "memberships/new/": Row("/memberships/new/", for_managers(200), for_managers(302), {"name": "New", "code": "new"}),
    "memberships/<str:code>/use/": Row("/memberships/month/use/", None, for_managers(302), {"in_use": "0"}),
    "people/<str:number>/standing/": Row(
        "/people/{member.number}/standing/", for_staff(200), for_staff(302), {"here": "0"}
    ),
    "tablets/": Row("/tablets/", for_staff(200), for_staff(302), {"name": "Wall"}),
    "tablets/<int:pk>/code/": Row("/tablets/{tablet.pk}/code/", for_staff(200), for_staff(302)),
    "tablets/<int:pk>/revoke/": Row("/tablets/{tablet.pk}/revoke/", for_staff(200), for_staff(302)),
    "tablet/enrol/": Row("/tablet/enrol/", for_all(200), for_all(422), {"code": "ACDEF-GHJKL"}),
    "keys/": Row("/keys/", for_house(200), for_staff(302), {"key": "K-01", "number": "I1"}),
    "keys/new/": Row("/keys/new/", for_staff(200), for_staff(302), {"code": "K-09", "sort": "key"}),
    "keys/<str:code>/": Row("/keys/K-01/", for_house(200), for_staff(302), {"deed": "lost"}),
    # shifts
    "shifts/": Row("/shifts/", for_shifts(200)),
    "shifts/plan/": Row("/shifts/plan/", for_staff(200), for_staff(302), {"first_day": "2026-11-26", "weeks": "1"}),
    "shifts/new/": Row(
        "/shifts/new/",
        for_staff(200),
        for_staff(302),
        {"day": "2026-11-27", "begins": "18:00", "until": "23:00", "key": "shift"},
    ),
    "shifts/<int:pk>/": Row("/shifts/{shift.pk}/", for_shifts(200), for_shifts(302), {"deed": "take"}),
    "shifts/<int:pk>/hand-over/": Row(
        "/shifts/{keyholders_shift.pk}/hand-over/",
        {**for_staff(200), "keyholder": 200, "tutor": 409},
        {**for_staff(302), "keyholder": 302, "tutor": 409},
        {"note": "The tap drips."},
    ),
    "shifts/<int:pk>/call-off/": Row("/shifts/{shift.pk}/call-off/", for_staff(200), for_staff(302)),
    # safety
    "safety/": Row("/safety/", for_members(200)),
    "safety/<str:code>/": Row("/safety/P-RC/", for_members(200), for_members(302), {"version": "1"}),
    "safety/<str:code>/edit/": Row(
        "/safety/P-RC/edit/", for_staff(200), for_staff(302), {"title": "New", "body": "Gloves, always."}
    ),
    "sign-offs/": Row("/sign-offs/", for_tutors(200), for_tutors(302), {"who": "I1", "what": "process rc"}),
    "sign-offs/needs/": Row("/sign-offs/needs/", for_managers(200), for_managers(302), {"what": "process rc"}),
    "sign-offs/needs/<int:pk>/end/": Row("/sign-offs/needs/{need.pk}/end/", None, for_managers(302)),
    "sign-offs/<int:pk>/revoke/": Row("/sign-offs/{sign_off.pk}/revoke/", for_tutors(200), for_tutors(302)),
    # bookings
    "rules/": Row("/rules/", for_members(200)),
    "rules/<str:code>/": Row(
        "/rules/guests/", for_managers(200), for_managers(302), {"number": "2", "in_force_from": "2027-01-01"}
    ),
    "day/": Row("/day/", for_members(200)),
    "day/<day:on>/": Row("/day/2026-11-27/", for_members(200)),
    "day/<day:on>/<str:slug>/": Row("/day/2026-11-27/enlarger-booth/", for_members(200)),
    "find/": Row("/find/", for_members(200)),
    "find/usual/": Row(
        "/find/usual/",
        None,
        for_members(302),
        {"make": "process:rc", "day": "2026-11-27", "length": "120"},
    ),
    "kit/": Row("/kit/", for_staff(200)),
    "kit/new/": Row(
        "/kit/new/", for_staff(200), for_staff(302), {"code": "EASEL", "name": "Easel", "sort": "other", "pieces": "2"}
    ),
    "kit/<str:code>/": Row(
        "/kit/{kit.code}/", for_staff(200), for_staff(302), {"name": "Lens", "sort": "lens", "pieces": "3"}
    ),
    "book/": Row(
        "/book/",
        for_members(200),
        for_members(302),
        {"station": "S1", "day": "2026-11-27", "begins": "12:00", "until": "13:00", "key": "book"},
    ),
    "bookings/": Row("/bookings/", for_members(200)),
    "bookings/<int:pk>/": Row("/bookings/{booking.pk}/", for_owner(200)),
    "bookings/<int:pk>/calendar.ics": Row("/bookings/{booking.pk}/calendar.ics", for_owner(200)),
    "bookings/<int:pk>/change/": Row(
        "/bookings/{booking.pk}/change/",
        for_owner(200),
        for_owner(302),
        {"station": "E1", "process": "rc", "day": "2026-11-25", "begins": "15:30", "until": "17:30", "key": "change"},
    ),
    "bookings/<int:pk>/undo/": Row("/bookings/{booking.pk}/undo/", None, for_owner(409)),
    "bookings/<int:pk>/cancel/": Row("/bookings/{booking.pk}/cancel/", None, for_owner(302)),
    "bookings/<int:pk>/accept/": Row("/bookings/{kept.pk}/accept/", None, for_owner(302)),
    "bookings/<int:pk>/decline/": Row("/bookings/{kept.pk}/decline/", None, for_owner(302)),
    "waiting/": Row("/waiting/", for_members(200)),
    "waiting/new/": Row(
        "/waiting/new/",
        for_members(200),
        for_members(302),
        {
            "kind": "scanning station",
            "process": "-",
            "length": "120",
            "first_day": "2026-11-28",
            "last_day": "2026-11-28",
            "key": "wait",
        },
    ),
    "waiting/all/": Row("/waiting/all/", for_house(200)),
    "waiting/<int:pk>/stop/": Row("/waiting/{wish.pk}/stop/", None, for_owner(302)),
    "bookings/<int:pk>/series/": Row("/bookings/{weekly.pk}/series/", for_owner(200), for_owner(422), {"scope": "all"}),
    "bookings/<int:pk>/series/cancel/": Row(
        "/bookings/{weekly.pk}/series/cancel/", None, for_owner(302), {"scope": "this"}
    ),
    "series/new/": Row(
        "/series/new/",
        for_members(200),
        for_members(302),
        {
            "station": "S1",
            "day": "2026-11-27",
            "begins": "18:00",
            "until": "19:00",
            "every": "1",
            "last_day": "2026-12-04",
            "key": "series",
        },
    ),
    # chemistry
    "sheets/": Row("/sheets/", for_house(200), for_house(422), {"key": "sheets"}),
    "sheets/<int:pk>/undo/": Row("/sheets/{feed.pk}/undo/", None, for_house(302)),
    "tablet/": Row("/tablet/", for_tablet(200)),
    "tablet/look/": Row("/tablet/look/", None, for_tablet(302), {"look": "plain"}),
    "tablet/undo/<int:pk>/": Row("/tablet/undo/{feed.pk}/", None, for_tablet(302)),
    "tablet/processor/<str:code>/": Row(
        "/tablet/processor/P-RC/",
        for_tablet(200),
        for_tablet(302),
        {"sheet": "203x254", "sheets": "5", "kind": "print", "who": "walk-in", "key": "tap"},
    ),
    # the desk
    "": Row("/", for_all(200)),
    "up/": Row("/up/", for_all(200)),
    "accessibility/": Row("/accessibility/", for_all(200)),
    "desk/": Row("/desk/", for_house(200)),
    "desk/in/<int:pk>/": Row("/desk/in/{booking.pk}/", None, for_house(302)),
    "desk/out/<int:pk>/": Row("/desk/out/{present.pk}/", None, for_house(302)),
    **DOOR,
    **BATHING,
    **MIXING,
    **TEACHING,
    "look/": Row("/look/", for_staff(200)),
    "look/tablet/": Row("/look/tablet/", for_staff(200)),
    "look/choose/": Row("/look/choose/", None, for_all(302), {"scheme": "dark", "next": "/"}),
    "desk/close/": Row("/desk/close/", for_house(200), for_house(422)),
    "desk/reopen/": Row("/desk/reopen/", None, for_house(302)),
    "fault/": Row(
        "/fault/", for_members(200), for_members(302), {"thing": "station S1", "kind": "lamp", "key": "fault"}
    ),
    "fault/<int:pk>/": Row("/fault/{fault.pk}/", for_owner(200)),
    "fault/<int:pk>/settle/": Row("/fault/{fault.pk}/settle/", None, for_house(302)),
    "tablet/fault/": Row(
        "/tablet/fault/", for_tablet(200), for_tablet(302), {"thing": "station S1", "kind": "lamp", "key": "dry"}
    ),
    "out/<int:pk>/": Row("/out/{outage.pk}/", for_house(200)),
    "out/<int:pk>/group/": Row("/out/{outage.pk}/group/", None, for_house(302), {"hit": "1-1"}),
    "out/<int:pk>/settle/": Row("/out/{outage.pk}/settle/", None, for_house(302)),
    "out/<int:pk>/end/": Row("/out/{outage.pk}/end/", None, for_house(302)),
    "hit/hours/": Row("/hit/hours/", for_house(200)),
    "hit/hours/settle/": Row("/hit/hours/settle/", None, for_house(302)),
    "desk/reckon/": Row("/desk/reckon/", None, for_house(302)),
    "baths/": Row("/baths/", for_members(200)),
    "baths/<str:processor>/<str:code>/": Row("/baths/P-RC/fix/", for_members(200)),
    "baths/<str:processor>/<str:code>/forecast/": Row("/baths/P-RC/fix/forecast/", for_members(200)),
    # The address is the key: whoever has it reads, log-in or not.
    "calendar/<str:token>.ics": Row("/calendar/{token}.ics", for_all(200)),
    "you/calendar/": Row("/you/calendar/", for_members(200), for_members(302), {"key": "link", "station": "own"}),
    "you/calendar/<int:pk>/revoke/": Row(
        "/you/calendar/{calendar.pk}/revoke/", only_theirs("member", 200), only_theirs("member", 302)
    ),
    "people/": Row("/people/", for_staff(200)),
    "people/<str:number>/": Row("/people/{member.number}/", for_staff(200)),
}

#: The tables of the admin are asked one by one in tests/people/test_admin.py.
ELSEWHERE = ("admin/",)


def routes() -> Iterator[str]:
    """The pattern of every address of the site."""

    def walk(resolver: URLResolver, before: str) -> Iterator[str]:
        for pattern in resolver.url_patterns:
            here = before + str(pattern.pattern)
            if isinstance(pattern, URLResolver):
                yield from walk(pattern, here)
            else:
                yield here

    yield from (route for route in walk(get_resolver(), "") if not route.startswith(ELSEWHERE))


def expected(row: Row, method: str, role: str) -> set[int]:
    """The answers that are right.  A method that a page does not know is 405, or the guard speaks first."""
    answers = {"GET": row.get, "HEAD": row.get, "POST": row.post}.get(method)
    if answers is not None:
        return {answers[role]}
    guard = {given[role] for given in (row.get, row.post) if given is not None}
    return {NOT_SO} | guard & {NOT_YOURS, LOG_IN}
