"""Which language a page is in: the person's, this browser's choice, the browser's wish, the studio's."""

from __future__ import annotations

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from studiodesk import letters
from studiodesk.journal.actions import send_due_notices
from studiodesk.journal.models import Entry
from studiodesk.people import actions
from studiodesk.people.models import Member
from studiodesk.stations.models import Studio
from tests import makers


def language_of(answer):
    return BeautifulSoup(answer.content, "html.parser").html["lang"]


def client_of(person, **headers):
    client = Client(headers=headers)
    client.force_login(person)
    return client


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("de-AT,de;q=0.9", "de"),
        ("en-US", "en-gb"),
        ("fr,de;q=0.5", "de"),
        ("fr", "en-gb"),
        ("*", "en-gb"),
        ("%%", "en-gb"),
    ],
)
def test_a_stranger_gets_what_the_browser_asks_for_if_there_is_such_a_language(house, asked, expected):
    assert language_of(Client(headers={"accept-language": asked}).get("/log-in/")) == expected


def test_whoever_asks_for_nothing_we_have_gets_the_studio_s_language(house):
    Studio.objects.update(language="de")
    assert language_of(Client(headers={"accept-language": "fr"}).get("/log-in/")) == "de"
    assert language_of(Client().get("/log-in/")) == "de"
    assert language_of(Client(headers={"accept-language": "en"}).get("/log-in/")) == "en-gb"


def test_a_choice_outlasts_the_browser_s_wish_and_the_member_s_goes_with_them(house):
    adri = makers.member("Adri")
    client = client_of(adri, **{"accept-language": "en"})
    answer = client.post("/reading/", {"language": "de", "next": "/bookings/"}, follow=True)
    assert answer.redirect_chain == [("/bookings/", 302)]
    assert language_of(answer) == "de" and "Diese Seiten sind ab jetzt auf Deutsch" in answer.content.decode()
    assert Member.objects.get(pk=adri.pk).language == "de"
    assert Entry.objects.filter(code="people.language_set", about_id=adri.pk).count() == 1
    assert language_of(client_of(adri).get("/")) == "de"  # on another device as well
    stranger = Client(headers={"accept-language": "en"})
    stranger.post("/reading/", {"language": "de"})
    assert language_of(stranger.get("/log-in/")) == "de"
    assert Member.objects.exclude(language="").count() == 1


def test_a_language_that_is_none_of_ours_changes_nothing(house):
    adri = makers.member("Adri")
    answer = client_of(adri).post("/reading/", {"language": "xx", "next": "https://example.org/"})
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert Member.objects.get(pk=adri.pk).language == "" and "language" not in answer.cookies


def test_letters_are_in_the_language_of_who_reads_them(house, now, outbox):
    for name, language, studio in (
        ("Adri", "de", "en-gb"),
        ("Bo", "", "en-gb"),
        ("Cas", "", "de"),
        ("Dirk", "en-gb", "de"),
    ):
        Studio.objects.update(language=studio)
        person = makers.member(name)
        Member.objects.filter(pk=person.pk).update(language=language)
        actions.send_password_link(email=person.email, address="192.0.2.1", now=now)
        send_due_notices(now=now, render=letters.render)
    assert ["Passwort" in mail.body for mail in outbox] == [True, False, True, False]
    assert ["a new password" in mail.body for mail in outbox] == [False, True, False, True]


def test_a_manager_chooses_how_the_house_writes_and_every_page_follows(house, now):
    manager = client_of(makers.member("Tjalling", is_staff=True, is_manager=True))
    assert "14:45" in manager.get("/house/writing/").content.decode()
    kept = manager.post("/house/writing/", {"language": "en-gb", "clock": "12", "units": "inch"}, follow=True)
    assert "Kept" in kept.content.decode()
    assert tuple(Studio.objects.values_list("language", "clock", "units").get()) == ("en-gb", "12", "inch")
    assert "pm" in manager.get("/day/").content.decode()
    assert manager.post("/house/writing/", {"language": "xx", "clock": "12", "units": "inch"}).status_code == 422
    staff = client_of(makers.member("Marijke", is_staff=True))
    assert staff.get("/house/writing/").status_code == 403
