"""The page of a place: what only its owner reads, and whose it is."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
import time_machine

from studiodesk import tasks
from studiodesk.classes import actions
from studiodesk.classes.models import Place, PrivateNeed
from studiodesk.classes.queries import invitation_of, place_key
from tests import makers

from .making import course, outline
from .test_pages import client_of, words


@pytest.fixture(autouse=True)
def then(now):
    with time_machine.travel(now, tick=False):
        yield


def guests(house, now):
    """A guest's confirmed place, with words for the tutor."""
    made = course(house, now)
    place = actions.sign_up(course=made, heads=1, name="Kim", email="kim@example.org", now=now)
    actions.confirm_place(place=place, now=now)
    actions.say_need(place=place, words="Allergic to metol", now=now)
    return place


def test_staff_do_not_read_what_a_guest_told_the_tutor(house, now) -> None:
    place = guests(house, now)
    staff = client_of(makers.member("Staff", is_staff=True))
    page = staff.get(f"/places/{place.pk}/")
    assert page.status_code == 200
    assert "metol" not in page.content.decode() and "For the tutor alone" not in words(page)
    assert staff.post(f"/places/{place.pk}/", {"do": "need", "words": "x", "key": "k"}).status_code == 404
    assert PrivateNeed.objects.get().words == "Allergic to metol"


def test_whoever_opens_their_guest_link_logged_in_is_the_guest(house, now) -> None:
    place = guests(house, now)
    link = f"/places/of/{place_key(place)}/"
    for number, person in enumerate((None, makers.member("Kim"), makers.member("Staff", is_staff=True))):
        client = client_of(person)
        assert PrivateNeed.objects.get().words in client.get(link).content.decode()
        said = f"Allergic to hydroquinone {number}"
        assert client.post(link, {"do": "need", "words": said, "key": f"k{number}"}).status_code == 302
        assert PrivateNeed.objects.get().words == said


SIGN_UP = {"heads": "1", "name": "Kim", "email": "kim@example.org", "wait": "on"}


def letters(outbox, now) -> list[str]:
    tasks.CHORES["letters"](now)
    return [one.subject.split(":")[0] for one in outbox if one.to == ["kim@example.org"]]


def test_a_guest_who_signs_up_again_gets_the_letter_again_but_not_at_every_press(house, now, outbox) -> None:
    made = course(house, now)
    for minutes, sent in ((0, 1), (3, 1), (11, 2), (12, 2), (22, 3)):
        then = now + timedelta(minutes=minutes)
        with time_machine.travel(then, tick=False):
            answer = client_of().post(f"/classes/{made.reference}/", SIGN_UP | {"key": f"k{minutes}"})
            assert answer.status_code == 200
            assert letters(outbox, then) == ["Please confirm"] * sent, minutes
    assert Place.objects.count() == 1


def test_a_guest_with_a_place_reads_the_same_as_a_new_one(house, now, outbox) -> None:
    made = course(house, now)
    fresh = words(client_of().post(f"/classes/{made.reference}/", SIGN_UP | {"key": "a"}))
    actions.confirm_place(place=Place.objects.get(), now=now)
    later = now + timedelta(minutes=20)
    with time_machine.travel(later, tick=False):
        again = words(client_of().post(f"/classes/{made.reference}/", SIGN_UP | {"key": "b"}))
    assert again == fresh
    assert letters(outbox, later)[-1] == "Your place", "the letter has the link to what they have"


@pytest.mark.parametrize("name", ["k\u0131m", "ZOË", "straße", "ΣΊΣΥΦΟΣ"])
def test_a_link_works_whatever_letters_the_address_has(house, now, name) -> None:
    """Python's casefold, SQLite's LIKE and PostgreSQL's UPPER differ over these."""
    made, email = course(house, now), f"{name}@example.org"
    place = actions.sign_up(course=made, heads=1, name="Kim", email=email, now=now)
    assert client_of().get(f"/places/of/{place_key(place)}/").status_code == 200
    if email.swapcase().casefold() == email.casefold():
        again = actions.sign_up(course=made, heads=1, name="Kim", email=email.swapcase(), now=now)
        assert again.pk == place.pk


