"""A booth breaks an hour before a class: it takes another one like it, or goes on without, and the tutor is told."""

from __future__ import annotations

from datetime import timedelta

import html5lib
import pytest
import time_machine

from studiodesk import tasks
from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold, Outage
from studiodesk.bookings.queries import groups_hit_by
from studiodesk.journal.models import Notice
from studiodesk.timekeeping import Span
from tests import makers
from tests.classes.making import HOUR, course
from tests.classes.test_pages import client_of, words

HALF = timedelta(minutes=30)


@pytest.fixture
def staff(house):
    return makers.member("Staff", is_staff=True)


@pytest.fixture
def made(house, now):
    """Two booths of the shared room and two places at the RC processor, in two weeks."""
    return course(house, now)


def stay_of(made):
    return made.meetings.get().stay


def kept(stay) -> dict[str, list[tuple]]:
    out: dict[str, list[tuple]] = {}
    for hold in Hold.objects.filter(group=stay, lane__resource__station__isnull=False).order_by("starts"):
        out.setdefault(hold.lane.resource.station.code, []).append((hold.starts, hold.ends))
    return out


def shut(thing, span, now, staff) -> Outage:
    return actions.shut(things=[thing], span=span, reason="The lamp is broken", cause="fault", now=now, by=staff).outage


def code_of(work) -> str:
    with pytest.raises(Refused) as refused:
        work()
    return refused.value.refusal.code


def test_another_booth_like_it_is_kept_and_the_broken_one_falls_to_the_outage(house, made, staff, outbox) -> None:
    stay = stay_of(made)
    at = stay.starts - HOUR
    assert sorted(kept(stay)) == ["E3", "E4"]
    outage = shut(house.stations["E3"], Span(at, stay.ends), at, staff)
    (hit,) = groups_hit_by(outage, at)
    assert (hit.stay, hit.thing) == (stay, house.stations["E3"])
    has = actions.take_another(stay=stay, resource=hit.thing.resource, now=at, by=staff)
    assert has.code in {"E1", "E2"}
    whole = (stay.starts - HALF, stay.ends + HALF)
    assert kept(stay) == {"E4": [whole], has.code: [whole]}
    assert groups_hit_by(outage, at) == []
    assert Hold.objects.filter(outage=outage, lane__resource=house.stations["E3"].resource).exists()
    tasks.CHORES["letters"](at)
    subjects = [letter.subject for letter in outbox if letter.to == [made.tutor.email]]
    # what it has instead is said, and the letter that the desk looks for something is not sent any more
    assert [one for one in subjects if "Booth 3" in one] == [
        f"{has.name} instead of Booth 3: First prints, Wednesday 9 December 2026"
    ]
    letter = next(letter for letter in outbox if "instead of" in letter.subject)
    said_in_both(letter, f"First prints has {has.name} instead of Booth 3, which is out of service then.")


def test_the_tutor_is_told_at_once_what_is_out_of_service(house, made, staff, outbox) -> None:
    stay = stay_of(made)
    at = stay.starts - HOUR
    shut(house.stations["E3"], Span(at, stay.ends), at, staff)
    tasks.CHORES["letters"](at)
    letter = next(one for one in outbox if "Out of service" in one.subject)
    assert letter.to == [made.tutor.email] and "The lamp is broken" in letter.body
    assert letter.subject == "Out of service: Booth 3, for First prints, Wednesday 9 December 2026"
    said_in_both(letter, "Booth 3 is kept for First prints (Wednesday 9 December 2026, 15:00 to 18:00)")


def said_in_both(letter, *sentences) -> None:
    html = str(letter.alternatives[0][0])
    page = html5lib.HTMLParser(strict=True).parse(html.strip())
    read = " ".join(" ".join(page.itertext()).split())
    for sentence in ("Hello Tutor,", *sentences):
        assert sentence in " ".join(letter.body.split()) and sentence in read, sentence
    assert "{{" not in html + letter.body and "None" not in letter.body


