"""Bookings in the way of a class: as few as can be are offered a move, and all happens in one act or nothing."""

from __future__ import annotations

from datetime import timedelta
from itertools import combinations

import pytest
import time_machine

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, Hold
from studiodesk.bookings.queries.groups import Facts, all_needs, window_of
from studiodesk.bookings.queries.making_room import moves_for_group, room_for
from studiodesk.classes import actions
from studiodesk.classes.models import Course
from studiodesk.classes.queries import wishes_for
from studiodesk.journal.models import Notice
from studiodesk.timekeeping import Span
from tests import makers
from tests.chemistry.pages import soup_of

from .making import at, outline
from .test_pages import client_of, words


def book(house, now, station, *, who=None, days=14, hours=0.0, length=2.0, process="rc"):
    starts = now + timedelta(days=days, hours=hours)
    who = who or makers.member(f"At {station}")
    return bookings.book(
        member=who, station=house.stations[station], process=house.processes[process], starts=starts,
        ends=starts + timedelta(hours=length), now=now, by=who,
    )  # fmt: skip


@pytest.fixture
def four(house, now):
    """A class of eight at all four places that do RC by twos, and the whole processor."""
    return outline(house, now, heads_most=8, decide_days=None,
                   needs=[("enlarger booth", house.processes["rc"], None), ("", house.processes["rc"], 0)])  # fmt: skip


def wishes(of, now, days=14):
    return wishes_for(of, [at(now, days)], of.heads_most)


def clashes(asked, moving) -> int:
    facts = Facts(all_needs(asked), window_of(asked), moving=moving)
    return sum(len(facts.fit(wish).clashes) for wish in asked)


def test_nobody_has_to_move_for_what_fits(house, now) -> None:
    of = outline(house, now)
    book(house, now, "E1")
    assert room_for(wishes(of, now), now=now) == []


def test_as_few_bookings_as_can_be_are_asked_to_move(house, now, four) -> None:
    """Against every smaller set: a brute-force oracle."""
    made = [book(house, now, "E3"), book(house, now, "E4", length=1), book(house, now, "E4", hours=2)]
    elsewhere = book(house, now, "E1", days=15)
    two = outline(house, now, code="small", heads_most=2, decide_days=None)
    for of in (four, two):
        asked = wishes(of, now)
        found = room_for(asked, now=now)
        assert found is not None and elsewhere not in found
        keys = [one.pk for one in found]
        assert clashes(asked, keys) == 0
        every = [one.pk for one in made]
        smaller = [set(some) for size in range(len(keys)) for some in combinations(every, size)]
        assert all(clashes(asked, list(some)) for some in smaller), "a smaller set would have done"