def test_a_network_address_that_signs_up_again_and_again_waits(house, now) -> None:
    made = course(house, now)
    for number in range(5):
        sent = SIGN_UP | {"email": f"kim{number}@example.org", "key": f"k{number}"}
        assert client_of().post(f"/classes/{made.reference}/", sent).status_code == 200
    sent = SIGN_UP | {"email": "one-more@example.org", "key": "k"}
    answer = client_of().post(f"/classes/{made.reference}/", sent)
    assert answer.status_code == 429 and "too many tries" in words(answer)
    assert not Place.objects.filter(email="one-more@example.org").exists()
    who = makers.member("Logged in")
    assert (
        client_of(who).post(f"/classes/{made.reference}/", {"heads": "1", "wait": "on", "key": "m"}).status_code == 302
    )
    with time_machine.travel(now + timedelta(seconds=16), tick=False):
        assert client_of().post(f"/classes/{made.reference}/", sent | {"key": "k6"}).status_code == 200


def test_how_old_a_guest_is_is_asked_where_it_matters(house, now) -> None:
    made = course(house, now, of=outline(house, now, minimum_age=16))
    path = f"/classes/{made.reference}/"
    assert "Everybody who comes is 16 or older" in words(client_of().get(path))
    no = client_of().post(path, SIGN_UP | {"key": "a"})
    assert no.status_code == 422 and not Place.objects.exists()
    assert client_of().post(path, SIGN_UP | {"old_enough": "on", "key": "b"}).status_code == 200
    known = makers.member("Known", born_on=date(2000, 1, 1))
    assert "16 or older" not in words(client_of(known).get(path))
    assert "16 or older" in words(client_of(makers.member("Unknown")).get(path))


def booked(house, now, **more):
    made = course(house, now, **more)
    who = makers.member("Cannot come")
    return actions.sign_up(course=made, heads=1, member=who, now=now), who


def test_a_place_is_passed_on_by_number_or_by_address(house, now, outbox) -> None:
    place, who = booked(house, now)
    one, two = makers.member("One"), makers.member("Two")
    client_of(who).post(f"/places/{place.pk}/", {"do": "pass_on", "whom": one.number, "key": "a"})
    assert Place.objects.get().member == one
    client_of(one).post(f"/places/{place.pk}/", {"do": "pass_on", "whom": two.email.upper(), "key": "b"})
    assert Place.objects.get().member == two and Place.objects.get().state == "booked"
    assert client_of(one).get(f"/places/{place.pk}/").status_code == 404
    tasks.CHORES["letters"](now)
    assert {one.to[0] for one in outbox} >= {who.email, one.email, two.email}


def test_passing_on_says_nothing_of_who_is_a_member(house, now) -> None:
    place, who = booked(house, now, of=outline(house, now, minimum_age=16))
    has, gone = makers.member("Has one"), makers.member("Left", is_active=False)
    actions.sign_up(course=place.course, heads=1, member=has, now=now)
    young, fine = makers.member("Young", born_on=date(2014, 1, 1)), makers.member("Fine")
    said = set()
    for number, whom in enumerate(("nobody@example.org", has.email, young.number, gone.email, fine.email)):
        with time_machine.travel(now + timedelta(minutes=20 * number), tick=False):
            sent = {"do": "pass_on", "whom": whom, "key": f"k{number}"}
            answer = client_of(who).post(f"/places/{place.pk}/", sent, follow=True)
        said.add(
            (
                tuple(answer.redirect_chain),
                answer.status_code,
                re.search(r"If a member has.*?still yours\.", words(answer))[0],
            )
        )
        assert Place.objects.get(pk=place.pk).member == (fine if whom == fine.email else who)
    assert len(said) == 1


def test_staff_are_told_why_a_place_cannot_be_passed_on(house, now) -> None:
    place, _who = booked(house, now)
    has = makers.member("Has one")
    actions.sign_up(course=place.course, heads=1, member=has, now=now)
    staff = client_of(makers.member("Staff", is_staff=True))
    for number, (whom, said) in enumerate(
        [("X-404", "No member who is here"), (has.number, "has a place in this class")]
    ):
        answer = staff.post(f"/places/{place.pk}/", {"do": "pass_on", "whom": whom, "key": f"k{number}"})
        assert answer.status_code == 409 and said in words(answer)


