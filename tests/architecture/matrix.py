"""Who gets what answer at every address: the table, and the small world that it is asked in.

``TABLE`` has a row for every route (by its pattern); the answers of a row follow from who it is for.  A route that is
missing, and a row whose route is gone, fail the test.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.urls import get_resolver
from django.urls.resolvers import URLResolver

ROLES = ("stranger", "member", "other", "tutor", "keyholder", "staff", "manager", "tablet")
#: A tablet has nobody logged in.
HOUSE = ("keyholder", "staff", "manager")
LOGGED_IN = ("member", "other", "tutor", *HOUSE)
LOG_IN, NOT_YOURS, NOT_THERE, NOT_SO = 302, 403, 404, 405
#: What no page here answers to.
NEVER = ("PUT", "PATCH", "DELETE", "OPTIONS")

Answers = Mapping[str, int]


def for_all(status: int) -> Answers:
    return dict.fromkeys(ROLES, status)


def for_members(status: int) -> Answers:
    return {role: status if role in LOGGED_IN else LOG_IN for role in ROLES}


def for_owner(status: int) -> Answers:
    """The owner and whoever runs the house; for another member it is not there."""
    return {**for_members(status), "other": NOT_THERE, "tutor": NOT_THERE}


def for_house(status: int) -> Answers:
    return {role: status if role in HOUSE else answer for role, answer in for_members(NOT_YOURS).items()}


def for_staff(status: int) -> Answers:
    return {**for_house(status), "keyholder": NOT_YOURS}


def for_tablet(status: int) -> Answers:
    return {**for_house(status), "tablet": status}


@dataclass(frozen=True)
class Row:
    """``path`` with names of the world's things; the answers to GET (None: not answered) and POST with ``sends``."""

    path: str
    get: Answers | None
    post: Answers | None = None
    sends: Mapping[str, str] = field(default_factory=dict)


GUEST = ("stranger", "tablet")

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
    "people/<str:number>/standing/": Row(
        "/people/{member.number}/standing/", for_staff(200), for_staff(302), {"here": "0"}
    ),
    "tablets/": Row("/tablets/", for_staff(200), for_staff(302), {"name": "Wall"}),
    "tablets/<int:pk>/code/": Row("/tablets/{tablet.pk}/code/", for_staff(200), for_staff(302)),
    "tablets/<int:pk>/revoke/": Row("/tablets/{tablet.pk}/revoke/", for_staff(200), for_staff(302)),
    "tablet/enrol/": Row("/tablet/enrol/", for_all(200), for_all(422), {"code": "ACDEF-GHJKL"}),
    # safety
    "safety/": Row("/safety/", for_members(200)),
    "safety/<str:code>/": Row("/safety/P-RC/", for_members(200), for_members(302), {"version": "1"}),
    "safety/<str:code>/edit/": Row(
        "/safety/P-RC/edit/", for_staff(200), for_staff(302), {"title": "New", "body": "Gloves, always."}
    ),
    # bookings
    "day/": Row("/day/", for_members(200)),
    "day/<day:on>/": Row("/day/2026-11-27/", for_members(200)),
    "day/<day:on>/<str:slug>/": Row("/day/2026-11-27/enlarger-booth/", for_members(200)),
    "find/": Row("/find/", for_members(200)),
    "book/": Row(
        "/book/",
        for_members(200),
        for_members(302),
        {"station": "S1", "day": "2026-11-27", "begins": "12:00", "until": "13:00", "key": "book"},
    ),
    "bookings/": Row("/bookings/", for_members(200)),
    "bookings/<int:pk>/": Row("/bookings/{booking.pk}/", for_owner(200)),
    "bookings/<int:pk>/cancel/": Row("/bookings/{booking.pk}/cancel/", None, for_owner(302)),
    # chemistry
    "baths/<str:processor>/<str:code>/<slug:slug>/": Row(
        "/baths/P-RC/fix/note/", for_house(200), for_house(422), {"key": "note"}
    ),
    "baths/<str:processor>/<str:code>/entry/<int:pk>/undo/": Row(
        "/baths/P-RC/fix/entry/{entry.pk}/undo/", None, for_house(302)
    ),
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
    "desk/": Row("/desk/", for_house(200)),
    "desk/in/<int:pk>/": Row("/desk/in/{booking.pk}/", None, for_house(302)),
    "desk/out/<int:pk>/": Row("/desk/out/{present.pk}/", None, for_house(302)),
    "desk/close/": Row("/desk/close/", for_house(200), for_house(422)),
    "desk/reopen/": Row("/desk/reopen/", None, for_house(302)),
    "desk/reckon/": Row("/desk/reckon/", None, for_house(302)),
    "baths/": Row("/baths/", for_members(200)),
    "baths/<str:processor>/<str:code>/": Row("/baths/P-RC/fix/", for_members(200)),
    "baths/<str:processor>/<str:code>/forecast/": Row("/baths/P-RC/fix/forecast/", for_members(200)),
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


