"""Making people, roles, standing, the mailed link and passwords."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from studiodesk import letters
from studiodesk.answers import Refused
from studiodesk.journal.actions import send_due_notices
from studiodesk.journal.models import Entry, Notice
from studiodesk.people import actions, queries
from studiodesk.people.models import Member
from tests import makers

NEW_WORD = "stop bath smells of vinegar"


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def link_in(mail):
    return re.search(r"https?://\S+?(/password/\S+/)", mail.body).group(1)


def test_staff_make_a_person_who_sets_a_password_by_the_mailed_link_and_is_logged_in(house, clock, now, outbox):
    staff = makers.member("Sam", is_staff=True)
    answer = client_of(staff).post(
        "/people/new/", {"name": "Noor", "email": "noor@example.org", "number": "T900", "keyholder": "on"}
    )
    assert (answer.status_code, answer["Location"]) == (302, "/people/T900/")
    noor = Member.objects.get(number="T900")
    assert noor.is_keyholder and not noor.is_staff and not noor.has_usable_password()
    assert send_due_notices(now=now, render=letters.render).sent == 1
    assert outbox[0].to == ["noor@example.org"] and "T900" in outbox[0].body
    path, client = link_in(outbox[0]), Client()
    assert client.get(path).status_code == 200
    answer = client.post(path, {"password": NEW_WORD})
    assert answer.status_code == 302
    assert client.get("/you/").status_code == 200
    noor.refresh_from_db()
    assert noor.check_password(NEW_WORD)
    # Once: the same link again, from anywhere, is over.
    assert Client().get(path).status_code == 410
    assert Client().post(path, {"password": "some quite other words"}).status_code == 410
    noor.refresh_from_db()
    assert noor.check_password(NEW_WORD)


def test_a_link_is_good_for_seven_days_and_no_longer(house, clock, now):
    person = makers.member("Adri")
    path = f"/password/{queries.password_link(person)}/"
    clock.move_to(now + timedelta(days=7))
    assert Client().get(path).status_code == 200
    clock.move_to(now + timedelta(days=7, seconds=1))
    assert Client().get(path).status_code == 410


@pytest.mark.parametrize("who", ["AA", "MQ", "é", "OTk5OTk5OTk5OTk5OTk5OTk5OTk5OTk5OQ"])
def test_a_link_that_never_was_is_over_too(house, clock, who):
    assert Client().get(f"/password/{who}/abc-def/").status_code == 410


@pytest.mark.parametrize("word", ["short", "passwordpassword"[:14], "adri@example.org adri"[:12], ""])
def test_a_short_password_is_refused_and_nothing_changes(house, clock, word):
    person = makers.member("Adri")
    answer = Client().post(f"/password/{queries.password_link(person)}/", {"password": word})
    assert answer.status_code == 422
    person.refresh_from_db()
    assert person.check_password("a long enough password")


def test_any_sign_counts_in_a_password_and_spaces_are_kept(house, clock):
    person = makers.member("Adri")
    word = "  vergrößerer ☼ 暗室 x "
    assert Client().post(f"/password/{queries.password_link(person)}/", {"password": word}).status_code == 302
    person.refresh_from_db()
    assert person.check_password(word)


def test_changing_the_password_ends_every_other_session(house, clock):
    person = makers.member("Adri")
    here, elsewhere = client_of(person), client_of(person)
    wrong = here.post("/password/change/", {"present": "no", "password": NEW_WORD})
    assert wrong.status_code == 422
    answer = here.post("/password/change/", {"present": "a long enough password", "password": NEW_WORD})
    assert answer.status_code == 302
    assert here.get("/you/").status_code == 200
    assert elsewhere.get("/you/").status_code == 302


def test_forgotten_answers_the_same_for_a_known_and_an_unknown_address_and_writes_to_the_known_alone(
    house, clock, now, outbox
):
    person = makers.member("Adri")
    pages = []
    for n, email in enumerate((person.email, "nobody@example.org")):
        answer = Client(REMOTE_ADDR=f"10.0.0.{n}").post("/password/forgotten/", {"email": email})
        pages.append((answer.status_code, re.sub(rb'name="csrfmiddlewaretoken"[^>]*', b"", answer.content)))
    assert pages[0] == pages[1]
    assert list(Notice.objects.values_list("person_id", flat=True)) == [person.pk]
    send_due_notices(now=now, render=letters.render)
    assert Client().get(link_in(outbox[0])).status_code == 200


def test_nobody_can_fill_a_mailbox_by_asking_again_and_again(house, clock):
    person = makers.member("Adri")
    client = Client(REMOTE_ADDR="10.0.0.1")
    statuses = [client.post("/password/forgotten/", {"email": person.email}).status_code for _ in range(7)]
    assert statuses == [200] * 5 + [429] * 2
    assert Notice.objects.count() == 1


def test_only_a_manager_makes_staff_whatever_is_posted(house, clock):
    staff = makers.member("Sam", is_staff=True)
    posted = {
        "name": "Noor",
        "email": "noor@example.org",
        "number": "T901",
        "staff": "on",
        "manager": "on",
        "is_superuser": "on",
        "password": "x" * 20,
    }
    client_of(staff).post("/people/new/", posted)
    noor = Member.objects.get(number="T901")
    assert not (noor.is_staff or noor.is_manager or noor.is_superuser or noor.has_usable_password())
    manager = makers.member("Max", is_staff=True, is_manager=True)
    client_of(manager).post("/people/T901/roles/", {"manager": "on"})
    noor.refresh_from_db()
    assert noor.is_manager and noor.is_staff


def test_staff_who_keep_the_other_roles_of_a_manager_do_not_take_that_role_away(house, clock):
    staff = makers.member("Sam", is_staff=True)
    manager = makers.member("Max", is_staff=True, is_manager=True)
    assert client_of(staff).post(f"/people/{manager.number}/roles/", {"tutor": "on"}).status_code == 302
    manager.refresh_from_db()
    assert manager.is_tutor and manager.is_manager and manager.is_staff


def test_roles_are_granted_and_revoked_with_one_entry_and_none_if_nothing_changes(house, clock, now):
    manager = makers.member("Max", is_staff=True, is_manager=True)
    person = makers.member("Adri", is_tutor=True)
    for _ in range(2):
        actions.set_roles(person=person, roles=["keyholder"], now=now, by=manager)
    entry = Entry.objects.get(code="people.roles_set", about_id=person.pk)
    assert entry.facts == {"granted": ["keyholder"], "revoked": ["tutor"]}
    assert entry.actor == manager


def test_a_manager_cannot_leave_the_house_without_one_by_a_slip(house, clock, now):
    manager = makers.member("Max", is_staff=True, is_manager=True)
    client = client_of(manager)
    assert client.post(f"/people/{manager.number}/roles/", {}).status_code == 422
    assert client.post(f"/people/{manager.number}/standing/", {"here": "0"}).status_code == 409
    manager.refresh_from_db()
    assert manager.is_manager and manager.is_active


def test_two_people_cannot_have_one_email_whatever_its_capitals_and_nothing_is_half_made(house, clock, now):
    makers.member("Adri")
    email = Member.objects.get().email
    with pytest.raises(Refused) as refused:
        actions.make_person(number="T902", name="B", email=email.upper(), joined_on=now.date(), now=now)
    assert refused.value.refusal.code == "people.email_taken"
    with pytest.raises(Refused) as refused:
        actions.make_person(
            number=Member.objects.get().number, name="B", email="b@example.org", joined_on=now.date(), now=now
        )
    assert refused.value.refusal.code == "people.number_taken"
    assert Member.objects.count() == 1 and Notice.objects.count() == 0


def test_a_person_is_invited_again_until_they_have_a_password(house, clock, now):
    staff = makers.member("Sam", is_staff=True)
    actions.make_person(number="T903", name="Noor", email="noor@example.org", joined_on=now.date(), now=now, by=staff)
    client = client_of(staff)
    assert client.post("/people/T903/invite/").status_code == 302
    assert Notice.objects.count() == 1  # within ten minutes it is the same letter
    clock.move_to(now + timedelta(minutes=11))
    client.post("/people/T903/invite/")
    assert Notice.objects.count() == 2
    actions.set_password(person=Member.objects.get(number="T903"), password=NEW_WORD, now=now, by=None)
    assert client.post("/people/T903/invite/").status_code == 409


def test_a_member_cannot_open_or_change_another_person(house, clock):
    adri, bente = makers.member("Adri"), makers.member("Bente")
    client = client_of(adri)
    for path in (f"/people/{bente.number}/", f"/people/{bente.number}/roles/", "/people/", "/people/new/"):
        assert client.get(path).status_code == 403
    assert client.post(f"/people/{bente.number}/roles/", {"tutor": "on"}).status_code == 403
    bente.refresh_from_db()
    assert not bente.is_tutor


def test_the_list_finds_people_by_name_number_and_email_and_counts_bookings(house, clock):
    staff = makers.member("Sam", is_staff=True)
    adri = makers.member("Adri")
    makers.member("Bente")
    page = client_of(staff).get("/people/", {"q": "adri"}).content.decode()
    assert adri.number in page and "Bente" not in page
    assert "Nobody is found" in client_of(staff).get("/people/", {"q": "zz\x00%'"}).content.decode()
