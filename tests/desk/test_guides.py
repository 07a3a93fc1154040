"""The guides: each says what stands in the studio's own data, and says something else when that changes."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions as bookings
from studiodesk.chemistry import actions as chemistry
from studiodesk.desk import queries
from studiodesk.people import actions as doors
from studiodesk.safety import actions as safety
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Job, Process, Processor, Studio
from studiodesk.timekeeping import Span
from studiodesk.units import PL_PER_L
from tests import makers
from tests.chemistry.shelf import mixed, shelf
from tests.door.world import at, book, client_of, rule, text

HOUR = timedelta(hours=1)
ALL = ["/help/", "/help/first-evening/", "/help/day/", "/help/mixing/", "/help/bath-change/", "/house/", "/signs/"]


def page(who, path):
    answer = client_of(who).get(path)
    assert answer.status_code == 200, (path, answer.status_code)
    return text(answer)


def asked(who, path):
    client = client_of(who)
    client.get(path)
    with CaptureQueriesContext(connection) as seen:
        client.get(path)
    return [query["sql"] for query in seen.captured_queries]


# ---- a first evening -----------------------------------------------------------------------------------------------


def test_the_first_evening_is_read_from_the_house_as_it_stands(house, people):
    said = page(people["member"], "/help/first-evening/")
    assert "Wednesday 10:00 to 22:00" in said and "Monday closed" in said
    assert "Ready 30 minutes after the house opens. A sheet takes 3 minutes" in said
    stations.set_opening(week={0: [(720, 1080)], 2: [(600, 1320)]})
    Processor.objects.filter(code="P-RC").update(warm_up_minutes=55, dry_to_dry_minutes=7)
    said = page(people["member"], "/help/first-evening/")
    assert "Monday 12:00 to 18:00" in said
    assert "Ready 55 minutes after the house opens. A sheet takes 7 minutes" in said


def test_it_says_the_rules_of_the_house_as_they_were_set(house, people):
    assert "You may be in the house alone." in page(people["member"], "/help/first-evening/")
    rule("least_heads", 3)
    assert "At least 3 people have to be in the house at a time." in page(people["member"], "/help/first-evening/")


def test_the_next_booking_stands_on_top_with_its_two_times(house, people):
    assert "Your next booking" not in page(people["member"], "/help/first-evening/")
    book(house, people["member"], "E1", at(18), at(20))
    said = page(people["member"], "/help/first-evening/")
    assert said.index("Your next booking") < said.index("1. Find a time and book it")
    # Opening + warm-up, and the end less dry to dry: 10:00 + 30 min, 20:00 - 3 min.
    assert "Ready time 10:30" in said and "Last sheet in 19:57" in said


def test_it_names_what_is_still_to_read_and_what_needs_a_sign_off(house, people):
    note = safety.publish_note(
        processor=house.processors["P-CO"], title="Colour, before you touch it", body="Gloves.", now=at(9), by=None
    )
    safety.set_sign_off_need(process=house.processes["ra4"], now=at(9), by=None)
    said = page(people["member"], "/help/first-evening/")
    assert "Colour, before you touch it" in said and "once a tutor has seen that you can do it: Colour, RA-4" in said
    safety.acknowledge(note=note, member=people["member"], now=at(9, 30))
    assert "Colour, before you touch it" not in page(people["member"], "/help/first-evening/")


def test_only_paper_that_light_spoils_travels_in_a_bag(house, people):
    """Film is loaded in the dark and white-light work has no bag: neither says anything of paper in one."""
    assert page(people["member"], "/help/first-evening/").count("light-tight bag that is shut") == 2
    Process.objects.filter(code="rc").update(light=Process.Light.WHITE)
    Process.objects.filter(code="ra4").update(material=Process.Material.FILM)
    assert "light-tight bag that is shut" not in page(people["member"], "/help/first-evening/")


def test_whoever_has_the_shift_is_named(house, people):
    shift = stations.add_shift(span=Span(at(13), at(20)), now=at(9), by=people["staff"])
    stations.take_shift(shift=shift, now=at(9), by=people["keyholder"])
    assert "Kim looks after the house until 20:00." in page(people["member"], "/help/first-evening/")


def test_the_first_page_leads_there_until_somebody_has_been_here(house, people, clock):
    stay = book(house, people["member"], "E1", at(15), at(17))
    link = "Your first evening: what to bring"
    assert link in page(people["member"], "/") and link not in page(people["keyholder"], "/")
    bookings.arrive(booking=stay, now=at(15), by=people["member"])
    assert link not in page(people["member"], "/")


# ---- the steward's day ---------------------------------------------------------------------------------------------


def test_the_day_names_its_jobs_machines_and_who_comes(house, people, evening, now):
    stations.keep_job(code="eyewash", name="Run the eyewash", occasion="every so many days", every_days=7, now=now)
    stations.keep_job(
        code="water", name="Top up with water", occasion="at opening", processor=house.processors["P-RC"], now=now
    )
    said = page(people["keyholder"], "/help/day/")
    assert "Run the eyewash, today" in said and "Top up with water" in said
    assert "Colour processor: switch it on by" in said and "for Cato at 18:00" in said
    assert "Not here yet: Bente, Booth 2, 14:30" in said and "18:00 Cato, Booth 3" in said
    assert "1 person is signed in to a booking." in said
    stations.do_job(job=Job.objects.get(code="eyewash"), now=now, by=people["keyholder"])
    assert "Run the eyewash, today" not in page(people["keyholder"], "/help/day/")


def test_what_to_do_when_nobody_comes_or_somebody_is_alone_follows_the_rules(house, people):
    assert "The house gives no time back by itself" in page(people["staff"], "/help/day/")
    rule("no_show_minutes", 25)
    rule("least_heads", 2)
    said = page(people["staff"], "/help/day/")
    assert "After 25 minutes the time is given back by itself" in said
    assert "The house asks for at least 2 people in it." in said


def test_the_numbers_of_staff_are_shown_to_staff_alone(house, people):
    """The page on which somebody gives a number promises that nobody but staff sees it."""
    doors.set_person_facts(person=people["staff"], phone="06 55 12", now=at(9), by=people["staff"])
    assert "Sef 06 55 12" in page(people["staff"], "/help/day/")
    said = page(people["keyholder"], "/help/day/")
    assert "06 55 12" not in said and "Whoever is to be called at any hour" in said


def test_a_closed_day_says_so(house, people):
    with time_machine.travel(at(12, day=30), tick=False):
        assert "Closed to members today." in page(people["staff"], "/help/day/")


def test_the_day_asks_no_more_than_the_desk_may_however_much_there_is(house, people, evening, now):
    stations.keep_job(code="j", name="J", occasion="every so many days", every_days=1, now=now)
    few = asked(people["staff"], "/help/day/")
    assert len(few) <= 15, few
    for number in range(12):
        stations.keep_job(code=f"j{number}", name=f"J{number}", occasion="every so many days", every_days=1, now=now)
    for number in range(3):
        book(house, makers.member(f"P{number}"), "S1", at(16 + number), at(17 + number), None)
    assert len(asked(people["staff"], "/help/day/")) == len(few)


# ---- mixing --------------------------------------------------------------------------------------------------------


def test_each_recipe_stands_there_with_cautions_first_and_the_containers_that_are_free(house, people, now):
    shelves = shelf(now)
    said = page(people["keyholder"], "/help/mixing/")
    assert said.index("safety data sheet, local regulations and licensed advice come before") < said.index(
        "Fixer for RC"
    )
    of = said[said.index("Fixer for RC") :]
    order = ["Irritates the eyes.", "What to wear:", "Water, 600 mL. About 20 °C.", "Rapid fixer, 200 mL",
             "Splashes: eye protection.", "Water up to 1,000 mL", "Containers free for it"]  # fmt: skip
    assert [of.index(one) for one in order] == sorted(of.index(one) for one in order), of
    assert "Container B1 (takes 1,000 mL)" in of and "Full bottle: 180 days" in of
    mixed(shelves, now, 500, "B1")
    assert "Container B1" not in page(people["keyholder"], "/help/mixing/")
    chemistry.keep_product(
        code="fixer", name="Rapid fixer", hazard_words="Burns the skin.", pack_amount=Decimal(500), now=now, by=None
    )
    assert "Burns the skin." in page(people["keyholder"], "/help/mixing/")


def test_mixing_asks_the_same_number_of_questions_for_one_recipe_and_for_six(house, people, now):
    shelves = shelf(now)
    few = asked(people["keyholder"], "/help/mixing/")
    for number in range(5):
        chemistry.keep_recipe(
            code=f"r{number}",
            name=f"R{number}",
            makes_pl=PL_PER_L,
            parts=[chemistry.PartOf(shelves.products["fixer"], Decimal(100)), chemistry.PartOf(make_up=True)],
            now=now,
        )
    assert len(asked(people["keyholder"], "/help/mixing/")) == len(few) <= 16


# ---- a bath change -------------------------------------------------------------------------------------------------


def test_the_next_time_that_is_long_enough_is_named_and_moves_when_it_is_taken(house, people, now):
    said = page(people["keyholder"], "/help/bath-change/P-RC/")
    assert "It takes 2 h, and 30 min after it to be warm again." in said
    assert "Wednesday 25 November 2026, from 15:00; begin by 20:00 at the latest." in said
    # One place of four taken is enough: a change wants the whole machine.
    book(house, people["member"], "E1", at(16), at(21))
    assert "Thursday 26 November 2026, from 10:00; begin by 20:00 at the latest." in page(
        people["keyholder"], "/help/bath-change/P-RC/"
    )
    Processor.objects.filter(code="P-RC").update(bath_change_minutes=45)
    said = page(people["keyholder"], "/help/bath-change/P-RC/")
    assert "It takes 45 min" in said and "Wednesday 25 November 2026, from 15:00" in said


def test_a_free_time_that_is_a_minute_too_short_does_not_count():
    opened, taken = [Span(at(10), at(22))], [Span(at(12), at(20, 1))]
    assert queries.first_free(opened, taken, 2 * HOUR, at(10)) == Span(at(10), at(12))
    assert queries.first_free(opened, taken, 2 * HOUR, at(10, 1)) is None
    assert queries.first_free(opened, [Span(at(12), at(20))], 2 * HOUR, at(10, 1)) == Span(at(20), at(22))


def test_it_says_into_which_container_each_bath_goes_and_stops_where_there_is_no_room(house, people, now):
    said = page(people["keyholder"], "/help/bath-change/P-RC/")
    assert said.count("No waste container is set for it: ask staff before you drain.") == 2
    fix = house.baths["P-RC", "fix"]
    stream = chemistry.keep_stream(
        code="fix", name="Spent fixer", bears_silver=True, conditions="", baths=[fix], now=now
    )
    box = chemistry.keep_waste_container(
        code="W-1", name="Blue drum", capacity_pl=25 * PL_PER_L, place="Yard", stream=stream, now=now
    )
    said = page(people["keyholder"], "/help/bath-change/P-RC/")
    assert "has room for 25 L of 25 L" in said and "Into Blue drum." in said
    chemistry.pour_into_container(
        container=box, what=stream, amount_pl=20 * PL_PER_L, at=now, now=now, by=people["staff"]
    )
    said = page(people["keyholder"], "/help/bath-change/P-RC/")
    assert "has room for 5 L of 25 L" in said and "None takes all of it" in said


def test_the_fixer_is_poured_in_before_the_developer(house, people):
    """Developer last, so that no splash of fixer reaches it: common practice, as on the page of the act itself."""
    assert "Pour in, in this order: Fix, Dev." in page(people["keyholder"], "/help/bath-change/P-RC/")


def test_the_recipe_that_a_bath_was_filled_from_is_linked(house, people, now):
    shelves = shelf(now)
    mix = mixed(shelves, now, 3000, None)
    chemistry.record_bath_entry(
        bath=house.baths["P-RC", "fix"], event="refill", at=now, now=now, mix=mix, by=people["staff"]
    )
    answer = client_of(people["keyholder"]).get("/help/bath-change/P-RC/").content.decode()
    assert 'href="/mixing/fixer-rc/"' in answer
    assert "Went into Fix, RC processor" in page(people["keyholder"], "/help/mixing/")


def test_an_unknown_processor_is_not_there(people):
    assert client_of(people["keyholder"]).get("/help/bath-change/P-NO/").status_code == 404


# ---- before anything is loaded -------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [*ALL, "/signs/print/?sign=front-door", "/signs/print/"])
def test_a_studio_that_nobody_described_yet_has_pages_that_say_so(db, clock, path):
    assert not Studio.objects.exists()
    staff = makers.member("Sef", is_staff=True)
    said = page(staff, path)
    if path not in {"/help/", "/signs/", "/signs/print/?sign=front-door", "/signs/print/"}:
        assert "No studio is loaded yet" in said


def test_a_house_without_a_processor_or_hours_is_a_page_too(db, clock):
    stations.describe_studio(name="Bare", time_zone="UTC", currency="EUR", grid_minutes=15, heads_at_once=None)
    for path in ALL:
        page(makers.member("Sef", is_staff=True), path)
    assert "No processor is set up yet" in page(makers.member("Zus", is_staff=True), "/help/bath-change/")


@pytest.mark.parametrize(
    "path,most", [("/help/first-evening/", 16), ("/help/bath-change/", 12), ("/help/bath-change/P-RC/", 16)]
)
def test_a_guide_asks_the_same_number_of_questions_however_many_book(house, people, path, most):
    """Counted with who asks and a booking of one's own."""
    book(house, people["keyholder"], "E1", at(18), at(20))
    few = asked(people["keyholder"], path)
    assert len(few) <= most, few
    for number in range(3):
        book(house, makers.member(f"P{number}"), "S1", at(16 + number), at(17 + number), None)
        book(house, makers.member(f"Q{number}"), "E2", at(11 + 3 * number, day=26), at(13 + 3 * number, day=26))
    assert len(asked(people["keyholder"], path)) == len(few)
