"""Keys and fobs: who has which since when, on the acts and on the pages."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from studiodesk.answers import Refused
from studiodesk.journal.models import Entry
from studiodesk.people import actions
from studiodesk.people import queries as people
from studiodesk.people.models import HouseKey, KeyLoan
from tests import makers


@pytest.fixture
def crew(house):
    return {
        "sef": makers.member("Sef", is_staff=True),
        "kim": makers.member("Kim", is_keyholder=True),
        "wil": makers.member("Wil", is_keyholder=True),
    }


@pytest.fixture
def key(crew, now):
    return actions.add_key(code="K-01", sort="key", opens="front door", now=now, by=crew["sef"])


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def refusal(act, **given):
    with pytest.raises(Refused) as caught:
        act(**given)
    return caught.value.refusal


def test_a_key_is_with_one_person_and_the_next_is_told_with_whom_since_when(key, crew, now):
    for _ in range(2):
        actions.hand_out(key=key, holder=crew["kim"], now=now, by=crew["sef"])
    assert KeyLoan.objects.count() == 1
    said = refusal(actions.hand_out, key=key, holder=crew["wil"], now=now + timedelta(days=1), by=crew["sef"])
    assert (said.code, said.facts["name"], said.facts["since"]) == ("people.key_is_out", "Kim", now)
    later = now + timedelta(days=2)
    for _ in range(2):
        actions.take_back(key=key, now=later, by=crew["sef"])
    actions.hand_out(key=key, holder=crew["wil"], now=later, by=crew["sef"])
    assert [(one.holder.name, one.back_at) for one in people.loans_of(key)] == [("Wil", None), ("Kim", later)]
    assert list(Entry.objects.filter(about="housekey").order_by("pk").values_list("code", flat=True)) == [
        "people.key_added",
        "people.key_handed_out",
        "people.key_came_back",
        "people.key_handed_out",
    ]


def test_who_had_a_lost_key_stays_to_be_seen_and_it_comes_back_with_them(key, crew, now):
    actions.hand_out(key=key, holder=crew["kim"], now=now, by=crew["sef"])
    for _ in range(2):
        actions.report_lost(key=key, now=now, by=crew["sef"])
    assert people.loan_of(key).holder == crew["kim"] and people.house_keys()[0].lost_at == now
    actions.take_back(key=key, now=now, by=crew["sef"])
    assert HouseKey.objects.get().lost_at is None
    actions.report_lost(key=key, now=now, by=crew["sef"])
    said = refusal(actions.hand_out, key=key, holder=crew["kim"], now=now, by=crew["sef"])
    assert said.code == "people.key_is_lost"
    actions.found_again(key=key, now=now, by=crew["sef"])
    assert actions.hand_out(key=key, holder=crew["kim"], now=now, by=crew["sef"]).back_at is None


def test_a_key_that_is_out_is_not_given_up_unless_it_is_lost(key, crew, now):
    actions.hand_out(key=key, holder=crew["kim"], now=now, by=crew["sef"])
    assert refusal(actions.retire, key=key, now=now, by=crew["sef"]).code == "people.key_is_out"
    actions.report_lost(key=key, now=now, by=crew["sef"])
    actions.retire(key=key, now=now, by=crew["sef"])
    assert HouseKey.objects.get().retired_at == now
    other = actions.add_key(code="F-02", sort="fob", now=now, by=crew["sef"])
    actions.retire(key=other, now=now, by=crew["sef"])
    said = refusal(actions.hand_out, key=other, holder=crew["kim"], now=now, by=crew["sef"])
    assert said.code == "people.key_is_given_up"
    actions.use_again(key=other, now=now, by=crew["sef"])
    assert actions.hand_out(key=other, holder=crew["kim"], now=now, by=crew["sef"]).key == other


def test_nobody_who_has_left_gets_a_key_and_only_staff_hand_them_out(key, crew, now):
    gone = makers.member("Gone", is_active=False)
    assert refusal(actions.hand_out, key=key, holder=gone, now=now, by=crew["sef"]).code == "people.key_for_nobody"
    acts = [
        (actions.hand_out, {"key": key, "holder": crew["wil"]}),
        (actions.add_key, {"code": "K-09", "sort": "key"}),
        *((act, {"key": key}) for act in (actions.take_back, actions.report_lost, actions.found_again)),
        *((act, {"key": key}) for act in (actions.retire, actions.use_again)),
    ]
    for act, given in acts:
        assert refusal(act, now=now, by=crew["kim"], **given).code == "people.not_yours_to_do"
    assert HouseKey.objects.count() == 1 and not KeyLoan.objects.exists()


def test_no_two_keys_have_one_name_whatever_its_capitals(key, crew, now):
    said = refusal(actions.add_key, code="k-01", sort="fob", now=now, by=crew["sef"])
    assert said.code == "people.key_code_taken" and HouseKey.objects.count() == 1


def test_the_list_has_what_is_longest_out_first_and_what_is_not_used_any_more_last(crew, now):
    sef = crew["sef"]
    for code in ("A", "B", "C", "D"):
        actions.add_key(code=code, sort="key", now=now, by=sef)
    rows = {row.code: row for row in HouseKey.objects.all()}
    actions.hand_out(key=rows["D"], holder=crew["kim"], now=now, by=sef)
    actions.hand_out(key=rows["C"], holder=crew["kim"], now=now + timedelta(days=3), by=sef)
    actions.retire(key=rows["A"], now=now, by=sef)
    assert [row.code for row in people.house_keys()] == ["D", "C", "B", "A"]
    assert [one.key.code for one in people.keys_with(crew["kim"])] == ["D", "C"]


# ---- pages ---------------------------------------------------------------------------------------------------------


def test_staff_hand_a_key_out_by_member_number_and_take_it_back(key, crew, clock):
    client, kim = client_of(crew["sef"]), crew["kim"]
    page = client.post("/keys/", {"key": "K-01", "number": f" {kim.number.lower()} "}, follow=True).content.decode()
    assert "Kim has K-01 now." in page and "25 Nov 2026" in page
    # Somebody at another screen still sees it in their list.
    page = client.post("/keys/", {"key": "K-01", "number": crew["wil"].number})
    assert page.status_code == 422 and "K-01 is with Kim since Wednesday 25 November 15:00." in page.content.decode()
    assert f'value="{crew["wil"].number}"' in page.content.decode()  # what was typed is kept
    page = client.post("/keys/K-01/", {"deed": "back"}, follow=True).content.decode()
    assert "K-01 is in the house again." in page and "taken back by Sef" in page


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"key": "K-01", "number": "nobody"}, "Nobody here has the number nobody."),
        ({"key": "K-77", "number": "T1"}, "Key or fob: choose one of the list."),
        ({"key": "K-01"}, "To whom, by member number: this is missing."),
    ],
)
def test_what_cannot_be_handed_out_is_said_at_its_field(key, crew, clock, sent, said):
    answer = client_of(crew["sef"]).post("/keys/", sent)
    assert answer.status_code == 422 and said in answer.content.decode() and not KeyLoan.objects.exists()


@pytest.mark.parametrize("code", ["new", "NEW", "a b", "a/b", "..", "", "x" * 31])
def test_a_key_s_name_can_stand_in_an_address(crew, clock, code):
    answer = client_of(crew["sef"]).post("/keys/new/", {"code": code, "sort": "key"})
    if code == "NEW":  # an address is exact
        assert answer.status_code == 302 and client_of(crew["sef"]).get("/keys/NEW/").status_code == 200
        return
    assert answer.status_code == 422 and not HouseKey.objects.exists()


def test_a_keyholder_reads_who_has_which_and_changes_nothing(key, crew, now, clock):
    actions.hand_out(key=key, holder=crew["wil"], now=now, by=crew["sef"])
    client = client_of(crew["kim"])
    assert "Wil" in client.get("/keys/").content.decode()
    page = client.get("/keys/K-01/").content.decode()
    assert "handed out by Sef" in page and "It came back" not in page
    assert client.post("/keys/K-01/", {"deed": "back"}).status_code == 403
    assert client.post("/keys/", {"key": "K-01", "number": "T1"}).status_code == 403
    assert KeyLoan.objects.get().back_at is None


def test_a_button_that_there_is_not_changes_nothing(key, crew, clock):
    answer = client_of(crew["sef"]).post("/keys/K-01/", {"deed": "melt"}, follow=True)
    assert "Nothing was changed." in answer.content.decode()


def test_a_person_s_page_and_the_page_that_lets_them_go_name_the_keys_they_have(key, crew, now, clock):
    client, kim = client_of(crew["sef"]), crew["kim"]
    assert "still with them" not in client.get(f"/people/{kim.number}/standing/").content.decode()
    actions.hand_out(key=key, holder=kim, now=now, by=crew["sef"])
    page = client.get(f"/people/{kim.number}/").content.decode()
    assert '<a href="/keys/K-01/">K-01</a> since Wednesday 25 November 2026' in page
    page = client.get(f"/people/{kim.number}/standing/").content.decode()
    assert "A key of the house is still with them" in page and "K-01" in page
