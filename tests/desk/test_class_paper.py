"""What a class asks of the baths, at the desk and on the board, and its paper in one entry."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions as bookings
from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Feed
from studiodesk.classes import actions
from studiodesk.planning.actions import keep_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.timekeeping import Span
from tests import makers
from tests.classes.making import HOUR, course, outline
from tests.classes.test_pages import client_of, words
from tests.planning.evenings import refill


@pytest.fixture
def made(house, now):
    """Four people in three days' time; the RC developer was filled this morning."""
    refill(house, now, now, ("P-RC", "dev"))
    row = course(house, now, days=3, of=outline(house, now, decide_days=None))
    actions.sign_up(course=row, heads=4, member=makers.member("Ona"), now=now)
    return row


def asks(house, **changed):
    """The newest forecast of the RC developer says this of the class."""
    row = KeptForecast.objects.filter(bath=house.baths["P-RC", "dev"]).latest("at")
    row.classes = [ask | changed for ask in row.classes]
    row.save(update_fields=["classes"])


def test_the_desk_says_in_one_line_who_comes_and_that_the_baths_carry_it(house, now, clock, made):
    keep_forecasts(now=now)
    page = words(client_of(makers.member("Kees", is_keyholder=True)).get("/desk/"))
    assert "First prints , with Tutor: 4 of 4 people The baths carry it." in page


def test_a_bath_that_does_not_carry_it_is_named_with_what_to_do(house, now, clock, made):
    keep_forecasts(now=now)
    asks(house, used=0.86, chance=0.02)
    desk = client_of(makers.member("Kees", is_keyholder=True))
    said = "about 86 % used after it, tired by then: better changed before Saturday 28 November"
    assert f"Dev, RC processor : {said}" in words(desk.get("/desk/"))
    assert f"First prints, Sat 28 Nov: {said}" in words(desk.get("/baths/"))
    # a member reads of the bath, not whose class it is
    page = words(client_of(makers.member("Mo")).get("/baths/"))
    assert f"Class on Sat 28 Nov: {said}" in page and "First prints" not in page


def test_a_change_planned_before_the_class_settles_it(house, now, clock, made):
    keep_forecasts(now=now)
    asks(house, used=1.1, chance=0.7)
    staff = makers.member("Staff", is_staff=True)
    page = words(client_of(staff).get("/desk/"))
    assert "at its end 7 times in 10: change it before Saturday 28 November" in page
    begins = made.meetings.get().stay.starts - timedelta(hours=24)
    bookings.close_processor(
        processor=house.processors["P-RC"], span=Span(begins, begins + 2 * HOUR), reason="", now=now, by=staff,
        cause="bath change",
    )  # fmt: skip
    assert "The baths carry it." in words(client_of(staff).get("/desk/"))
    page = words(client_of(staff).get(f"/classes/{made.reference}/paper/"))
    assert "a change is planned for Fri 27 Nov" in page


def test_the_desk_asks_the_same_number_of_questions_for_one_class_and_for_five(house, now, clock, made):
    desk = client_of(makers.member("Kees", is_keyholder=True))
    keep_forecasts(now=now)
    desk.get("/desk/")
    with CaptureQueriesContext(connection) as one:
        desk.get("/desk/")
    for days in (2, 4, 5, 6):
        course(house, now, days=days, of=made.outline, tutor=makers.member(f"T{days}", is_tutor=True))
    keep_forecasts(now=now)
    with CaptureQueriesContext(connection) as five:
        desk.get("/desk/")
    assert len(one) == len(five) <= 15


def test_before_it_begins_the_page_says_what_it_will_ask_and_takes_no_paper(house, now, clock, made):
    way, tutor = f"/classes/{made.reference}/paper/", client_of(made.tutor)
    page = words(tutor.get(way))
    assert "A full class puts about 0.82 m² of paper through." in page  # 4 × 4 × 203 × 254 mm
    assert "Paper is logged here once the class has begun." in page
    keep_forecasts(now=now)
    page = words(tutor.get(way))
    assert "About 0.74 m² of paper is expected" in page  # nine heads in ten come
    assert tutor.post(way, {"processor": "P-RC", "P-RC-sheets_1": "3", "key": "k"}).status_code == 302
    assert not Feed.objects.exists()


def logged(house, now):
    standing = next(one for one in chemistry.standings(now) if one.of.pk == house.baths["P-RC", "dev"].pk)
    return standing.area_mm2