@dataclass
class World:
    """One of everything that an address can name, and somebody for every role."""

    people: dict[str, Any]
    things: dict[str, Any]
    secret: str

    def path(self, row: Row) -> str:
        return row.path.format(**self.people, **self.things)


def build(now: datetime, makers: Any) -> World:
    """Through the acts: at 15:00 "member" is booked for 15:30 and "present" has signed in."""
    from studiodesk.bookings import actions as bookings
    from studiodesk.chemistry import actions as chemistry
    from studiodesk.people import actions as people
    from studiodesk.safety import actions as safety

    house = makers.house()
    cast = {
        "member": makers.member("Mem"),
        "other": makers.member("Oth"),
        "tutor": makers.member("Tut", is_tutor=True),
        "keyholder": makers.member("Key", is_keyholder=True),
        "staff": makers.member("Sta", is_staff=True),
        "manager": makers.member("Man", is_staff=True, is_manager=True),
    }

    def booked(who: str, station: str, starts: datetime) -> Any:
        return bookings.book(
            member=cast[who],
            station=house.stations[station],
            process=house.processes["rc"],
            starts=starts,
            ends=starts + timedelta(hours=2),
            now=starts - timedelta(days=2),
            by=cast[who],
        )

    things: dict[str, Any] = {"booking": booked("member", "E1", now + timedelta(minutes=30))}
    things["present"] = booked("other", "E2", now - timedelta(minutes=30))
    bookings.arrive(booking=things["present"], now=now)
    safety.publish_note(processor=house.processors["P-RC"], title="Before", body="Gloves.", now=now)
    things["invited"] = people.make_person(
        number="I1", name="Inv", email="i@example.org", joined_on=now.date(), now=now, invite=False
    )
    _row, code = people.invite_tablet(name="Dry end", now=now, by=cast["staff"])
    things["tablet"], secret = people.enrol_tablet(code=code, now=now)
    things["feed"] = chemistry.log_sheets(
        processor=house.processors["P-RC"],
        sheet=house.sizes["203x254"],
        sheets=2,
        kind="print",
        who="walk-in",
        fed_at=now,
        now=now,
        tablet=things["tablet"],
    )
    things["entry"] = chemistry.record_bath_entry(
        bath=house.baths["P-RC", "fix"], event="note", at=now, now=now, note="smells", by=cast["keyholder"]
    )
    return World(cast, things, secret)


def expected(row: Row, method: str, role: str) -> set[int]:
    """The answers that are right.  A method that a page does not know is 405, or the guard speaks first."""
    answers = {"GET": row.get, "HEAD": row.get, "POST": row.post}.get(method)
    if answers is not None:
        return {answers[role]}
    guard = {given[role] for given in (row.get, row.post) if given is not None}
    return {NOT_SO} | guard & {NOT_YOURS, LOG_IN}
