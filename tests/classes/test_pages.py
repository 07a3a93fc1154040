"""Signing up in the browser's words: guests behind a mailed link, members, tutors; what each may see."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from studiodesk import tasks
from studiodesk.classes import actions
from studiodesk.classes.models import Course, Outline, Place, PrivateNeed
from studiodesk.classes.queries import invitation_of, place_key
from studiodesk.journal.models import GivenAnswer
from tests import makers

from .making import course, outline


@pytest.fixture(autouse=True)
def then(now):
    with time_machine.travel(now, tick=False):
        yield


def client_of(person=None) -> Client:
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


def words(answer) -> str:
    text = re.sub(r"<(script|style).*?</\1>", " ", answer.content.decode(), flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_a_guest_signs_up_confirms_by_the_mailed_link_and_gives_the_place_back(house, now, outbox) -> None:
    made, guest = course(house, now), client_of()
    fields = {"heads": "2", "name": "Kim de Vries", "email": "kim@example.org", "wait": "on", "key": "k1"}
    answer = guest.post(f"/classes/{made.reference}/", fields)
    assert answer.status_code == 200 and "kim@example.org" in words(answer)
    assert "places/of" not in answer.content.decode(), "whoever mistypes an address sees nobody's place"
    tasks.CHORES["letters"](now)
    letter = outbox[-1]
    assert (letter.to, letter.subject) == (
        ["kim@example.org"],
        "Please confirm: First prints, Wednesday 9 December 2026",
    )
    assert "Hello Kim de Vries," in letter.body and "For 2 people" in letter.body
    link = re.search(r"https?://[^/]+(/places/of/\S+)", letter.body)[1]
    assert "Not confirmed yet" in words(guest.get(link))
    assert guest.post(link, {"do": "confirm", "key": "k2"}).status_code == 302
    assert "Yours" in words(guest.get(link))
    guest.post(link, {"do": "names", "name_1": "Kim", "name_2": "Loïs 李", "key": "k3"})
    assert [seat.name for seat in Place.objects.get().seats.order_by("number")] == ["Kim", "Loïs 李"]
    guest.post(link, {"do": "give_up", "key": "k4"})
    assert Place.objects.get().state == "ended"
    tasks.CHORES["letters"](now)
    told = [one.subject.split(":")[0] for one in outbox if one.to == ["kim@example.org"]]
    assert told == ["Please confirm", "Your place", "Given back"]


def test_a_guest_is_told_at_once_that_they_are_in_line(house, now) -> None:
    way = f"/classes/{course(house, now).reference}/"
    fields = {"heads": "3", "name": "Kim", "wait": "on"}
    assert "in line" not in words(client_of().post(way, fields | {"email": "kim@example.org", "key": "k1"}))
    assert "you are in line" in words(client_of().post(way, fields | {"email": "sam@example.org", "key": "k2"}))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"email": "kim@example"}, "write a whole address"),
        ({"email": ""}, "this is missing"),
        ({"name": " "}, "this is missing"),
        ({"heads": "0"}, "at least 1"),
        ({"heads": "13"}, "at most 12"),
        ({"heads": "5"}, "This class takes 4 people"),
    ],
)
def test_bad_input_is_said_and_loses_nothing(house, now, change, said) -> None:
    made = course(house, now)
    fields = {"heads": "2", "name": "Kim & Co", "email": "kim@example.org", "key": "k"} | change
    answer = client_of().post(f"/classes/{made.reference}/", fields)
    assert answer.status_code == 422 and said in words(answer)
    assert change.get("name") or 'value="Kim &amp; Co"' in answer.content.decode()
    assert not Place.objects.exists()


def test_a_full_class_says_so_and_offers_the_line(house, now) -> None:
    made = course(house, now)
    actions.sign_up(course=made, heads=4, member=makers.member("All"), now=now)
    asked = {"heads": "1", "name": "Kim", "email": "kim@example.org", "key": "k"}
    answer = client_of().post(f"/classes/{made.reference}/", asked)
    assert answer.status_code == 409 and "not enough places: 0 left" in words(answer)
    who = makers.member("Waits")
    answer = client_of(who).post(f"/classes/{made.reference}/", {"heads": "1", "wait": "on", "key": "k"}, follow=True)
    assert "In line" in words(answer) and "number 1" in words(answer)


def test_a_second_press_signs_up_once(house, now) -> None:
    made, who = course(house, now), makers.member("Twice")
    client = client_of(who)
    first, second = (client.post(f"/classes/{made.reference}/", {"heads": "1", "key": "k"}) for _ in range(2))
    assert first.url == second.url and Place.objects.count() == 1


def test_an_offer_is_taken_on_its_page_and_the_letter_says_until_when(house, now, outbox) -> None:
    made, waits = course(house, now), makers.member("Waits")
    leaver = actions.sign_up(course=made, heads=4, member=makers.member("All"), now=now)
    place = actions.sign_up(course=made, heads=2, member=waits, now=now, wait=True)
    actions.give_up(place=leaver, now=now, by=leaver.member)
    tasks.CHORES["letters"](now)
    letter = next(one for one in outbox if one.to == [waits.email] and "kept for you" in one.subject)
    assert "Thursday 26 November" in letter.body and "15:00" in letter.body
    client = client_of(waits)
    assert "Take it" in words(client.get(f"/places/{place.pk}/"))
    client.post(f"/places/{place.pk}/", {"do": "accept", "key": "a"})
    assert Place.objects.get(pk=place.pk).state == "booked"


def test_what_only_the_tutor_may_know_is_in_no_kept_answer_and_on_no_page_of_staff(house, now) -> None:
    made, who = course(house, now), makers.member("Says")
    place = actions.sign_up(course=made, heads=1, member=who, now=now)
    client = client_of(who)
    client.post(f"/places/{place.pk}/", {"do": "need", "words": "Allergic to metol", "key": "n"})
    assert PrivateNeed.objects.get().words == "Allergic to metol"
    assert not [one for one in GivenAnswer.objects.all() if "metol" in str(one.answer)]
    assert "Allergic to metol" in client.get(f"/places/{place.pk}/").content.decode()
    manager = client_of(makers.member("Boss", is_staff=True, is_manager=True))
    for path in (f"/places/{place.pk}/", f"/classes/{made.reference}/plan/", "/admin/studiodesk/privateneed/"):
        assert "metol" not in manager.get(path).content.decode()
    sent = {"do": "need", "words": "overwritten", "key": "m"}
    assert manager.post(f"/places/{place.pk}/", sent).status_code == 404
    assert PrivateNeed.objects.get().words == "Allergic to metol"


def test_another_tutor_and_other_members_do_not_see_who_comes(house, now) -> None:
    made = course(house, now)
    place = actions.sign_up(course=made, heads=1, member=makers.member("Comes"), now=now)
    for person in (makers.member("Other", is_tutor=True), makers.member("Key", is_keyholder=True), makers.member("M")):
        client = client_of(person)
        assert client.get(f"/classes/{made.reference}/plan/").status_code in {403, 404}
        assert client.get(f"/places/{place.pk}/").status_code == 404
    assert "Comes" in words(client_of(made.tutor).get(f"/classes/{made.reference}/plan/"))


def test_a_private_class_is_behind_its_link_until_the_link_is_made_anew(house, now) -> None:
    made = course(house, now, is_private=True)
    link = f"/classes/with/{invitation_of(made)}/"
    asked = {"heads": "1", "name": "Kim", "email": "kim@example.org", "key": "k"}
    assert client_of().post(link, asked).status_code == 200
    actions.make_invitation(course=made, now=now, by=makers.member("Staff", is_staff=True))
    assert client_of().get(link).status_code == 404
    assert client_of().get(f"/places/of/{place_key(Place.objects.get())}/").status_code == 200


def test_a_tutor_starts_with_nothing_writes_an_outline_looks_and_announces(house, now) -> None:
    tutor = makers.member("Tutor", is_tutor=True)
    client = client_of(tutor)
    assert "Write the first one" in words(client.get("/outlines/"))
    fields = {
        "name": "First prints",
        "sort": "class",
        "level": "no experience",
        "meetings": "1",
        "length": "180",
        "before": "30",
        "after": "30",
        "heads_most": "4",
        "heads_least": "2",
        "heads_a_station": "2",
        "process": str(house.processes["rc"].pk),
        "places": "each",
        "price": "45.50",
        "member_price": "",
        "free_cancel_days": "7",
        "kind_1": "enlarger booth",
        "paper_1": "203 × 254 mm",
        "sheets_1": "4",
        "key": "outline",
    }
    answer = client.post("/outlines/new/", fields)
    assert answer.status_code == 302, words(answer)
    row = Outline.objects.get()
    assert (row.price_minor, row.needs.count(), row.papers.get().sheets_a_head) == (4550, 2, 4)
    asked = {
        "first_day": "2026-12-09",
        "begins": "19:00",
        "every": "1",
        "times": "3",
        "tutor": str(tutor.pk),
        "heads_most": "4",
        "heads_least": "2",
    }
    looked = client.get(answer.url, asked)
    assert looked.status_code == 200 and "All of it is free" in words(looked)
    made = client.post(answer.url, asked | {"key": "announce"}, follow=True)
    assert "3 classes are announced." in words(made) and "Nobody has signed up yet." in words(made)
    assert Course.objects.count() == 3
    # What was put in comes back as it was.
    assert 'value="203 x 254"' in client.get(f"/outlines/{row.code}/").content.decode()


def test_what_stands_in_the_way_is_named_with_the_nearest_days_and_nothing_is_kept(house, now) -> None:
    from studiodesk.bookings import actions as bookings

    from .making import at

    staff, span = makers.member("Staff", is_staff=True), at(now)
    for number, station in enumerate(("E1", "E3", "E4")):
        who = makers.member(f"Inger{number}")
        bookings.book(
            member=who,
            station=house.stations[station],
            process=house.processes["rc"],
            starts=span.starts,
            ends=span.ends,
            now=now,
            by=who,
        )
    of = outline(house, now)
    asked = {
        "first_day": "2026-12-09",
        "begins": "15:00",
        "every": "1",
        "times": "1",
        "heads_most": "4",
        "heads_least": "2",
    }
    client = client_of(staff)
    looked = client.get(f"/outlines/{of.code}/dates/", asked)
    said = words(looked)
    assert "2 × enlarger booth needed, 1 is free" in said and "Inger0" in said
    assert "Thursday 10 December" in said and "Announce it" not in said
    refused = client.post(f"/outlines/{of.code}/dates/", asked | {"key": "k"})
    assert refused.status_code == 409 and not Course.objects.exists()
    again = client.get(
        f"/outlines/{of.code}/dates/?"
        + re.search(r'href="\?(first_day[^"]+)"', looked.content.decode())[1].replace("&amp;", "&")
    )
    assert "All of it is free" in words(again)


def test_moving_and_calling_off_are_told_to_members_and_guests(house, now, outbox) -> None:
    staff = makers.member("Staff", is_staff=True)
    made = course(house, now)
    member = makers.member("Comes")
    actions.sign_up(course=made, heads=1, member=member, now=now)
    guest = actions.sign_up(course=made, heads=1, name="Kim", email="kim@example.org", now=now)
    actions.confirm_place(place=guest, now=now)
    client, way = client_of(staff), f"/classes/{made.reference}/plan/"
    client.post(way, {"do": "move", "first_day": "2026-12-10", "begins": "18:00", "key": "m"})
    no = client.post(way, {"do": "call_off", "because": "", "key": "x"})
    assert no.status_code == 422
    client.post(way, {"do": "call_off", "because": "The tutor is ill", "key": "c"})
    tasks.CHORES["letters"](now)
    told = {(one.to[0], one.subject.split(":")[0]) for one in outbox}
    for address in (member.email, "kim@example.org"):
        assert {(address, "Other times"), (address, "Called off")} <= told
    off = next(one for one in outbox if one.subject.startswith("Called off"))
    assert "The tutor is ill" in off.body
    assert "Called off" in words(client_of().get(f"/classes/{made.reference}/"))


def test_a_class_that_is_over_is_no_longer_on(house, now) -> None:
    made = course(house, now)
    with time_machine.travel(now + timedelta(days=15), tick=False):
        assert made.title not in words(client_of().get("/classes/"))


def test_every_field_of_an_outline_stands_in_one_section(house, now) -> None:
    from studiodesk.classes.forms import OutlineForm

    form = OutlineForm(studio=house.studio)
    shown = [field.name for _heading, fields in form.sections() for field in fields]
    assert sorted(shown) == sorted(form.fields)
