"""The page on which somebody chooses their letters."""

from bs4 import BeautifulSoup
from django.test import Client

from studiodesk.journal.models import NoticeChoice
from tests import makers

PATH = "/you/letters/"


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def page(answer):
    return BeautifulSoup(answer.content, "html.parser")


def ticks(answer):
    return {box["name"]: box.has_attr("checked") for box in page(answer).find_all("input", type="checkbox")}


def test_a_member_sees_every_topic_ticked_and_what_always_comes(house):
    adri = makers.member("Adri")
    answer = client_of(adri).get(PATH)
    assert ticks(answer) == dict.fromkeys(
        ["confirmations", "changes", "reminders", "offers", "visits", "membership"], True
    )
    said = page(answer).get_text(" ")
    assert "What always comes" in said and "The house cancels or moves a booking of yours" in said
    assert adri.email in said
    assert PATH in client_of(adri).get("/you/").content.decode()


def test_a_tick_taken_out_is_kept_and_shown_and_can_be_put_back(house):
    adri = makers.member("Adri")
    client = client_of(adri)
    kept = dict.fromkeys(["confirmations", "changes", "offers", "visits", "membership"], "on")
    answer = client.post(PATH, kept, follow=True)
    assert answer.redirect_chain == [(PATH, 302)] and "Your choice is kept." in page(answer).get_text()
    assert [topic for topic, on in ticks(answer).items() if not on] == ["reminders"]
    assert list(NoticeChoice.objects.values_list("person", "topic", "wanted")) == [(adri.pk, "reminders", False)]
    assert all(ticks(client.post(PATH, {**kept, "reminders": "on"}, follow=True)).values())
    assert all(ticks(client_of(makers.member("Bo")).get(PATH)).values())


def test_nobody_but_whoever_opens_the_house_is_asked_about_shifts_and_posting_it_changes_nothing(house):
    adri = makers.member("Adri")
    client_of(adri).post(PATH, {**dict.fromkeys(["confirmations", "changes"], "on"), "shifts": "", "hit": ""})
    assert not NoticeChoice.objects.filter(topic__in=["shifts", "hit"]).exists()
    for role in ({"is_keyholder": True}, {"is_tutor": True}, {"is_staff": True}):
        assert "shifts" in ticks(client_of(makers.member("Kim", **role)).get(PATH))


def test_taking_every_tick_out_leaves_what_always_comes(house):
    adri = makers.member("Adri")
    answer = client_of(adri).post(PATH, {}, follow=True)
    assert not any(ticks(answer).values()) and NoticeChoice.objects.filter(wanted=False).count() == 6
