"""Enrolling, using and revoking a tablet."""

import os
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.test import Client

from studiodesk.people import actions, queries
from studiodesk.people.models import Tablet
from tests import makers

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def staff(house):
    return makers.member("Sam", is_staff=True)


def code_on(page):
    return re.search(r"[A-Z0-9]{5}-[A-Z0-9]{5}", page.content.decode()).group()


def enrolled(staff):
    desk = Client()
    desk.force_login(staff)
    page = desk.post("/tablets/", {"name": "Dry end"}, follow=True)
    tablet = Client()
    answer = tablet.post("/tablet/enrol/", {"code": code_on(page).lower().replace("-", " ")})
    return tablet, answer, code_on(page)


def test_a_tablet_is_enrolled_by_its_code_and_only_the_hash_of_its_secret_is_kept(staff, clock):
    _tablet, answer, code = enrolled(staff)
    assert (answer.status_code, answer["Location"]) == (302, "/tablet/")
    cookie = answer.cookies["tablet"]
    assert cookie["httponly"] and cookie["samesite"] == "Strict" and int(cookie["max-age"]) >= 365 * 24 * 3600
    row = Tablet.objects.get()
    assert row.secret_hash == queries.secret_hash(cookie.value) and cookie.value not in str(row.__dict__)
    assert len(cookie.value) >= 43  # 256 bits in base 64
    assert row.invite_hash is None
    assert Client().post("/tablet/enrol/", {"code": code}).status_code == 422


def test_opening_the_link_enrols_nothing_until_the_button_is_pressed(staff, clock, now):
    row, code = actions.invite_tablet(name="Dry end", now=now, by=staff)
    page = Client().get("/tablet/enrol/", {"code": code})
    assert page.status_code == 200 and code in page.content.decode() and "tablet" not in page.cookies
    row.refresh_from_db()
    assert row.enrolled_at is None


def test_a_code_works_for_30_minutes(staff, clock, now):
    _row, code = actions.invite_tablet(name="Dry end", now=now, by=staff)
    clock.move_to(now + timedelta(minutes=30))
    assert Client().post("/tablet/enrol/", {"code": code}).status_code == 422
    clock.move_to(now + timedelta(minutes=29, seconds=59))
    assert Client().post("/tablet/enrol/", {"code": code}).status_code == 302


def test_codes_cannot_be_guessed_one_after_the_other(staff, clock):
    client = Client(REMOTE_ADDR="10.0.0.1")
    statuses = [client.post("/tablet/enrol/", {"code": f"GUESS-{n}"}).status_code for n in range(7)]
    assert statuses == [422] * 5 + [429] * 2


def test_a_code_is_shown_once_to_whoever_made_it(staff, clock):
    desk, other = Client(), Client()
    desk.force_login(staff)
    other.force_login(makers.member("Max", is_staff=True, is_manager=True))
    page = desk.post("/tablets/", {"name": "Dry end"}, follow=True)
    code = code_on(page)
    path = page.request["PATH_INFO"]
    assert code not in other.get(path).content.decode()
    Client().post("/tablet/enrol/", {"code": code})
    assert code not in desk.get(path).content.decode()


def test_the_tablet_that_asks_is_found_in_one_question_and_in_none_without_a_cookie(staff, now, asked):
    _row, code = actions.invite_tablet(name="Dry end", now=now, by=staff)
    row, secret = actions.enrol_tablet(code=code, now=now)
    with asked(1):
        assert queries.tablet_of(secret) == row
    with asked(0):
        assert queries.tablet_of("") is None
    assert queries.tablet_of(secret + "x") is None


def test_a_revoked_tablet_is_nobody_and_can_get_no_new_code(staff, clock, now):
    tablet, _answer, _code = enrolled(staff)
    desk = Client()
    desk.force_login(staff)
    row = Tablet.objects.get()
    assert desk.get(f"/tablets/{row.pk}/revoke/").status_code == 200
    row.refresh_from_db()
    assert row.revoked_at is None
    assert desk.post(f"/tablets/{row.pk}/revoke/").status_code == 302
    assert queries.tablet_of(tablet.cookies["tablet"].value) is None
    assert desk.post(f"/tablets/{row.pk}/code/").status_code == 409


def test_a_new_code_moves_the_tablet_and_ends_the_old_secret(staff, now):
    row, code = actions.invite_tablet(name="Dry end", now=now, by=staff)
    _row, old = actions.enrol_tablet(code=code, now=now)
    _row, code = actions.invite_tablet(name="", now=now, by=staff, tablet=row)
    assert queries.tablet_of(old) == row  # a code that nobody has used changes nothing
    _row, new = actions.enrol_tablet(code=code, now=now)
    assert queries.tablet_of(old) is None
    assert queries.tablet_of(new) == row


def test_the_day_of_last_use_is_written_by_a_post_and_by_no_get(staff, clock, now):
    tablet, _answer, _code = enrolled(staff)
    tablet.get("/tablet/")
    assert Tablet.objects.get().last_used_on is None
    tablet.post("/log-out/")  # whatever it posts
    assert Tablet.objects.get().last_used_on == now.date()


def test_members_and_keyholders_cannot_make_or_revoke_tablets(staff, clock, now):
    row, _code = actions.invite_tablet(name="Dry end", now=now, by=staff)
    for person in (makers.member("Adri"), makers.member("Kim", is_keyholder=True)):
        client = Client()
        client.force_login(person)
        assert client.get("/tablets/").status_code == 403
        assert client.post(f"/tablets/{row.pk}/revoke/").status_code == 403
    row.refresh_from_db()
    assert row.revoked_at is None


@pytest.mark.parametrize(("https", "name"), [("1", "__Host-tablet"), ("", "tablet")])
def test_over_https_the_cookie_carries_the_prefix_that_browsers_guard(https, name):
    asked = "import django; django.setup(); from studiodesk.people import queries; print(queries.TABLET_COOKIE)"
    environment = {**os.environ, "STUDIODESK_HTTPS": https, "DJANGO_SETTINGS_MODULE": "studiodesk_site.settings"}
    done = subprocess.run(
        [sys.executable, "-c", asked], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == name


def test_the_code_page_names_the_whole_address_and_no_link_that_a_slip_could_open(staff, clock):
    desk = Client()
    desk.force_login(staff)
    page = desk.post("/tablets/", {"name": "Dry end"}, follow=True).content.decode()
    assert (
        "<dd>http://testserver/tablet/enrol/</dd>" in page
        and f"http://testserver/tablet/enrol/?code={code_in(page)}" in page
    )
    assert 'href="http://testserver' not in page and "only there" in page


def code_in(page):
    return re.search(r"[A-Z0-9]{5}-[A-Z0-9]{5}", page).group()


def test_two_tablets_in_use_cannot_have_one_name(staff, clock, now):
    desk = Client()
    desk.force_login(staff)
    assert desk.post("/tablets/", {"name": "Dry end"}).status_code == 302
    answer = desk.post("/tablets/", {"name": " dry END "})
    assert answer.status_code == 422 and "There is a tablet “dry END” already." in answer.content.decode()
    assert Tablet.objects.count() == 1
    actions.revoke_tablet(tablet=Tablet.objects.get(), now=now, by=staff)
    assert desk.post("/tablets/", {"name": "dry end"}).status_code == 302
