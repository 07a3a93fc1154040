"""The pages of sign-offs: tutors sign, managers say what needs one."""

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from studiodesk.safety.models import SignOff, SignOffNeed
from tests import makers

BOOTH = "kind enlarger booth"


@pytest.fixture(autouse=True)
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def adri(house):
    return makers.member("Adri")


@pytest.fixture
def tutor(house):
    return makers.member("Tara", is_tutor=True)


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def text(answer):
    return " ".join(BeautifulSoup(answer.content, "html.parser").get_text(" ").split())


def test_a_manager_says_what_needs_a_sign_off_changes_it_and_lets_it_go(manager):
    client = client_of(manager)
    page = text(client.post("/sign-offs/needs/", {"what": "process ra4", "lasts_days": "30"}, follow=True))
    assert "Colour, RA-4 needs a sign-off." in page and "a sign-off lasts 30 days; 0 people have one" in page
    assert "a sign-off does not run out" in text(
        client.post("/sign-offs/needs/", {"what": "process ra4", "lasts_days": ""}, follow=True)
    )
    assert client.post("/sign-offs/needs/", {"what": BOOTH, "lasts_days": "0"}).status_code == 422
    assert client.post("/sign-offs/needs/", {"what": "kind rocket"}).status_code == 422
    need = SignOffNeed.objects.get()
    page = text(client.post(f"/sign-offs/needs/{need.pk}/end/", follow=True))
    assert "Colour, RA-4 can be booked without a sign-off." in page and "Nothing so far" in page
    assert client.post(f"/sign-offs/needs/{need.pk}/end/").status_code == 302  # a second press


def test_a_tutor_signs_somebody_off_by_their_number_and_takes_it_back(adri, tutor, manager):
    client_of(manager).post("/sign-offs/needs/", {"what": BOOTH})
    client = client_of(tutor)
    assert f'value="{adri.number}"' in client.get(f"/sign-offs/?who={adri.number}").content.decode()
    page = text(client.post("/sign-offs/", {"who": adri.number.lower(), "what": BOOTH}, follow=True))
    assert "Adri is signed off for enlarger booth." in page and "1 person has one" in page
    assert "Change what needs one" not in page
    made = SignOff.objects.get()
    assert (made.member, made.given_by, made.kind) == (adri, tutor, "enlarger booth")
    path = f"/sign-offs/{made.pk}/revoke/"
    assert "Take back the sign-off of Adri?" in text(client.get(path)) and SignOff.objects.get().revoked_at is None
    assert "taken back by Tara" in text(client.post(path, follow=True))
    assert "already" in text(client.get(path))


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"who": "NOBODY", "what": BOOTH}, "Nobody here has this number."),
        ({"who": "", "what": BOOTH}, "Who: this is missing."),
        ({"who": "me", "what": BOOTH}, "Nobody signs themselves off."),
        ({"who": "adri", "what": "kind rocket"}, "For what: choose one of the list."),
        ({"who": "adri", "what": ""}, "For what: choose one of the list."),
    ],
)
def test_what_cannot_be_is_said_at_its_field_and_nobody_is_signed_off(adri, tutor, sent, said):
    numbers = {"me": tutor.number, "adri": adri.number}
    answer = client_of(tutor).post("/sign-offs/", {**sent, "who": numbers.get(sent["who"], sent["who"])})
    assert answer.status_code == 422 and said in text(answer)
    assert not SignOff.objects.exists()


def test_members_and_keyholders_have_no_such_page_and_tutors_do_not_say_what_needs_one(adri, tutor):
    kim = makers.member("Kim", is_keyholder=True)
    assert [client_of(who).get("/sign-offs/").status_code for who in (adri, kim, tutor)] == [403, 403, 200]
    assert client_of(tutor).get("/sign-offs/needs/").status_code == 403
    assert client_of(tutor).get("/sign-offs/999/revoke/").status_code == 404
