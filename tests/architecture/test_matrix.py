"""Every address, by every method, as everybody: who gets in, who is sent to log in, who is told it is not theirs."""

import contextlib
import re

import pytest
import time_machine
from django.conf import settings
from django.db import transaction
from django.test import Client

from studiodesk.bookings.models import Booking
from studiodesk.chemistry.models import Feed
from studiodesk.people.models import Member
from studiodesk.people.queries import TABLET_COOKIE
from tests import makers

from . import matrix
from .matrix import NEVER, ROLES, TABLE


@pytest.fixture
def world(db, now):
    with time_machine.travel(now, tick=False):
        yield matrix.build(now, makers)


def client_of(world, role, **options):
    client = Client(**options)
    if role == "tablet":
        client.cookies[TABLET_COOKIE] = world.secret
    elif role != "stranger":
        client.force_login(world.people[role])
    return client


@contextlib.contextmanager
def undone(client=None):
    """Whatever is written inside is taken back, cookies too, so that one answer changes no other."""
    cookies = client.cookies.copy() if client else None
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    if client:
        client.cookies = cookies


#: Who may see what does not depend on the database engine: one of them is enough, and half the time.
on_one_engine = pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")


def test_every_address_stands_in_the_table_and_nothing_else_does():
    found = list(matrix.routes())
    assert sorted(set(found) - TABLE.keys()) == [], "routes without a row"
    assert sorted(TABLE.keys() - set(found)) == [], "rows without a route"
    assert len(found) == len(set(found)), "two routes with one pattern"


@on_one_engine
@pytest.mark.parametrize("role", ROLES)
def test_everybody_gets_the_answer_of_the_table(world, role):
    wrong, asked, client = [], 0, client_of(world, role)
    for route, row in TABLE.items():
        path = world.path(row)
        for method in ("GET", "HEAD", "POST", *NEVER):
            send = {"data": dict(row.sends)} if method == "POST" else {}
            with undone(client):
                answer = getattr(client, method.lower())(path, **send)
            asked += 1
            right = matrix.expected(row, method, role)
            if answer.status_code not in right:
                wrong.append((role, method, route, answer.status_code, right))
    assert wrong == []
    assert asked == len(TABLE) * (3 + len(NEVER))


@on_one_engine
@pytest.mark.parametrize("role", ["stranger", "tablet"])
def test_whoever_has_to_log_in_is_sent_to_the_log_in_page_and_comes_back(world, role):
    client, asked = client_of(world, role), 0
    for row in TABLE.values():
        if row.get and row.get[role] == 302:
            answer = client.get(world.path(row))
            assert answer["Location"] == f"/log-in/?next={world.path(row)}"
            asked += 1
    assert asked > 15


#: An address of a thing that is not there, for whoever may see such things.
NOT_THERE = {
    "member": [
        "/bookings/99999999/",
        "/baths/P-RC/none/",
        "/baths/NONE/fix/",
        "/safety/NONE/",
        "/day/2026-11-27/none/",
    ],
    "keyholder": ["/tablet/processor/NONE/", "/baths/P-RC/fix/none/", "/bookings/0/"],
    "staff": ["/people/NONE-1/", "/people/NONE-1/roles/", "/tablets/99999999/code/", "/safety/NONE/edit/"],
    "tablet": ["/tablet/processor/NONE/"],
    "stranger": ["/none/", "/bookings/x/", "/day/2026-13-45/"],
}


@on_one_engine
@pytest.mark.parametrize("role", NOT_THERE)
def test_a_thing_that_is_not_there_is_not_found(world, role):
    client = client_of(world, role)
    assert {path: client.get(path).status_code for path in NOT_THERE[role]} == dict.fromkeys(NOT_THERE[role], 404)


@on_one_engine
def test_another_member_s_booking_looks_like_one_that_is_not_there(world):
    """Word for word, so that nobody learns which numbers are taken."""
    client = client_of(world, "other")
    theirs = client.get(f"/bookings/{world.things['booking'].pk}/")
    none = client.get("/bookings/99999999/")
    # The token is new each time; the way back at the foot is the address as it was asked for.
    token = re.compile(rb'name="csrfmiddlewaretoken" value="\w+"|name="next" value="/bookings/\d+/"')
    pages = [(answer.status_code, token.sub(b"", answer.content)) for answer in (theirs, none)]
    assert pages[0] == pages[1]


