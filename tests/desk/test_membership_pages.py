"""Memberships at the desk: a day pass in one tap, giving and ending, whom to call; and the page about oneself."""

from datetime import date

import pytest

from studiodesk.journal.models import Entry
from studiodesk.people import actions as people
from studiodesk.people.models import Membership, MembershipPlan
from studiodesk.safety import actions as safety
from tests import makers
from tests.desk.evening import at, book, client_of, text

TODAY = date(2026, 11, 25)


@pytest.fixture
def manager(house, clock):
    return makers.member("Max", is_staff=True, is_manager=True)


@pytest.fixture
def staff(house, clock):
    return client_of(makers.member("Sam", is_staff=True))


@pytest.fixture
def adri(house, clock):
    return makers.member("Adri")


@pytest.fixture
def plans(manager):
    now = at(15)
    return [
        people.make_plan(code="month", name="Monthly", now=now, by=manager),
        people.make_plan(code="day", name="Day pass", is_day_pass=True, now=now, by=manager),
    ]


def test_a_day_pass_is_given_in_one_tap_once_and_undone_in_another(adri, staff, plans):
    page = staff.get(f"/people/{adri.number}/")
    assert "None today." in text(page) and "Day pass for today" in text(page)
    sent = {"plan": "day", "key": "tap"}
    said = text(staff.post(f"/people/{adri.number}/day-pass/", sent, follow=True))
    assert "Adri has “Day pass” for 25 November 2026." in said and "Day pass for today" not in said
    staff.post(f"/people/{adri.number}/day-pass/", sent, follow=True)  # a double tap
    given = Membership.objects.get()
    assert (given.member, given.first_day, given.last_day) == (adri, TODAY, TODAY)
    said = text(staff.post(f"/people/{adri.number}/membership/{given.pk}/take-back/", follow=True))
    assert "“Day pass” is taken back." in said and "Day pass for today" in said
    assert staff.post(f"/people/{adri.number}/membership/{given.pk}/take-back/").status_code == 302
    assert not Membership.objects.exists()


def test_a_day_pass_beside_a_membership_is_refused_with_the_days_of_that_one(adri, staff, plans, manager):
    people.give_membership(
        member=adri, plan=plans[0], first_day=TODAY, last_day=date(2026, 12, 24), now=at(15), by=manager
    )
    answer = staff.post(f"/people/{adri.number}/day-pass/", {"plan": "day", "key": "x"})
    assert answer.status_code == 409
    assert "Adri has “Monthly” from Wednesday 25 November 2026 to Thursday 24 December 2026" in text(answer)
    assert staff.post(f"/people/{adri.number}/day-pass/", {"plan": "month", "key": "y"}).status_code == 404
    assert staff.post(f"/people/{adri.number}/day-pass/", {"plan": "gold", "key": "z"}).status_code == 404
    assert Membership.objects.count() == 1


def test_staff_give_a_membership_by_its_form_and_what_cannot_be_is_said_at_its_field(adri, staff, plans):
    path = f"/people/{adri.number}/membership/"
    sent = {"plan": "month", "first_day": "2026-12-01", "last_day": "2026-11-01", "key": "a"}
    answer = staff.post(path, sent)
    assert answer.status_code == 422 and "The last day, Sunday 1 November 2026, comes before" in text(answer)
    assert 'value="2026-12-01"' in answer.content.decode()  # what was typed stays
    page = text(staff.post(path, {**sent, "last_day": "", "key": "b"}, follow=True))
    assert "Adri has “Monthly” from 1 December 2026 on." in page and "To come: Monthly" in page
    answer = staff.post(path, {**sent, "last_day": "2027-01-31", "key": "c"})
    assert answer.status_code == 422 and "without an end" in text(answer)
    assert staff.post(path, {"plan": "gold", "first_day": "x", "key": "d"}).status_code == 422
    assert Membership.objects.get().first_day == date(2026, 12, 1)


