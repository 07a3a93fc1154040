"""Outlines of classes and rooms out of a studio's file: read whole, twice without a trace, or refused by name."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from studiodesk.classes.actions import retire_outline
from studiodesk.classes.models import Outline
from studiodesk.journal.models import Entry
from studiodesk.stations.models import LightZone
from studiodesk.upkeep.actions import load_studio
from studiodesk.upkeep.rules.problems import FileRefused
from studiodesk.upkeep.rules.studio_file import read_studio
from studiodesk.upkeep.words import told
from tests import makers
from tests.upkeep.files import NOW, contents, example, loaded, refusals

SIGN_OFFS = b'[[sign_offs]]\nprocess = "fb"\n[[sign_offs]]\nkind = "enlarger booth"\n'
LEAST = b'[[outlines]]\ncode = "a"\nname = "A"\nlength_minutes = 60\nheads_most = 6\n'
FULL = b'''[[outlines]]
code = "fibre"
name = "Fibre paper"
sort = "Talk"
summary = """
Wash it long.
Dry it slowly."""
level = "some experience"
meetings = 2
length_minutes = 150
before_minutes = 20
after_minutes = 25
heads_least = 3
heads_most = 6
heads_a_station = 2
minimum_age = 16
price = 62.5
member_price = "40"
free_cancel_days = 10
decide_days = 4
materials = "Tongs."
bring = "A negative."
process = "fb"
tutor_needs = [{ process = "fb" }]
  [[outlines.needs]]
  kind = "enlarger booth"
  [[outlines.needs]]
  kind = "shooting bay"
  process = "rc"
  number = 1
  [[outlines.needs]]
  process = "fb"
  number = 0
  [[outlines.papers]]
  width_mm = 240
  length_mm = 305
  sheets_a_head = 6
  [[outlines.papers]]
  width_mm = 50
  length_mm = 203
  sheets_a_head = 3
  [[outlines.signs_off]]
  process = "fb"
  [[outlines.signs_off]]
  kind = "enlarger booth"
'''


def described(more: bytes) -> bytes:
    return example("studio.toml") + SIGN_OFFS + more


def in_a_room(more: bytes) -> bytes:
    """Booths 1 and 2 share a room."""
    text = example("studio.toml").replace(b'light_zone = "own cubicle"', b'light_zone = "the long room"', 2)
    return text + more


def test_every_field_of_an_outline_arrives(db: Any) -> None:
    outcome = loaded(described(FULL))
    assert outcome.warnings == [] and outcome.made["outlines"] == 1
    row = Outline.objects.get()
    said = {
        "code": "fibre",
        "name": "Fibre paper",
        "sort": "talk",
        "summary": "Wash it long.\nDry it slowly.",
        "level": "some experience",
        "meetings": 2,
        "length_minutes": 150,
        "before_minutes": 20,
        "after_minutes": 25,
        "heads_least": 3,
        "heads_most": 6,
        "heads_a_station": 2,
        "minimum_age": 16,
        "price_minor": 6250,
        "member_price_minor": 4000,
        "free_cancel_days": 10,
        "decide_days": 4,
        "materials": "Tongs.",
        "bring": "A negative.",
        "made_at": NOW,
        "made_by": None,
        "retired_at": None,
    }
    assert {name: getattr(row, name) for name in said} == said
    assert row.process is not None and row.process.code == "fb"
    needs = [(need.kind, need.process and need.process.code, need.number) for need in row.needs.all()]
    assert needs == [("enlarger booth", None, None), ("shooting bay", "rc", 1), ("", "fb", 0)]
    papers = list(row.papers.values_list("width_mm", "height_mm", "sheets_a_head"))
    assert papers == [(50, 203, 3), (240, 305, 6)]
    assert [(need.kind, need.process and need.process.code) for need in row.tutor_needs.all()] == [("", "fb")]
    assert {need.kind or need.process.code for need in row.signs_off.all()} == {"fb", "enlarger booth"}


def test_what_is_left_out_is_what_the_page_would_have_made_of_it(db: Any) -> None:
    assert loaded(described(LEAST)).warnings == []
    row, made = Outline.objects.get(), Outline()
    for field in Outline._meta.concrete_fields:
        if field.name not in ("id", "code", "name", "length_minutes", "heads_most", "made_at"):
            assert getattr(row, field.attname) == getattr(made, field.attname), field.name
    assert not row.needs.exists() and not row.papers.exists() and not row.signs_off.exists()


def test_the_same_file_again_writes_nothing(db: Any) -> None:
    data = described(FULL + LEAST)
    loaded(data)
    before = contents()
    assert not load_studio(data=data, now=NOW + timedelta(days=3)).wrote
    assert contents() == before


def test_a_changed_figure_is_taken_over_and_named_in_the_journal(db: Any) -> None:
    loaded(described(FULL))
    outcome = loaded(described(FULL.replace(b"62.5", b"70").replace(b"sheets_a_head = 3", b"sheets_a_head = 4")))
    assert outcome.changed == {"outlines": 1} and not outcome.made
    row = Outline.objects.get()
    assert row.price_minor == 7000 and row.papers.get(width_mm=50).sheets_a_head == 4
    assert Entry.objects.filter(code="classes.outline_written", about_id=row.pk).count() == 2


def test_money_follows_the_currency(db: Any) -> None:
    in_yen = example("studio.toml").replace(b"EUR", b"JPY").replace(b".0\n", b"\n")
    loaded(in_yen + LEAST + b"price = 6500\n")
    assert Outline.objects.get().price_minor == 6500  # ISO 4217: the yen has no smaller coin


def test_outlines_of_the_page_stay_and_only_a_file_that_has_some_speaks_of_them(db: Any) -> None:
    loaded(described(FULL))
    assert loaded(example("studio.toml")).warnings == []
    said = [told(warning) for warning in loaded(described(LEAST)).warnings]
    assert said == ["studio.toml, outlines: “fibre” is in the database and not in the file; it was left as it is."]
    retire_outline(outline=Outline.objects.get(code="fibre"), now=NOW, by=makers.member("Max", is_staff=True))
    assert loaded(described(LEAST)).warnings == []
    loaded(described(FULL))
    assert Outline.objects.get(code="fibre").retired_at == NOW  # whoever retired it is not overruled by a file


def test_a_key_that_nobody_knows_is_named_and_passed_over() -> None:
    more = (
        LEAST
        + b'tuter = "Noor"\n[[outlines.needs]]\nkind = "enlarger booth"\nmany = 2\n[[rooms]]\nname = "long"\nx = 1\n'
    )
    _plan, findings = read_studio(example("studio.toml") + more, known_rooms={"long"})
    said = sorted(warning.column for warning in findings.warnings)
    assert said == ["outlines[1].needs[1].many", "outlines[1].tuter", "rooms[1].x"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (LEAST.replace(b'code = "a"', b""), "outlines[1].code: This key is missing"),
        (LEAST.replace(b"heads_most = 6", b""), "outlines[1].heads_most: This key is missing"),
        (LEAST.replace(b"= 60", b"= 0"), "outlines[1].length_minutes: “0” is too small: the least is 1."),
        (LEAST.replace(b"= 60", b"= 400000"), "outlines[1].length_minutes: “400000” is too large"),
        (LEAST + LEAST, "outlines[2].code: The code “a” is taken already by outlines[1]."),
        (LEAST + b'sort = "hire"\n', "outlines[1].sort: “hire” is none of the words"),
        (LEAST + b'level = "clever"\n', "outlines[1].level: “clever” is none of the words"),
        (LEAST + b"summary = 3\n", "outlines[1].summary: “3” is not text."),
        (LEAST + b"heads_least = 7\n", "outlines[1].heads_least: At least 7 and at most 6 people cannot be."),
        (LEAST + b"price = -1\n", "outlines[1].price: “-1” is negative"),
        (LEAST + b"price = 1.005\n", "outlines[1].price: “1.005” has more than 2 decimals"),
        (LEAST + b"member_price = 10000000\n", "outlines[1].member_price: “10000000” is too large"),
        (LEAST + b"minimum_age = 0\n", "outlines[1].minimum_age: “0” is too small"),
        (LEAST + b"decide_days = 1.5\n", "outlines[1].decide_days: “1.5” is not a whole number."),
        (LEAST + b'process = "e6"\n', "outlines[1].process: “e6” is not known here."),
        (LEAST + b"needs = 3\n", "outlines[1].needs: This has to be a list of tables."),
        (LEAST + b"[[outlines.needs]]\nnumber = 2\n", "outlines[1].needs[1].kind: Neither a kind of station nor"),
        (LEAST + b'[[outlines.needs]]\nkind = "rocket"\n', "outlines[1].needs[1].kind: “rocket” is not known here."),
        (
            LEAST + b'[[outlines.needs]]\nkind = "enlarger booth"\nnumber = 0\n',
            "outlines[1].needs[1].number: “0” is too small",
        ),
        (
            LEAST + b"[[outlines.papers]]\nwidth_mm = 203\nlength_mm = 254\nsheets_a_head = 1\n" * 2,
            "outlines[1].papers[2]: The size 203 × 254 mm stands at outlines[1].papers[1] already.",
        ),
        (
            LEAST + b"[[outlines.papers]]\nwidth_mm = 203\nlength_mm = 254\n",
            "outlines[1].papers[1].sheets_a_head: This key is missing",
        ),
        (LEAST + b'signs_off = [{ process = "rc" }]\n', "signs_off[1].process: Nobody is signed off for “rc” here."),
        (
            LEAST + b'tutor_needs = [{ kind = "booth" }]\n',
            "tutor_needs[1].kind: Nobody is signed off for “booth” here.",
        ),
        (
            LEAST + b'signs_off = [{ process = "fb" }, { kind = "enlarger booth", process = "fb" }]\n',
            "outlines[1].signs_off[2].kind: A sign-off is for one kind of station or for one process.",
        ),
        (b'[[rooms]]\nname = "the long room"\n', "rooms[1].name: No station has the light zone “the long room”."),
        (b'[[rooms]]\nname = "own cubicle"\n', "rooms[1].name: No station has the light zone “own cubicle”."),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(more: bytes, said: str) -> None:
    with pytest.raises(FileRefused) as refused:
        read_studio(described(more))
    sentences = [told(problem) for problem in refused.value.problems]
    assert len(sentences) == 1 and said in sentences[0], sentences


def test_a_wrong_outline_keeps_the_whole_file_from_being_written(db: Any) -> None:
    before = contents()
    assert len(refusals(described(FULL + LEAST.replace(b"most = 6", b"most = 0") + b"price = -1\n"))) == 2
    assert contents() == before


def test_a_shared_room_takes_so_many_people(db: Any) -> None:
    room = b'[[rooms]]\nname = "the long room"\nheads_at_most = 7\n'
    assert loaded(in_a_room(room)).warnings == []
    assert LightZone.objects.get().heads_at_most == 7
    before = contents()
    assert not loaded(in_a_room(room)).wrote and contents() == before
    loaded(in_a_room(b""))  # a file that does not speak of it leaves it
    assert LightZone.objects.get().heads_at_most == 7
    assert loaded(in_a_room(room.replace(b"heads_at_most = 7\n", b""))).changed == {"rooms": 1}
    assert LightZone.objects.get().heads_at_most is None
    assert refusals(in_a_room(room + room)) == [
        "studio.toml, rooms[2].name: The code “the long room” is taken already by rooms[1]."
    ]
    assert "is too small" in refusals(in_a_room(room.replace(b"7", b"0")))[0]


def test_the_demo_teaches_what_its_house_can(db: Any) -> None:
    data = b"\n".join(example(f"{name}.toml") for name in ("studio", "demo"))
    assert loaded(data).warnings == []  # what signs people off stands with the sign-offs, in the third
    assert loaded(data + b"\n" + example("house.toml")).warnings == []
    for row in Outline.objects.prefetch_related("needs", "papers"):
        assert row.summary and row.needs.all(), row.code
        assert row.process is None or row.papers.all(), row.code
    assert {row.sort for row in Outline.objects.all()} == {"class", "open evening", "talk"}