@on_one_engine
def test_a_tablet_takes_back_only_its_own_logs(world, now):
    from studiodesk.people import actions as people

    row, code = people.invite_tablet(name="Other end", now=now, by=world.people["staff"])
    _row, secret = people.enrol_tablet(code=code, now=now)
    client = Client()
    client.cookies[TABLET_COOKIE] = secret
    assert client.post(f"/tablet/undo/{world.things['feed'].pk}/").status_code == 404
    people.revoke_tablet(tablet=row, now=now, by=world.people["staff"])
    assert client.get("/tablet/").status_code == 302
    assert not Feed.objects.filter(undoes__isnull=False).exists()


@on_one_engine
def test_a_form_without_its_token_changes_nothing(world):
    before, asked = snapshot(), 0
    for role in ("stranger", "member", "staff", "tablet"):
        client = client_of(world, role, enforce_csrf_checks=True)
        for row in TABLE.values():
            if row.post:
                assert client.post(world.path(row), dict(row.sends)).status_code == 403, (role, row.path)
                asked += 1
    assert snapshot() == before and asked > 80


#: Fields that no form has; whoever sends them must gain nothing.
EXTRA = {
    "is_staff": "1",
    "is_manager": "on",
    "is_superuser": "1",
    "staff": "on",
    "manager": "on",
    "member": "1",
    "member_id": "1",
    "by": "1",
    "pk": "1",
    "id": "1",
    "whom": "T001",
    "made_at": "2020-01-01",
    "arrived_at": "2020-01-01",
    "cancelled_at": "2020-01-01",
    "sheet_area_mm2": "0",
    "recorded_by": "1",
    "tablet": "1",
    "now": "2020-01-01",
    "number": "HACKED-1",
    "secret_hash": "x",
}


def snapshot():
    people = list(
        Member.objects.order_by("pk").values_list("pk", "number", "email", "is_staff", "is_manager", "is_superuser")
    )
    bookings = list(
        Booking.objects.order_by("pk").values_list(
            "member_id", "station_id", "starts", "ends", "arrived_at", "cancelled_at"
        )
    )
    feeds = list(
        Feed.objects.order_by("pk").values_list("sheet_id", "sheets", "sheet_area_mm2", "member_id", "tablet_id")
    )
    return people, bookings, feeds


#: The name of a new person's number is a field of its own form.
HAS_FIELD = {"people/new/": {"number", "staff", "manager"}, "people/<str:number>/roles/": {"staff", "manager"},
             "book/": {"whom"}, "series/new/": {"whom"}, "waiting/new/": {"whom"}, "sheets/": {"member"}}  # fmt: skip


@on_one_engine
@pytest.mark.parametrize("role", ["member", "keyholder", "staff", "tablet"])
def test_posting_extra_fields_changes_nothing(world, role):
    client = client_of(world, role)
    for route, row in TABLE.items():
        if row.post is None:
            continue
        may = set() if role == "member" else HAS_FIELD.get(route, set())
        extra = {name: value for name, value in EXTRA.items() if name not in may}
        after = []
        for fields in (dict(row.sends), {**extra, **row.sends}):
            with undone(client):
                answer = client.post(world.path(row), fields)
                after.append((answer.status_code, answer.get("Location", "").split("?")[0], snapshot()))
        one, other = after
        assert one[0] == other[0], (route, one[0], other[0])
        assert without_keys(one[2]) == without_keys(other[2]), route


def without_keys(kept):
    """What does not depend on the running number of a row."""
    people, bookings, feeds = kept
    return [row[1:] for row in people], bookings, feeds


@on_one_engine
def test_the_extra_fields_would_be_noticed_if_one_worked(world):
    """The comparison itself: a form that took ``is_staff`` would show."""
    before = snapshot()
    with undone():
        Member.objects.filter(pk=world.people["member"].pk).update(is_staff=True)
        assert without_keys(snapshot()) != without_keys(before)


@on_one_engine
def test_the_session_cookie_is_kept_from_scripts(world):
    client = Client()
    person = world.people["member"]
    answer = client.post("/log-in/", {"email": person.email, "password": "a long enough password"})
    cookie = answer.cookies[settings.SESSION_COOKIE_NAME]
    assert cookie["httponly"] and cookie["samesite"] == "Lax"
