"""Signs to print, with a code only where a phone may be, and the page from which staff find everything."""

from __future__ import annotations

import re

import pytest
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import BathSetting
from studiodesk.desk.queries import all_signs
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.units import PL_PER_L
from tests import makers
from tests.chemistry.shelf import mixed, shelf
from tests.classes.making import at, course, outline
from tests.door import qr_reader
from tests.door.world import client_of, rule, text

DOOR = "https://darkroom.example.org/door/"
CODE = re.compile(r'<svg[^>]*class="qr.*?</svg>', re.DOTALL)


@pytest.fixture(autouse=True)
def address(monkeypatch):
    monkeypatch.setattr(settings, "SITE_ADDRESS", "https://darkroom.example.org/")


def printed(who, *keys):
    answer = client_of(who).get("/signs/print/", {"sign": keys})
    assert answer.status_code == 200
    return answer


def test_no_code_is_offered_for_a_place_where_no_phone_may_be(house, people):
    """Whatever light a station has, and at every machine's wet side: only the front door and a dry end have one."""
    Process.objects.filter(code="rc").update(light=Process.Light.WHITE)
    found = all_signs(DOOR)
    assert {one.sort for one in found if one.code} == {"front-door", "dry-end"}
    dark = [one for one in found if one.sort == "station" and one.of.processes.filter(light="total darkness").exists()]
    assert dark and not any(one.code for one in dark)
    answer = printed(people["staff"], *[one.key for one in found if one.sort not in {"front-door", "dry-end"}])
    assert CODE.findall(answer.content.decode()) == []


def test_every_code_holds_the_address_and_nothing_else(house, people):
    answer = printed(people["staff"], *[one.key for one in all_signs(DOOR)])
    codes = CODE.findall(answer.content.decode())
    assert len(codes) == sum(bool(one.address) for one in all_signs(DOOR)) >= 2
    assert {qr_reader.read(svg) for svg in codes} == {DOOR}


def test_a_line_of_trays_has_no_dry_end(house):
    """Its prints come out wet, at the wet side."""
    keys = {one.key for one in all_signs(DOOR)}
    assert "dry-end:P-RC" in keys
    BathSetting.objects.filter(bath__processor__code="P-RC").update(dosing="batch")
    assert "dry-end:P-RC" not in {one.key for one in all_signs(DOOR)}
    BathSetting.objects.filter(bath__processor__code="P-RC").update(dosing="machine")
    Processor.objects.filter(code="P-RC").update(dry_to_dry_minutes=0)
    assert "dry-end:P-RC" not in {one.key for one in all_signs(DOOR)}


def test_a_sign_says_what_stands_in_the_data(house, people, now):
    said = text(printed(people["staff"], "station:E1"))
    assert "Booth 1" in said and "Booked? Look at the list at the door." in said and "Booth 2" not in said
    Station.objects.filter(code="E1").update(name="The red cubicle")
    assert "The red cubicle" in text(printed(people["staff"], "station:E1"))
    said = text(printed(people["staff"], "processor:P-RC"))
    assert said.index("Dev") < said.index("Fix ") and "Paper up to 508 mm wide" in said
    fix = house.baths["P-RC", "fix"]
    stream = chemistry.keep_stream(
        code="fix", name="Spent fixer", bears_silver=True, conditions="Contractor only.", baths=[fix], now=now
    )
    chemistry.keep_waste_container(code="W-1", name="Drum", capacity_pl=25 * PL_PER_L, place="", stream=stream, now=now)
    said = text(printed(people["staff"], "waste:W-1"))
    assert "Spent fixer" in said and "Bears silver" in said and "Contractor only." in said and "Takes 25 L" in said


def test_the_mount_of_the_tablet_says_that_dim_red_is_not_for_paper(house, people):
    """Word for word as the look has it; and never that it is safe."""
    said = text(printed(people["staff"], "tablet"))
    assert "Dim red is for your eyes, not for paper." in said
    assert "No screen of any colour near unprocessed colour paper, film or open boxes." in said
    assert "safelight" not in said.lower()


