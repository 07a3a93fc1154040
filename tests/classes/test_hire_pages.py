"""The pages of groups that hire: look, keep, quote, change; what is said when it cannot be, and to whom."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
import time_machine

from studiodesk.bookings.models import GroupStay, ZoneHold
from studiodesk.classes.models import Course, Hire
from tests import makers

from .making import at
from .test_dates import book, kept
from .test_pages import client_of, words


@pytest.fixture
def staff(db):
    return makers.member("Staff", is_staff=True)


FIELDS = {
    "organisation": "Vlietschool & Co",
    "contact_name": "Noor Vos",
    "contact_email": "noor@example.org",
    "heads": "6",
    "supervisors": "1",
    "heads_a_supervisor": "8",
    "sort": "hire",
    "first_day": "2026-12-09",
    "begins": "15:00",
    "ends": "18:00",
    "every": "1",
    "times": "1",
    "before": "30",
    "after": "30",
    "heads_a_station": "2",
    "kind_1": "needed",
}


@pytest.fixture
def client(house, now, staff):
    with time_machine.travel(now, tick=False):
        yield client_of(staff)


def with_process(house, **change):
    rc = house.processes["rc"].pk
    return FIELDS | {"process": str(rc), f"places_{rc}": "needed"} | change


def test_staff_look_keep_quote_and_note_the_yes(house, client, now) -> None:
    assert "No group is to come" in words(client.get("/hires/"))
    looked = client.get("/hires/new/", with_process(house))
    assert looked.status_code == 200 and "All of it is free" in words(looked) and not Hire.objects.exists()
    sent = with_process(house) | {"key": "keep"}
    made = client.post("/hires/new/", sent)
    assert made.status_code == 302 and client.post("/hires/new/", sent).url == made.url
    row = Hire.objects.get()
    assert "Vlietschool & Co" in words(client.get("/hires/")).replace("&amp;", "&")
    page = words(client.get(made.url))
    assert "1, of 1 that are needed: one for every 8" in page and "not yet" in page
    no = client.post(made.url, {"do": "quote", "amount": "-1", "terms": "x", "key": "q0"})
    assert no.status_code == 422
    client.post(made.url, {"do": "quote", "amount": "240.50", "terms": "Within 30 days", "key": "q"})
    row.refresh_from_db()
    assert (row.quote_minor, row.quote_terms) == (24_050, "Within 30 days")
    assert "They agree to the quote" in words(client.get(made.url))
    assert "Noted: they agree" in words(client.post(made.url, {"do": "agree", "key": "a"}, follow=True))
    row.refresh_from_db()
    assert row.agreed_at == now
    moved = client.post(made.url, {"do": "move", "first_day": "2026-12-10", "begins": "16:00", "key": "m"}, follow=True)
    assert "Thursday 10 December 2026, 16:00 to 19:00" in words(moved)
    off = client.post(made.url, {"do": "call_off", "because": "They are ill", "key": "c"}, follow=True)
    assert "They are ill" in words(off) and "Change it" not in words(off)
    assert client.post(made.url, {"do": "no such", "key": "x"}).status_code == 404
    assert "Noor Vos" in words(off)
    assert "Noor Vos" not in words(client.post(made.url, {"do": "forget", "key": "f"}, follow=True))


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"heads": "20"}, 422, "20 people with one for every 8 need 3 who look after them, and 1 come"),
        ({"heads": ""}, 422, "this is missing"),
        ({"contact_email": "noor@"}, 422, "write a whole address"),
        ({"contact_email": ""}, 422, "this is missing"),
        ({"kind_1": "", "places": ""}, 422, "Nothing is to be kept"),
        ({"ends": "14:00"}, 422, "later than it begins"),
        ({"last_day": "2026-12-08"}, 422, "no earlier than the first"),
        ({"first_day": "2026-11-01"}, 409, "has passed"),
        ({"first_day": "9999-12-31"}, 409, "years ahead"),
        ({"first_day": "9999-12-31", "times": "52"}, 409, "years ahead"),
        ({"kind_1": "99"}, 422, "choose one of the list"),
        ({"paper_1": "203"}, 422, "Write both edges in mm"),
    ],
)
def test_bad_input_is_said_and_loses_nothing(house, client, change, status, said) -> None:
    for way in (client.get, client.post):
        answer = way("/hires/new/", FIELDS | {"key": "k"} | change)
        assert answer.status_code == status and said in words(answer)
        assert 'value="Vlietschool &amp; Co"' in answer.content.decode()
    assert not Hire.objects.exists()
    assert client.post("/hires/new/", FIELDS | {"key": "k2"}).status_code == 302


def test_what_is_in_the_way_is_named_and_the_nearest_day_can_be_had(house, client, now) -> None:
    book(house, now, "E1", at(now), makers.member("Inger"))
    asked = FIELDS | {"whole_house": "on"}
    looked = client.get("/hires/new/", asked)
    said = words(looked)
    assert "4 × enlarger booth needed, 3 are free" in said and "Booth 1: Inger" in said
    assert "Thursday 10 December" in said and "Keep it for them</button>" not in looked.content.decode()
    assert client.post("/hires/new/", asked | {"key": "k"}).status_code == 409 and not Hire.objects.exists()
    way = re.search(r'href="\?([^"]*first_day=2026-12-10[^"]*)"', looked.content.decode())[1].replace("&amp;", "&")
    assert "All of it is free" in words(client.get(f"/hires/new/?{way}"))


def test_an_exhibition_is_made_from_the_same_form_and_moved_with_its_weeks(house, client) -> None:
    show = FIELDS | {"sort": "room kept", "last_day": "2027-04-07", "kind_1": "", "kind_2": "all", "heads": "1"}
    made = client.post("/hires/new/", show | {"key": "k"})
    assert made.status_code == 302
    stay = Hire.objects.get().course.meetings.get().stay
    # Through the night of 28 March 2027 the clock goes forward: 15:00 in Amsterdam is 14:00, later 13:00 UTC.
    assert (stay.starts, stay.ends) == (
        datetime(2026, 12, 9, 14, tzinfo=UTC),
        datetime(2027, 4, 7, 16, tzinfo=UTC),
    )
    client.post(made.url, {"do": "move", "first_day": "2026-12-02", "begins": "15:00", "key": "m"})
    stay.refresh_from_db()
    assert stay.ends == datetime(2027, 3, 31, 16, tzinfo=UTC)


def test_the_change_page_gives_stations_back_and_says_why_it_cannot_add_them(house, client, now) -> None:
    made = client.post("/hires/new/", with_process(house) | {"key": "k"})
    page = client.get(f"{made.url}change/")
    assert page.status_code == 200 and 'value="6"' in page.content.decode()
    sent = {name: value for name, value in with_process(house).items() if name != "process"}
    fewer = client.post(f"{made.url}change/", sent | {"heads": "2", "key": "f"})
    assert fewer.status_code == 302 and len(kept()) == 2
    assert GroupStay.objects.get().heads == 4 and ZoneHold.objects.count() <= 1
    for number, code in enumerate(one for one in ("E1", "E2", "E3", "E4") if one not in kept()):
        if number < 2:
            book(house, now, code, at(now), makers.member(f"Inger{number}"))
    more = client.post(f"{made.url}change/", sent | {"heads": "8", "key": "m"})
    said = words(more)
    assert more.status_code == 409 and "4 × enlarger booth needed, 2 are free" in said and "Inger0" in said
    assert "Vlietschool" not in said.split("In the way:")[1].split(".")[0]
    few = client.post(f"{made.url}change/", sent | {"heads": "20", "key": "s"})
    assert few.status_code == 422 and "need 3 who look after them" in words(few)


def test_the_list_goes_by_the_date_that_comes_next_and_keeps_what_is_over(house, client, staff) -> None:
    for name, day, times in (("Weekly", "2026-12-09", "3"), ("Once", "2026-12-12", "1")):
        fields = FIELDS | {"organisation": name, "first_day": day, "times": times, "key": name, "kind_1": "1"}
        assert client.post("/hires/new/", fields).status_code == 302
    first = words(client.get("/hires/"))
    assert first.index("Weekly") < first.index("Once") and "3 dates in all, until Wednesday 23 December 2026" in first
    with time_machine.travel(datetime(2026, 12, 11, 12, tzinfo=UTC), tick=False):
        then = words(client_of(staff).get("/hires/"))
        assert then.index("Once") < then.index("Weekly Wednesday 16 December 2026")
    with time_machine.travel(datetime(2026, 12, 14, 12, tzinfo=UTC), tick=False):
        last = client_of(staff).get("/hires/")
        assert last.status_code == 200 and "Once" in words(last).split("Over", 1)[1], words(last)


def test_tutors_keyholders_and_members_see_nothing_of_it(house, client, now) -> None:
    made = client.post("/hires/new/", with_process(house) | {"key": "k"})
    reference = Course.objects.get().reference
    for person in (
        makers.member("Tutor", is_tutor=True),
        makers.member("Key", is_keyholder=True),
        makers.member("M"),
    ):
        other = client_of(person)
        assert {other.get(way).status_code for way in ("/hires/", made.url, f"{made.url}change/")} == {403}
        assert other.get(f"/classes/{reference}/").status_code == 404
        assert "Vlietschool" not in words(other.get("/day/2026-12-09/"))
    assert "The group that hires" in words(client.get(f"/classes/{reference}/plan/"))
    assert "Groups that hire" in words(client.get("/outlines/"))


def test_every_field_stands_in_one_section(house) -> None:
    from studiodesk.classes.forms import GroupForm, HireForm

    for form in (HireForm(), GroupForm()):
        shown = [field.name for _heading, fields in form.sections() for field in fields]
        assert sorted(shown) == sorted(form.fields)
