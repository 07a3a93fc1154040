"""Safety notes: versions, acknowledgement, the standard text."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.desk import queries as desk_queries
from studiodesk.journal.models import Entry
from studiodesk.safety import actions, queries, rules, texts
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from tests import makers


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def published(house, now, code="P-RC", body="Gloves.", by=None):
    return actions.publish_note(processor=house.processors[code], title="Before you begin", body=body, now=now, by=by)


def test_a_note_is_outstanding_until_its_current_version_is_acknowledged(house, now):
    adri, processor = makers.member("Adri"), house.processors["P-RC"]
    assert queries.outstanding_note(adri, processor) is None  # no note, nothing to read
    first = published(house, now)
    assert queries.outstanding_note(adri, processor) == first
    assert queries.outstanding_note(adri, house.processors["P-CO"]) is None
    actions.acknowledge(note=first, member=adri, now=now)
    assert queries.outstanding_note(adri, processor) is None
    assert queries.outstanding_note(makers.member("Bente"), processor) == first
    second = published(house, now, body="Gloves and an apron.")
    assert (second.version, queries.outstanding_note(adri, processor)) == (2, second)


def test_the_same_words_again_make_no_new_version(house, now):
    first = published(house, now, body="Gloves.\r\nApron.\n")
    assert published(house, now, body="Gloves.\nApron.") == first
    assert SafetyNote.objects.count() == 1


def test_an_older_version_cannot_be_acknowledged_any_more(house, now):
    adri, first = makers.member("Adri"), published(house, now)
    published(house, now, body="Gloves and an apron.")
    with pytest.raises(Refused) as refused:
        actions.acknowledge(note=first, member=adri, now=now)
    assert refused.value.refusal.code == "safety.newer_note"
    assert not SafetyAcknowledgement.objects.exists()


def test_reading_twice_is_reading_once(house, now):
    adri, note = makers.member("Adri"), published(house, now)
    first = actions.acknowledge(note=note, member=adri, now=now)
    again = actions.acknowledge(note=note, member=adri, now=now + timedelta(hours=1))
    assert (again.pk, again.acknowledged_at) == (first.pk, now)
    assert Entry.objects.filter(code="safety.note_read").count() == 1


def test_only_staff_publish(house, now):
    with pytest.raises(Refused) as refused:
        published(house, now, by=makers.member("Kim", is_keyholder=True))
    assert refused.value.refusal.code == "safety.not_yours_to_write"
    assert published(house, now, by=makers.member("Sam", is_staff=True)).version == 1


def test_a_member_reads_a_note_and_goes_on_to_where_they_came_from(house, now, clock):
    adri, note = makers.member("Adri"), published(house, now, body="First.\n\n- Gloves.\n- An <b>apron</b>.")
    client = client_of(adri)
    page = client.get("/safety/P-RC/?next=/book/?station=E1").content.decode()
    assert "<li>Gloves.</li>" in page and "&lt;b&gt;apron" in page and "I have read this" in page
    answer = client.post("/safety/P-RC/", {"version": "1", "next": "/book/?station=E1"})
    assert (answer.status_code, answer["Location"]) == (302, "/book/?station=E1")
    assert queries.outstanding_note(adri, note.processor) is None
    assert "You read this version on" in client.get("/safety/P-RC/").content.decode()


def test_the_button_of_a_page_with_an_older_version_acknowledges_nothing(house, now, clock):
    adri = makers.member("Adri")
    published(house, now)
    published(house, now, body="Gloves and an apron.")
    client = client_of(adri)
    assert client.post("/safety/P-RC/", {"version": "1"}).status_code == 409
    assert client.post("/safety/P-RC/", {}).status_code == 400
    assert (
        client.post("/safety/P-RC/", {"version": "2", "member": "1", "next": "//example.org"})["Location"] == "/safety/"
    )
    assert [row.member for row in SafetyAcknowledgement.objects.all()] == [adri]


def test_staff_start_from_the_standard_note_and_a_change_is_read_again(house, now, clock):
    staff, adri = makers.member("Sam", is_staff=True), makers.member("Adri")
    client = client_of(staff)
    page = client.get("/safety/P-CO/edit/").content.decode()
    assert "local regulations come first" in page and "Colour developer" in page
    body = texts.body(house.processors["P-CO"])
    assert client.post("/safety/P-CO/edit/", {"title": "Colour", "body": body}).status_code == 302
    actions.acknowledge(note=SafetyNote.objects.get(), member=adri, now=now)
    client.post("/safety/P-CO/edit/", {"title": "Colour", "body": body + "\n\nThe lid sticks."})
    assert queries.outstanding_note(adri, house.processors["P-CO"]).version == 2
    assert client.post("/safety/P-CO/edit/", {"title": "", "body": ""}).status_code == 422
    assert client_of(adri).get("/safety/P-CO/edit/").status_code == 403
    assert client_of(adri).post("/safety/P-CO/edit/", {"title": "x", "body": "y"}).status_code == 403
    assert SafetyNote.objects.count() == 2


def test_a_processor_that_is_not_there_is_not_found(house, clock):
    client = client_of(makers.member("Adri"))
    assert client.get("/safety/NO-1/").status_code == 404
    assert client.get("/safety/P-RC/").status_code == 200  # there, but without a note yet


def test_the_list_says_what_is_read_and_what_is_not(house, now, clock):
    adri, note = makers.member("Adri"), published(house, now)
    client = client_of(adri)
    assert "You have not read it yet" in client.get("/safety/").content.decode()
    actions.acknowledge(note=note, member=adri, now=now)
    assert "You have not read it yet" not in client.get("/safety/").content.decode()


# ---- the standard text ---------------------------------------------------------------------------------------------

#: What the studio's own list of cautions asks to be named, as words that must stand in the note.
EVERYWHERE = ["sulfur dioxide", "ammonia", "chlorine", "Acid goes into water", "Gloves", "eye protection", "apron",
              "Extraction", "eyewash", "food bottle", "fridge", "local exhaust", "silver", "waste contractor",
              "water authority", "dark"]  # fmt: skip
BY_FAMILY = {"P-RC": ["metol", "hydrogen sulfide"], "P-CO": ["Colour developer", "hydrogen cyanide"]}


@pytest.mark.parametrize("code", ["P-RC", "P-CO"])
def test_the_standard_note_begins_with_data_sheet_and_local_rules_and_names_every_caution(house, code):
    body = texts.body(house.processors[code])
    assert body.startswith("The supplier’s current safety data sheet and local regulations come first.")
    for word in EVERYWHERE + BY_FAMILY[code]:
        assert word in body, word


@pytest.mark.parametrize("code", ["P-RC", "P-CO"])
def test_the_standard_note_never_says_that_anything_may_go_down_a_drain(house, code):
    body = texts.body(house.processors[code]).lower()
    assert not re.search(r"drain|sink|sewer|toilet|gutter", body)
    for found in re.finditer(r"[^.]*\bpour\b[^.]*", body):
        assert "pour nothing away" in found.group()


@pytest.mark.parametrize(
    ("process", "paper", "families"),
    [
        ("rc", "RC", ("black-and-white",)),
        ("fb", "fibre", ("black-and-white",)),
        ("ra4", "RA-4", ("colour",)),
        ("c1", "colour negative", ("colour",)),
        ("x", "", ("black-and-white", "colour")),
        ("arc", "something else", ("black-and-white", "colour")),
    ],
)
def test_the_cautions_are_chosen_by_the_paper_and_all_are_shown_when_unsure(process, paper, families):
    assert rules.families(process, paper) == families


def test_a_body_is_read_as_paragraphs_and_lists_and_nothing_is_lost():
    body = "One\ntwo.\r\n\r\n- a\n- b\n  goes on\n\nthree\n- c\nfour"
    assert [(block.is_list, block.lines) for block in rules.blocks(body)] == [
        (False, ("One two.",)),
        (True, ("a", "b goes on")),
        (False, ("three",)),
        (True, ("c",)),
        (False, ("four",)),
    ]
    assert rules.blocks("  \n\n") == []


def test_what_leads_into_a_list_is_a_heading_unless_it_is_a_whole_sentence():
    long = "Whoever works here has read the data sheets, and knows of each bath:"
    body = f"Each time:\n- Gloves.\n\nNever:\n\n- Acid.\n\nAt the end:\n\nTidy up.\n\n{long}\n- What is in it."
    assert [block.lines[0] for block in rules.blocks(body) if block.is_heading] == ["Each time:", "Never:"]


def edited(client, **fields):
    return client.post(
        "/safety/P-RC/edit/", {"title": "Before you print", "body": "Gloves.\n\nAn apron.", **fields}, follow=True
    )


def test_what_is_new_stands_first_and_is_not_offered_as_the_note_s_own_text(house, now, clock):
    client = client_of(makers.member("Sam", is_staff=True))
    edited(client)
    page = edited(client, news="The eyewash  has moved\nto the door.", body="Gloves.").content.decode()
    assert page.index("New in this version: The eyewash has moved to the door.") < page.index("Gloves.")
    note = SafetyNote.objects.get(version=2)
    assert note.body == "New in this version: The eyewash has moved to the door.\n\nGloves."
    form = client.get("/safety/P-RC/edit/").content.decode()
    assert "eyewash has moved" not in form
    # Kept as it is offered: nothing new, nothing to read again.
    edited(client, body="Gloves.")
    assert SafetyNote.objects.count() == 2


def test_staff_are_told_how_many_who_booked_have_yet_to_read(house, now, clock):
    client = client_of(makers.member("Sam", is_staff=True))
    assert "yet to read" not in edited(client).content.decode()
    adri, bente = makers.member("Adri"), makers.member("Bente")
    for who, station in ((adri, "E1"), (bente, "E2")):
        actions.acknowledge(note=SafetyNote.objects.get(version=1), member=who, now=now)
        for hours in (20, 23):
            starts = now.replace(hour=0) + timedelta(days=1, hours=hours - 9)
            bookings.book(
                member=who, station=house.stations[station], process=house.processes["rc"], starts=starts,
                ends=starts + timedelta(hours=1), now=now, by=who,
            )  # fmt: skip
    page = edited(client, body="Gloves, and an apron.").content.decode()
    assert "2 people who have booked the processor have yet to read it." in page
    actions.acknowledge(note=SafetyNote.objects.get(version=2), member=adri, now=now)
    assert desk_queries.have_yet_to_read(SafetyNote.objects.get(version=2), now) == 1
    assert desk_queries.have_yet_to_read(SafetyNote.objects.get(version=2), now + timedelta(days=2)) == 0