def test_the_emergency_sign_leaves_lines_for_what_the_house_keeps_nowhere(house, people, now):
    said = text(printed(people["staff"], "emergency"))
    assert "Emergency number that applies here" in said and "Eyewash: where" in said and "Looked after here" not in said
    job, _new = stations.keep_job(
        code="eyewash", name="Run the eyewash", occasion="every so many days", every_days=7, now=now
    )
    stations.keep_job(code="floor", name="Sweep", occasion="every so many days", every_days=7, now=now)
    said = text(printed(people["staff"], "emergency"))
    assert "Run the eyewash (not yet)" in said and "Sweep" not in said
    stations.do_job(job=job, now=now, by=people["staff"])
    assert "Run the eyewash (last on 25 November 2026)" in text(printed(people["staff"], "emergency"))


def test_only_those_that_were_ticked_are_shown_and_a_sign_that_is_gone_is_not_found(house, people):
    answer = printed(people["staff"], "front-door", "station:E2").content.decode()
    assert answer.count('class="poster"') == 2
    assert "No sign is ticked" in text(client_of(people["staff"]).get("/signs/print/"))
    assert client_of(people["staff"]).get("/signs/print/?sign=station:E99").status_code == 404
    assert client_of(people["keyholder"]).get("/signs/").status_code == 403


# ---- the house -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["is_keyholder", "is_staff", "is_manager"])
def test_whoever_may_see_the_house_may_open_every_page_that_it_names(house, clock, role):
    roles = {role: True} | ({"is_staff": True} if role == "is_manager" else {})
    client = client_of(makers.member("Sef", **roles))
    main = re.search(r"<main.*?</main>", client.get("/house/").content.decode(), re.DOTALL).group(0)
    links = re.findall(r'href="([^"#]+)"', main)
    assert len(links) == {"is_keyholder": 18, "is_staff": 29, "is_manager": 31}[role]
    assert [path for path in links if client.get(path).status_code != 200] == []
    assert ("/signs/" in links) is (role != "is_keyholder")
    assert ("/house/writing/" in links) is (role == "is_manager")


def test_it_counts_what_there_is(house, people, now):
    said = text(client_of(people["staff"]).get("/house/"))
    assert "5 stations, 2 processors" in said and "3 people, 1 of the staff, 1 keyholder, 0 tutors" in said
    assert "nothing is set: nobody is limited" in said and "Recipes and mixing 0 recipes" in said
    mixed(shelf(now), now, 500)
    rule("guests", 2)
    said = text(client_of(people["staff"]).get("/house/"))
    assert "Recipes and mixing 1 recipe, 3 containers, last mixed on 25 November 2026" in said
    assert "Rules of the house last set on 1 January 2026" in said and "Stock 1 product" in said


def test_a_class_of_two_dates_is_counted_once(house, people, now):
    course(house, now, of=outline(house, now, meetings=2), spans=[at(now, 3), at(now, 10)])
    said = text(client_of(people["staff"]).get("/house/"))
    assert "What is on 1 to come" in said and "Outlines 1 in use" in said


def test_the_house_asks_five_questions_however_much_there_is(house, people):
    client = client_of(people["staff"])
    client.get("/house/")
    with CaptureQueriesContext(connection) as seen:
        client.get("/house/")
    assert len(seen) <= 5, [query["sql"][:90] for query in seen.captured_queries]


def test_the_navigation_is_short_and_everything_else_is_one_page_away(house, people):
    def nav(who):
        answer = client_of(who).get("/day/").content.decode()
        return re.findall(r"<li><a[^>]*>([^<]+)</a>", re.search(r"<nav.*?</nav>", answer, re.DOTALL).group(0))

    assert nav(people["member"]) == ["The day", "Find a time", "My bookings", "What is on", "Baths", "Safety", "Adri"]
    assert nav(people["staff"]) == [
        "Desk", "The day", "Find a time", "My bookings", "What is on", "Baths", "Shifts", "People", "The house", "Sef",
    ]  # fmt: skip
    assert 'href="/help/"' in client_of(people["member"]).get("/day/").content.decode()