def test_what_is_no_booking_cannot_be_moved(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    bookings.close_station(station=house.stations["E3"], span=at(now), reason="", now=now, by=staff)
    assert room_for(wishes(four, now), now=now) is None


def test_who_is_in_is_never_asked_to_move(house, now, four) -> None:
    row = book(house, now, "E3", days=1)
    bookings.arrive(booking=row, now=row.starts, by=row.member)
    assert room_for(wishes(four, now, days=1), now=row.starts + timedelta(minutes=1)) is None


def hits(house, now, of, by):
    asked = wishes(of, now)
    return moves_for_group(room_for(asked, now=now), asked, house.studio, now, by)


def announce(house, now, of, by, room):
    return actions.announce(outline=of, spans=[at(now)], tutor=None, now=now, by=by, room=room)


def test_bookings_move_and_the_class_is_kept_in_one_act_and_everybody_is_told(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    one, two = book(house, now, "E3"), book(house, now, "E4", hours=1)
    found = hits(house, now, four, staff)
    assert {hit.booking.pk for hit in found} == {one.pk, two.pk} and all(hit.options for hit in found)
    taken = at(now).widened(timedelta(minutes=30), timedelta(minutes=30))
    assert not any(taken.overlaps(option.span) for hit in found for option in hit.options), "the class has all of it"
    made = announce(house, now, four, staff, [(hit.booking, hit.best) for hit in found])
    stay = made.meetings.get().stay
    assert {hold.lane.resource.station.code for hold in stay.holds.filter(lane__resource__station__isnull=False)} == {
        "E1", "E2", "E3", "E4",
    }  # fmt: skip
    for hit in found:
        row = Booking.objects.get(pk=hit.booking.pk)
        assert (row.starts, row.station) == (hit.best.starts, hit.best.station) and row.cancelled_at is None
        letter = Notice.objects.get(person=row.member, code="bookings.moved_by_house")
        assert letter.entry.facts["why"] == "“First prints” takes place then."


def test_one_choice_that_cannot_be_leaves_everything_as_it_was(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    one, two = book(house, now, "E3"), book(house, now, "E4", hours=1)
    first, second = hits(house, now, four, staff)
    before = set(Hold.objects.values_list("lane", "starts", "ends", "booking"))
    with pytest.raises(Refused):
        # the second is left where it is
        announce(house, now, four, staff, [(first.booking, first.best)])
    blocked = book(house, now, second.best.station.code, who=makers.member("Quick"),
                   days=(second.best.starts - now).days,
                   hours=((second.best.starts - now).seconds / 3600))  # fmt: skip
    with pytest.raises(Refused):
        announce(house, now, four, staff, [(hit.booking, hit.best) for hit in (first, second)])
    Booking.objects.get(pk=blocked.pk)
    after = set(Hold.objects.exclude(booking=blocked).values_list("lane", "starts", "ends", "booking"))
    assert after == before and not Course.objects.exists()
    assert not Notice.objects.filter(code="bookings.moved_by_house").exists()
    assert [Booking.objects.get(pk=row.pk).starts for row in (one, two)] == [one.starts, two.starts]


def test_a_booking_for_which_nothing_suits_is_cancelled_only_by_choice_and_told(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    row = book(house, now, "E3")
    announce(house, now, four, staff, [(row, None)])
    row.refresh_from_db()
    assert row.cancelled_at == now
    assert Notice.objects.filter(person=row.member, code="bookings.cancelled_by_house").exists()


def test_only_whoever_runs_the_house_moves_members(house, now, four) -> None:
    tutor = makers.member("Tutor", is_tutor=True)
    row = book(house, now, "E3")
    with pytest.raises(Refused) as refused:
        actions.announce(outline=four, spans=[at(now)], tutor=tutor, now=now, by=tutor, room=[(row, None)])
    assert refused.value.refusal.code == "bookings.not_yours_to_move"


def test_a_private_class_is_not_named_to_others(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    row = book(house, now, "E3")
    (hit,) = hits(house, now, four, staff)
    actions.announce(
        outline=four, spans=[at(now)], tutor=None, now=now, by=staff, is_private=True, room=[(row, hit.best)]
    )
    assert Notice.objects.get(code="bookings.moved_by_house").entry.facts["why"] == "A group has the house then."


def test_whoever_waits_is_not_asked_for_what_the_class_will_have(house, now, four) -> None:
    from studiodesk.bookings.models import Offer

    staff = makers.member("Staff", is_staff=True)
    row = book(house, now, "E3")
    for code in ("E1", "E2", "E4"):
        book(house, now, code)
    found = hits(house, now, four, staff)
    announce(house, now, four, staff, [(hit.booking, hit.best) for hit in found])
    assert not Offer.objects.exists()
    assert Hold.objects.filter(booking=row).exists()


def test_moving_a_class_offers_moves_as_well(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    made = announce(house, now, four, staff, [])
    row = book(house, now, "E3", days=16)
    asked = wishes_for(four, [at(now, 16)], 8)
    stays = [meeting.stay for meeting in made.meetings.all()]
    found = room_for(asked, now=now, leaving_out=stays)
    assert found == [row]
    (hit,) = moves_for_group(found, asked, house.studio, now, staff, stays)
    with pytest.raises(Refused):
        actions.move_course(course=made, spans=[at(now, 16)], now=now, by=staff)
    actions.move_course(course=made, spans=[at(now, 16)], now=now, by=staff, room=[(row, hit.best)])
    stay = made.meetings.get().stay
    assert Span(stay.starts, stay.ends) == at(now, 16)


def options_of(page, booking) -> list[str]:
    names = page.find_all("input", attrs={"name": f"move-{booking.pk}"})
    return [one["value"] for one in names]


def test_the_page_of_dates_offers_each_member_a_move_and_announces_in_the_same_press(house, now, four) -> None:
    staff, row = makers.member("Staff", is_staff=True), book(house, now, "E3")
    with time_machine.travel(now, tick=False):
        client, way = client_of(staff), f"/outlines/{four.code}/dates/"
        asked = {
            "first_day": "2026-12-09",
            "begins": "15:00",
            "heads_most": 8,
            "heads_least": 2,
            "times": 1,
            "every": 1,
        }
        page = soup_of(client.get(way, asked))
        assert "1 booking of a member is in the way" in page.get_text()
        first, *_others = options_of(page, row)
        assert options_of(page, row)[-2:] == ["", "cancel"]
        sent = {**asked, "room": "1", f"move-{row.pk}": "", "key": "k1"}
        answer = client.post(way, sent)
        assert answer.status_code == 409 and "no move was chosen" in words(answer)
        assert not Course.objects.exists()
        assert client.post(way, {**sent, f"move-{row.pk}": first, "key": "k2"}).status_code == 302
        assert Course.objects.count() == 1
        before = row.starts, row.station
        row.refresh_from_db()
        assert (row.starts, row.station) != before and row.cancelled_at is None
        # a tutor who does not run the house reads who is in the way, and may move nobody
        tutor = client_of(makers.member("Tutor", is_tutor=True))
        asked["first_day"] = "2026-12-10"
        book(house, now, "E3", days=15, who=row.member)
        page = soup_of(tutor.get(way, asked))
        assert "Make room for it" not in page.get_text() and "In the way:" in page.get_text()


def test_the_page_that_runs_a_class_says_why_it_cannot_be_moved_there_and_offers_the_moves(house, now, four) -> None:
    staff = makers.member("Staff", is_staff=True)
    made = announce(house, now, four, staff, [])
    row = book(house, now, "E3", days=16)
    with time_machine.travel(now, tick=False):
        client, way = client_of(staff), f"/classes/{made.reference}/plan/"
        asked = {"do": "move", "first_day": "2026-12-11", "begins": "15:00", "key": "m1"}
        answer = client.post(way, asked)
        page = soup_of(answer)
        assert answer.status_code == 409 and "What stands in the way" in page.get_text()
        assert "The nearest days on which it fits" in page.get_text()
        first = options_of(page, row)[0]
        answer = client.post(way, {**asked, "room": "1", f"move-{row.pk}": first, "key": "m2"})
        assert answer.status_code == 302
    stay = made.meetings.get().stay
    assert Span(stay.starts, stay.ends) == at(now, 16)


def test_a_time_when_the_house_is_closed_is_said_and_never_offered(house, now, four) -> None:
    """The small house is open from 10 to 22, and on no Monday."""
    staff = makers.member("Staff", is_staff=True)
    book(house, now, "E3", hours=4)
    with time_machine.travel(now, tick=False):
        client, way = client_of(staff), f"/outlines/{four.code}/dates/"
        asked = {"begins": "20:00", "heads_most": 8, "heads_least": 2, "times": 1, "every": 1}
        page = client.get(way, {**asked, "first_day": "2026-12-09"})
        assert "The house is closed some of that time." in words(page)
        assert [link for link in soup_of(page).find_all("a") if "first_day=" in link["href"]] == []
        page = soup_of(client.get(way, {**asked, "begins": "19:00", "first_day": "2026-12-09"}))
        days = [link.get_text() for link in page.find_all("a") if "first_day=" in link["href"]]
        assert days and not any("Monday" in day for day in days)
        assert "The house is closed" not in page.get_text()