def test_where_nothing_like_it_is_free_the_class_can_go_on_without(house, made, staff, now) -> None:
    stay = stay_of(made)
    for code in ("E1", "E2"):
        who = makers.member(f"At {code}")
        actions.book(
            member=who, station=house.stations[code], process=house.processes["rc"], starts=stay.starts,
            ends=stay.ends, now=now, by=who,
        )  # fmt: skip
    at = stay.starts - HOUR
    outage = shut(house.stations["E3"], Span(at, stay.ends), at, staff)
    broken = house.stations["E3"].resource
    before = kept(stay)
    another = lambda: actions.take_another(stay=stay, resource=broken, now=at, by=staff)  # noqa: E731
    assert code_of(another) == "bookings.nothing_like_it"
    assert kept(stay) == before and Booking.objects.filter(cancelled_at__isnull=True).count() == 2
    actions.do_without(stay=stay, resource=broken, now=at, by=staff)
    assert sorted(kept(stay)) == ["E4"] and groups_hit_by(outage, at) == []
    assert code_of(another) == "bookings.not_its_thing"
    assert Notice.objects.filter(code="bookings.group_refitted", person=made.tutor).count() == 1


def test_while_the_class_is_on_what_has_been_stays_and_only_the_rest_moves(house, made, staff) -> None:
    stay = stay_of(made)
    at = stay.starts + HOUR
    shut(house.stations["E3"], Span(at, stay.ends), at, staff)
    has = actions.take_another(stay=stay, resource=house.stations["E3"].resource, now=at, by=staff)
    found = kept(stay)
    assert found["E3"] == [(stay.starts - HALF, at)]
    assert found[has.code] == [(at, stay.ends + HALF)]


def test_a_processor_that_fails_has_no_twin_in_a_small_house(house, made, staff) -> None:
    stay = stay_of(made)
    at = stay.starts - HOUR
    outage = shut(house.processors["P-RC"], Span(at, stay.ends), at, staff)
    (hit,) = groups_hit_by(outage, at)
    assert hit.thing == house.processors["P-RC"]
    resource = hit.thing.resource
    assert code_of(lambda: actions.take_another(stay=stay, resource=resource, now=at, by=staff)) == (
        "bookings.nothing_like_it"
    )
    actions.do_without(stay=stay, resource=resource, now=at, by=staff)
    assert not Hold.objects.filter(group=stay, lane__resource=resource).exists()


def test_only_whoever_runs_the_house_does_it_and_not_once_it_is_over(house, made, staff) -> None:
    stay, broken = stay_of(made), house.stations["E3"].resource
    act = lambda by, now: actions.do_without(stay=stay, resource=broken, now=now, by=by)  # noqa: E731
    assert code_of(lambda: act(made.tutor, stay.starts)) == "bookings.not_yours_to_move"
    assert code_of(lambda: act(staff, stay.ends)) == "bookings.group_is_over"


def test_the_desk_has_it_to_do_and_the_page_settles_it(house, made, staff) -> None:
    stay = stay_of(made)
    at = stay.starts - HOUR
    with time_machine.travel(at, tick=False):
        outage = shut(house.stations["E3"], Span(at, stay.ends), at, staff)
        client, way = client_of(staff), f"/out/{outage.pk}/"
        assert f'href="{way}"' in client.get("/desk/").content.decode()
        page = words(client.get(way))
        assert "1 class or group has something of it First prints" in page and "Tutor leads it and is told" in page
        hit = f"{stay.pk}-{house.stations['E3'].resource_id}"
        said = words(client.post(f"{way}group/", {"hit": hit, "do": "another"}, follow=True))
        assert "instead of Booth 3." in said
        said = words(client.post(f"{way}group/", {"hit": hit, "do": "without"}, follow=True))
        assert "Nothing stands in the way of that class any more." in said
        assert f'href="{way}"' not in client.get("/desk/").content.decode()


def test_before_anything_is_shut_the_class_that_has_it_is_shown(house, made, staff) -> None:
    stay = stay_of(made)
    at = stay.starts - HOUR
    with time_machine.travel(at, tick=False):
        client = client_of(staff)
        fields = {
            "things": "station E3", "first_day": "2026-12-09", "first_time": "14:30", "last_day": "2026-12-09",
            "last_time": "18:00", "reason": "lamp", "key": "k",
        }  # fmt: skip
        answer = client.post("/desk/close/", fields)
        assert answer.status_code == 409 and not Outage.objects.exists()
        assert "A class or a group stands there" in words(answer) and "First prints" in words(answer)
        seen = answer.context["seen"]
        assert client.post("/desk/close/", {**fields, "seen": seen}).status_code == 302
        assert Outage.objects.count() == 1
