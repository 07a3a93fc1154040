"""Logging in and out: the same words for known and unknown, waits, sessions."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.conf import settings
from django.test import Client

from studiodesk.journal.models import Entry
from studiodesk.people import access, queries
from tests import makers

WORD = "a long enough password"


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


def log_in(client, email, password=WORD, **more):
    return client.post("/log-in/", {"email": email, "password": password, **more})


def test_a_member_logs_in_under_a_new_session_name_and_goes_on(house, clock):
    person, client = makers.member("Adri"), Client()
    client.get("/log-in/")
    session = client.session
    session["before"] = 1
    session.save()
    before = session.session_key
    client.cookies[settings.SESSION_COOKIE_NAME] = before
    answer = log_in(client, person.email.upper(), next="/safety/")
    assert (answer.status_code, answer["Location"]) == (302, "/safety/")
    assert client.session.session_key != before
    assert Entry.objects.filter(code="people.logged_in", about_id=person.pk).count() == 1


def test_an_address_elsewhere_is_not_followed_after_log_in(house, clock):
    person = makers.member("Adri")
    assert log_in(Client(), person.email, next="https://example.org/")["Location"] == "/"
    assert log_in(Client(), person.email, next="//example.org/")["Location"] == "/"


def said(answer, email):
    """The page without what was typed and without the tokens of its forms."""
    return re.sub(r'name="csrfmiddlewaretoken"[^>]*', "", answer.content.decode().replace(email, ""))


def test_an_unknown_name_gets_the_same_words_and_the_same_wait_as_a_wrong_password(house, clock):
    person = makers.member("Adri")
    answers = {}
    for email, address in ((person.email, "10.0.0.1"), ("nobody@example.org", "10.0.0.2")):
        client = Client(REMOTE_ADDR=address)
        answers[email] = [log_in(client, email, "wrong") for _ in range(6)]
    known, unknown = answers.values()
    assert [a.status_code for a in known] == [a.status_code for a in unknown] == [422] * 5 + [429]
    for one, other in zip(known, unknown, strict=True):
        assert said(one, person.email) == said(other, "nobody@example.org")


def test_an_unknown_name_costs_a_hash_just_as_a_known_one_does(house, clock, monkeypatch):
    """The time is the hash's: it is reckoned once either way, also for somebody who has no password yet."""
    person, fresh = makers.member("Adri"), makers.member("Bente")
    fresh.set_unusable_password()
    fresh.save(update_fields=["password"])
    from django.contrib.auth.hashers import MD5PasswordHasher

    reckoned, plain = [], MD5PasswordHasher.encode
    monkeypatch.setattr(MD5PasswordHasher, "encode", lambda *a, **k: reckoned.append(1) or plain(*a, **k))
    counts = []
    for email in (person.email, "nobody@example.org", fresh.email):
        reckoned.clear()
        assert log_in(Client(), email, "wrong").status_code == 422
        counts.append(len(reckoned))
    assert counts == [1, 1, 1]


def test_after_five_failures_even_the_right_password_has_to_wait_and_then_is_taken(house, clock, now):
    person = makers.member("Adri")
    for n in range(5):
        assert log_in(Client(REMOTE_ADDR=f"10.0.0.{n}"), person.email, "wrong").status_code == 422
    elsewhere = Client(REMOTE_ADDR="10.0.1.1")
    assert log_in(elsewhere, person.email).status_code == 429
    clock.move_to(now + timedelta(seconds=15))
    assert log_in(elsewhere, person.email).status_code == 302


def test_one_network_address_that_tries_many_names_has_to_wait_too(house, clock):
    people = [makers.member(f"Adri{n}") for n in range(6)]
    client = Client(REMOTE_ADDR="10.0.0.9")
    for person in people[:5]:
        assert log_in(client, person.email, "wrong").status_code == 422
    assert log_in(client, people[5].email).status_code == 429
    assert log_in(Client(REMOTE_ADDR="10.0.0.8"), people[5].email).status_code == 302


def test_the_journal_keeps_neither_the_name_nor_the_address_of_a_failure(house, clock):
    log_in(Client(REMOTE_ADDR="10.9.8.7"), "secret-name@example.org", "wrong")
    rows = list(Entry.objects.filter(code="people.log_in_failed").values())
    assert {row["about"] for row in rows} == {"account", "address"}
    assert "secret-name" not in str(rows) and "10.9.8.7" not in str(rows)


def test_somebody_who_left_cannot_log_in_and_their_session_ends(house, clock):
    person, client = makers.member("Adri"), Client()
    log_in(client, person.email)
    assert client.get("/you/").status_code == 200
    type(person).objects.filter(pk=person.pk).update(is_active=False)
    assert client.get("/you/").status_code == 302
    assert log_in(Client(REMOTE_ADDR="10.0.0.3"), person.email).status_code == 422


def test_logging_out_is_a_press_of_a_button_and_ends_the_session(house, clock):
    person, client = makers.member("Adri"), Client()
    log_in(client, person.email)
    assert client.get("/log-out/").status_code == 405
    key = client.session.session_key
    assert client.post("/log-out/").status_code == 302
    client.cookies[settings.SESSION_COOKIE_NAME] = key
    assert client.get("/you/").status_code == 302


def test_staff_are_logged_out_after_30_idle_minutes_and_a_page_that_refreshes_itself_is_no_sign_of_life(
    house, clock, now
):
    person, client = makers.member("Sam", is_staff=True), Client()
    log_in(client, person.email)
    for minute in range(0, 30, 5):
        clock.move_to(now + timedelta(minutes=minute))
        assert client.get("/you/?poll=x").status_code == 200
    clock.move_to(now + timedelta(minutes=30))
    assert client.get("/you/?poll=x").status_code == 302


def test_staff_who_are_busy_stay_logged_in_until_12_hours_are_over(house, clock, now):
    person, client = makers.member("Sam", is_staff=True), Client()
    log_in(client, person.email)
    for minute in range(0, 720, 29):
        clock.move_to(now + timedelta(minutes=minute))
        assert client.get("/you/").status_code == 200, minute
    clock.move_to(now + timedelta(hours=12))
    assert client.get("/you/").status_code == 302


def test_a_member_stays_logged_in_for_14_days_without_a_sign_of_life(house, clock, now):
    person, client = makers.member("Adri"), Client()
    log_in(client, person.email)
    clock.move_to(now + timedelta(days=13, hours=23))
    assert client.get("/you/").status_code == 200
    clock.move_to(now + timedelta(days=14))
    assert client.get("/you/").status_code == 302


@pytest.mark.parametrize(
    ("behind_proxy", "forwarded", "expected"),
    [
        (False, "10.1.1.1", "192.0.2.1"),  # nobody checked that line: anyone can write it
        (True, "10.1.1.1", "10.1.1.1"),
        (True, "203.0.113.5, 10.1.1.1", "10.1.1.1"),  # the first was written by the asker
        (True, "", "192.0.2.1"),
    ],
)
def test_the_network_address_is_what_the_nearest_proxy_saw(rf_request, behind_proxy, forwarded, expected):
    request = rf_request(forwarded)
    assert access.address_of(request, behind_proxy=behind_proxy) == expected


@pytest.fixture
def rf_request():
    from django.test import RequestFactory

    return lambda forwarded: RequestFactory().get("/", REMOTE_ADDR="192.0.2.1", HTTP_X_FORWARDED_FOR=forwarded)


def test_waits_are_looked_up_by_account_and_by_address_in_two_questions(house, clock, now, asked):
    with asked(2):
        queries.locked_until(email="adri@example.org", address="10.0.0.1", now=now)
