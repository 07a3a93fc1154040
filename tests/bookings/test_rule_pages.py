"""The pages of the house's rules: everybody reads what holds, a manager sets it."""

from datetime import date

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import HouseRule
from studiodesk.bookings.rules.house import KINDS
from studiodesk.people import actions as people
from tests import makers

TODAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


@pytest.fixture
def month(manager, now):
    return people.make_plan(code="month", name="Monthly", now=now, by=manager)


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def text(answer):
    return " ".join(BeautifulSoup(answer.content, "html.parser").get_text(" ").split())


def put(code, value, now, manager, day=TODAY, plan=None):
    actions.set_house_rule(code=code, plan=plan, value=value, in_force_from=day, now=now, by=manager)


def test_a_member_reads_what_holds_for_them_and_what_is_to_come(month, manager, now):
    adri = makers.member("Adri")
    put("month_hours", 12, now, manager)
    put("month_hours", 20, now, manager, plan=month)
    put("month_hours", 24, now, manager, plan=month, day=date(2027, 1, 1))
    page = text(client_of(adri).get("/rules/"))
    assert "You can book 12 hours in a month." in page and "You can book 20 hours in a month." not in page
    assert "20 hours since 25 November 2026 from 1 January 2027: 24 hours" in page
    people.give_membership(member=adri, plan=month, first_day=TODAY, last_day=None, now=now, by=manager)
    page = text(client_of(adri).get("/rules/"))
    assert "With your membership “Monthly”." in page and "You can book 20 hours in a month." in page
    assert 'href="/rules/month_hours/"' not in client_of(adri).get("/rules/").content.decode()


def test_a_plan_out_of_use_is_shown_to_whoever_has_it_and_to_managers(month, manager, now):
    adri, bente = makers.member("Adri"), makers.member("Bente")
    people.give_membership(member=adri, plan=month, first_day=TODAY, last_day=None, now=now, by=manager)
    people.set_plan_in_use(plan=month, in_use=False, now=now, by=manager)
    seen = ["Monthly" in text(client_of(who).get("/rules/")) for who in (adri, bente, manager)]
    assert seen == [True, False, True]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.code)
def test_a_manager_sets_each_rule_by_its_form(manager, kind):
    """As the page itself sends it, with the number written the way its unit is written."""
    value = kind.most if kind.most != kind.default else kind.least
    written = {
        "clock": f"{value // 60}:{value % 60:02d}",
        "weekdays": [str(1 << bit) for bit in range(7) if value & (1 << bit)],
    }.get(kind.unit, str(value))
    client, path = client_of(manager), f"/rules/{kind.code}/"
    answer = client.post(path, {"number": written, "in_force_from": "2026-11-26"})
    assert (answer.status_code, answer["Location"]) == (302, path), text(answer)
    assert queries.rules_on(date(2026, 11, 26)).limit(kind.code) == value
    if kind.may_be_none:
        client.post(path, {"number": "", "no_limit": "on", "in_force_from": "2026-11-27"})
        assert queries.rules_on(date(2026, 11, 27)).limit(kind.code) is None
    page = text(client.get(path))
    assert "to come" in page and "set by Max on 25 November 2026" in page


@pytest.mark.parametrize(
    ("code", "sent", "said"),
    [
        ("month_hours", {"number": "745"}, "Hours: at most 744."),
        ("month_hours", {"number": "a few"}, "Hours: write a whole number."),
        ("month_hours", {"number": ""}, "Write a number, or tick “No limit”."),
        ("guests", {"number": ""}, "People: this is missing."),
        ("guests", {"number": "2", "in_force_from": "2026-11-24"}, "A rule holds from today"),
        ("guests", {"number": "2", "in_force_from": ""}, "From which day: this is missing."),
        ("guests", {"number": "2", "plan": "gold"}, "For whom: choose one of the list."),
        ("peak_from", {"number": "25:00"}, "Time of day: write a time, such as 17:00 or 24:00."),
        ("peak_from", {"number": "17:60"}, "Time of day: write a time, such as 17:00 or 24:00."),
        ("peak_days", {"number": ["3"]}, "Days of the week"),
        ("missed_hours_count", {"number": "2"}, "Yes or no: choose one of the list."),
    ],
)
def test_what_cannot_be_is_said_at_its_field_and_nothing_is_kept(month, manager, code, sent, said):
    answer = client_of(manager).post(f"/rules/{code}/", {"in_force_from": "2026-11-25", **sent})
    assert answer.status_code == 422 and said in text(answer)
    assert not HouseRule.objects.exists()


def test_a_tick_at_no_limit_counts_whatever_stands_beside_it(manager):
    client_of(manager).post("/rules/guests/", {"number": "5", "in_force_from": "2026-11-25"})
    answer = client_of(manager).post(
        "/rules/month_hours/", {"number": "9999", "no_limit": "on", "in_force_from": "2026-11-25"}, follow=True
    )
    assert "That holds already; nothing was changed." in text(answer)
    assert HouseRule.objects.count() == 1


def test_one_plan_s_number_is_set_and_shown_beside_everybody_s(month, manager, now):
    sent = {"plan": "month", "number": "3", "in_force_from": "2026-11-25"}
    page = client_of(manager).post("/rules/guests/", sent, follow=True)
    assert "Monthly 3 people since 25 November 2026" in text(page)
    row = HouseRule.objects.get()
    assert (row.plan, row.value, row.set_by, row.set_at) == (month, 3, manager, now)


def test_a_rule_that_there_is_not_is_not_found_and_members_may_not_set_one(house, manager):
    assert client_of(manager).get("/rules/rocket/").status_code == 404
    assert client_of(makers.member("Sam", is_staff=True)).get("/rules/guests/").status_code == 403


def test_the_page_asks_the_database_no_more_often_with_more_plans(month, manager, now):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client, counts = client_of(makers.member("Adri")), []
    client.get("/rules/")  # what is looked up once a process
    for number in range(2):
        for more in range(number * 5):
            people.make_plan(code=f"p{more}", name=f"Plan {more}", now=now, by=manager)
            put("guests", more + 1, now, manager)
        with CaptureQueriesContext(connection) as asked:
            assert client.get("/rules/").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 7