def test_the_tutor_logs_the_paper_of_the_whole_class_and_the_baths_count_it(house, now, clock, made):
    way, tutor = f"/classes/{made.reference}/paper/", client_of(made.tutor)
    stay = made.meetings.get().stay
    small, large = house.sizes["203x254"], house.sizes.get("254x305", None)
    sizes = [one for one in chemistry.sheets_for(house.processors["P-RC"]) if one.pk != small.pk]
    large = large or sizes[0]
    with time_machine.travel(stay.ends + timedelta(minutes=20), tick=False):
        page = tutor.get(way)
        assert "About 16 were expected." in words(page)
        fields = {
            "processor": "P-RC", "P-RC-kind": "print", f"P-RC-sheets_{small.pk}": "14",
            f"P-RC-sheets_{large.pk}": "2", "key": "k1",
        }  # fmt: skip
        said = tutor.post(way, fields, follow=True)
        assert "Logged 16 sheets for the class." in words(said)
        tutor.post(way, fields)  # the same press again
        feeds = list(Feed.objects.order_by("-sheets"))
        assert [(one.sheets, one.who, one.group_id, one.fed_at) for one in feeds] == [
            (14, "class", stay.pk, stay.ends),
            (2, "class", stay.pk, stay.ends),
        ]
        area = 14 * small.area_mm2 + 2 * large.area_mm2
        assert logged(house, stay.ends + HOUR) == area
        undone = tutor.post(way, {"undo": str(feeds[1].pk)}, follow=True)
        assert "Taken back." in words(undone)
        assert logged(house, stay.ends + HOUR) == area - 2 * large.area_mm2
        assert Feed.objects.get(undoes=feeds[1]).group_id == stay.pk
        assert tutor.post(way, {"undo": "999999"}).status_code == 404


def test_an_empty_entry_and_too_many_sheets_are_told_and_lose_nothing(house, now, clock, made):
    way, tutor = f"/classes/{made.reference}/paper/", client_of(made.tutor)
    small = house.sizes["203x254"]
    with time_machine.travel(made.meetings.get().stay.ends, tick=False):
        answer = tutor.post(way, {"processor": "P-RC", "P-RC-kind": "print", "key": "k1"})
        assert answer.status_code == 422 and "Write how many sheets went through." in words(answer)
        fields = {"processor": "P-RC", "P-RC-kind": "print", f"P-RC-sheets_{small.pk}": "20000", "key": "k2"}
        answer = tutor.post(way, fields)
        assert answer.status_code == 422 and 'value="20000"' in answer.content.decode()
    assert not Feed.objects.exists()


def test_sheets_logged_as_a_class_at_the_tablet_belong_to_the_class_that_is_on(house, now, clock, made):
    from studiodesk.chemistry.actions import log_sheets

    stay = made.meetings.get().stay
    more = {"processor": house.processors["P-RC"], "sheet": house.sizes["203x254"], "sheets": 1, "kind": "print"}
    during = log_sheets(**more, who="class", fed_at=stay.starts, now=stay.ends)
    before = log_sheets(**more, who="class", fed_at=stay.starts - timedelta(hours=2), now=stay.ends)
    walk_in = log_sheets(**more, who="walk-in", fed_at=stay.starts, now=stay.ends)
    assert (during.group, before.group, walk_in.group) == (stay, None, None)


def test_whoever_neither_teaches_nor_helps_finds_no_page(house, now, clock, made):
    way = f"/classes/{made.reference}/paper/"
    assert client_of(makers.member("Mo")).get(way).status_code == 404
    assert client_of(makers.member("Other", is_tutor=True)).get(way).status_code == 404
    assert client_of(makers.member("Kees", is_keyholder=True)).get(way).status_code == 200
    assert client_of().get(way).status_code == 302
    assert client_of(made.tutor).get(f"{way}?date=99999").status_code == 404
    assert client_of(made.tutor).get("/classes/nothing/paper/").status_code == 404


def test_the_first_page_says_what_one_teaches_and_where_one_has_a_place(house, now, clock, made):
    ona = made.places.get().member
    page = words(client_of(made.tutor).get("/"))
    assert "You teach: Saturday 28 November 2026, 15:00 to 18:00 First prints, roster" in page
    page = words(client_of(ona).get("/"))
    assert "Your classes Saturday 28 November 2026" in page and "You teach" not in page
    assert "Your classes" not in words(client_of(makers.member("Mo")).get("/"))
    actions.call_off_course(course=made, because="ill", now=now, by=made.tutor)
    assert "Your classes" not in words(client_of(ona).get("/"))


def test_the_first_page_says_that_somebody_is_only_in_line(house, now, clock, made):
    ona, mo = made.places.get().member, makers.member("Mo")
    actions.sign_up(course=made, heads=1, member=mo, now=now, wait=True)
    assert "15:00 to 18:00 · In line First prints" in words(client_of(mo).get("/"))
    assert "In line" not in words(client_of(ona).get("/"))