def test_only_a_place_that_is_booked_is_passed_on_and_nobody_guesses_through_it(house, now) -> None:
    made = course(house, now)
    actions.sign_up(course=made, heads=4, member=makers.member("All"), now=now)
    who, fine = makers.member("Waits"), makers.member("Fine")
    waits = actions.sign_up(course=made, heads=1, member=who, now=now, wait=True)
    assert "Somebody else comes instead" not in words(client_of(who).get(f"/places/{waits.pk}/"))
    sent = {"do": "pass_on", "whom": fine.number, "key": "k"}
    assert client_of(who).post(f"/places/{waits.pk}/", sent).status_code == 404
    place, who = booked(house, now, days=20, of=outline(house, now, code="b"))
    for number in range(5):
        client_of(who).post(f"/places/{place.pk}/", {"do": "pass_on", "whom": f"X-{number}", "key": f"k{number}"})
    answer = client_of(who).post(f"/places/{place.pk}/", sent)
    assert answer.status_code == 429 and Place.objects.get(pk=place.pk).member == who


def test_somebody_in_line_reads_so_and_can_become_fewer(house, now) -> None:
    made = course(house, now)
    actions.sign_up(course=made, heads=4, member=makers.member("All"), now=now)
    who = makers.member("Waits")
    place = actions.sign_up(course=made, heads=3, member=who, now=now, wait=True)
    client = client_of(who)
    for path in ("/classes/", f"/classes/{made.reference}/"):
        assert "In line" in words(client.get(path)) and "You have signed up" not in words(client.get(path))
    assert "Fewer of us come" in words(client.get(f"/places/{place.pk}/"))
    client.post(f"/places/{place.pk}/", {"do": "shrink", "heads": "2", "key": "k"})
    place = Place.objects.get(pk=place.pk)
    assert (place.heads, place.state) == (2, "waiting")


def test_a_guest_takes_a_private_class_into_their_calendar_by_its_link(house, now) -> None:
    made = course(house, now, is_private=True)
    link = f"/classes/with/{invitation_of(made)}/"
    assert f"{link}calendar.ics" in client_of().get(link).content.decode()
    file = client_of().get(f"{link}calendar.ics")
    assert file.status_code == 200 and b"BEGIN:VEVENT" in file.content
    actions.make_invitation(course=made, now=now, by=makers.member("Staff", is_staff=True))
    assert client_of().get(f"{link}calendar.ics").status_code == 404


def test_whoever_was_thrown_out_of_a_private_class_does_not_see_it_any_more(house, now) -> None:
    made, who = course(house, now, is_private=True), makers.member("Out")
    place = actions.sign_up(course=made, heads=1, member=who, now=now)
    client, staff = client_of(who), makers.member("Staff", is_staff=True)
    assert client.get(f"/classes/{made.reference}/").status_code == 200
    actions.give_up(place=place, now=now, by=staff, by_house=True)
    assert client.get(f"/classes/{made.reference}/").status_code == 404
    assert client.post(f"/classes/{made.reference}/", {"heads": "1", "key": "k"}).status_code == 404


def test_a_class_that_is_off_has_no_places_to_offer(house, now) -> None:
    made = course(house, now)
    actions.call_off_course(course=made, because="No water", now=now, by=makers.member("Staff", is_staff=True))
    page = client_of().get(f"/classes/{made.reference}/")
    assert "of 4 left" not in words(page) and "InStock" not in page.content.decode()
    assert "EventCancelled" in page.content.decode()
    listed = words(client_of().get("/classes/"))
    assert "Called off" in listed and "EUR" not in listed and "free of charge" not in listed


def test_a_place_that_costs_nothing_says_so(house, now) -> None:
    free = outline(house, now, code="free", price_minor=0, member_price_minor=None)
    place, who = booked(house, now, of=free)
    page = words(client_of(who).get(f"/places/{place.pk}/"))
    assert "Price free of charge" in page
    actions.give_up(place=place, now=now, by=who)
    assert "Price" not in words(client_of(who).get(f"/places/{place.pk}/"))


def test_staff_reach_a_guests_place_from_the_plan(house, now) -> None:
    place = guests(house, now)
    staff = client_of(makers.member("Staff", is_staff=True))
    assert f'href="/places/{place.pk}/"' in staff.get(f"/classes/{place.course.reference}/plan/").content.decode()