def test_a_membership_is_ended_on_a_page_that_says_what_is_still_booked_after_it(house, adri, staff, plans, manager):
    book(house, adri, "S1", None, at(11, day=27), at(12, day=27))
    kept = people.give_membership(
        member=adri, plan=plans[0], first_day=date(2026, 11, 1), last_day=None, now=at(9, day=24), by=manager
    )
    path = f"/people/{adri.number}/membership/{kept.pk}/end/"
    assert 'value="2026-11-25"' in staff.get(path).content.decode()
    assert staff.post(path, {"on": "2026-10-31"}).status_code == 422
    page = text(staff.post(path, {"on": "2026-11-26"}, follow=True))
    assert "“Monthly” ends on 26 November 2026." in page and "1 booking after that day still stands" in page
    kept.refresh_from_db()
    assert kept.last_day == date(2026, 11, 26)
    other = makers.member("Bente")
    assert staff.get(f"/people/{other.number}/membership/{kept.pk}/end/").status_code == 404
    assert staff.post(f"/people/{adri.number}/membership/{kept.pk}/take-back/").status_code == 409


def test_staff_write_down_whom_to_call_and_the_birthday_and_see_them(adri, staff):
    path = f"/people/{adri.number}/facts/"
    answer = staff.post(path, {"emergency_name": "Noor", "born_on": "2031-01-01"})
    assert answer.status_code == 422 and "both a name and a number are needed" in text(answer)
    sent = {"emergency_name": "Noor", "emergency_phone": "020 12345", "born_on": "2010-03-01", "phone": ""}
    page = text(staff.post(path, sent, follow=True))
    assert "Noor, 020 12345" in page and "Monday 1 March 2010" in page
    assert "Telephone, birthday or whom to call changed" in page


def test_a_manager_makes_a_plan_and_puts_it_out_of_use_and_staff_see_whose_run_out(adri, staff, manager, plans):
    boss = client_of(manager)
    assert boss.post("/memberships/new/", {"name": "Monthly", "code": "m2"}).status_code == 422
    assert boss.post("/memberships/new/", {"name": "Evenings", "code": "with gap"}).status_code == 422
    assert "“Evenings” can be given" in text(
        boss.post("/memberships/new/", {"name": "Evenings", "code": "eve"}, follow=True)
    )
    boss.post("/memberships/eve/use/", {"in_use": "0"})
    assert not MembershipPlan.objects.get(code="eve").in_use
    assert boss.post("/memberships/gold/use/", {"in_use": "0"}).status_code == 404
    people.give_membership(
        member=adri, plan=plans[0], first_day=date(2026, 6, 1), last_day=date(2026, 12, 25), now=at(15), by=manager
    )
    page = staff.get("/memberships/")
    assert "Adri, Monthly: last day Friday 25 December 2026" in text(page)
    assert "1 person has it today." in text(page) and "Give “Monthly” no longer" not in text(page)
    assert staff.post("/memberships/eve/use/", {"in_use": "1"}).status_code == 403
    assert staff.get("/memberships/new/").status_code == 403


def test_the_page_about_oneself_shows_membership_sign_offs_and_whom_to_call(house, adri, manager, plans):
    client, now = client_of(adri), at(15)
    assert "none today" in text(client.get("/you/"))
    people.give_membership(member=adri, plan=plans[0], first_day=TODAY, last_day=None, now=now, by=manager)
    safety.set_sign_off_need(kind="enlarger booth", now=now, by=manager)
    safety.set_sign_off_need(process=house.processes["ra4"], lasts_days=30, now=now, by=manager)
    tutor = makers.member("Tara", is_tutor=True)
    safety.give_sign_off(member=adri, process=house.processes["ra4"], now=now, by=tutor)
    sent = {"phone": "+31 6 1234567", "emergency_name": "Noor", "emergency_phone": "020 12345"}
    page = text(client.post("/you/contact/", sent, follow=True))
    assert "Monthly, from Wednesday 25 November 2026 on" in page
    assert "Colour, RA-4: by Tara on Wed 25 Nov, until Friday 25 December 2026" in page
    assert "Still needed for enlarger booth." in page
    assert "Noor, 020 12345" in page and "+31 6 1234567" in page
    assert Entry.objects.filter(code="people.facts_set", actor=adri).count() == 1


def test_what_cannot_be_called_is_said_at_its_field_on_one_s_own_page(adri):
    answer = client_of(adri).post("/you/contact/", {"phone": "call me", "emergency_name": "", "emergency_phone": ""})
    assert answer.status_code == 422 and "“call me” is not a telephone number." in text(answer)
    assert 'value="call me"' in answer.content.decode()
