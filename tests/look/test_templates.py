"""The frame of every page and the pages for what went wrong."""

import json
from pathlib import Path
from types import SimpleNamespace

import html5lib
import pytest
from bs4 import BeautifulSoup
from django.template.loader import render_to_string

import studiodesk

from .samples import drawn

TEMPLATES = Path(studiodesk.__file__).parent / "templates"
ERRORS = ["400", "403", "404", "409", "422", "429", "500", "503"]
PAGE = '{% extends "base.html" %}{% block title %}T{% endblock %}{% block main %}<h1>T</h1>{% endblock %}'
TABLET = PAGE.replace("base.html", "tablet/base.html")


def page(source, **context):
    text = drawn("", **context) if not source else render_source(source, context)
    return BeautifulSoup(text, "html5lib")


def render_source(source, context):
    from django.template import engines

    return engines["django"].from_string(source).render(context)


@pytest.mark.parametrize("name", ERRORS)
def test_an_error_page_needs_nothing_and_says_what_to_do(name):
    text = render_to_string(f"{name}.html")  # no request, no context: the database may be what broke
    html5lib.HTMLParser(strict=True).parse(text.strip())
    found = BeautifulSoup(text, "html5lib")
    assert len(found.find_all("h1")) == 1
    assert found.main.find("a"), "a way on"
    assert name not in found.main.get_text(), "a number is not a sentence"


def test_a_refusal_is_said_in_its_own_words_on_its_page():
    said = SimpleNamespace(sentence="Booth 1 is taken.", way_on="Booth 2 is free.")
    for name in ("409", "422"):
        text = render_to_string(f"{name}.html", {"said": said})
        assert "Booth 1 is taken." in text and "Booth 2 is free." in text


@pytest.mark.parametrize("source", [PAGE, TABLET])
def test_the_live_regions_stand_outside_what_is_swapped(source):
    found = page(source)
    for role in ("status", "alert"):
        region = found.find(attrs={"role": role})
        assert region is not None and region.find_parent("main") is None
        assert region.find("main") is None


@pytest.mark.parametrize("source", [PAGE, TABLET])
def test_a_message_is_said_in_the_region_that_fits_its_weight(source):
    class Message(SimpleNamespace):
        def __str__(self):
            return self.text

    found = page(
        source, messages=[Message(level_tag="success", text="Booked."), Message(level_tag="error", text="Taken.")]
    )
    assert found.find(id="said").get_text().strip() == "Booked."
    assert found.find(id="warned").get_text().strip() == "Taken."


def test_the_first_thing_on_a_page_skips_to_its_content():
    found = page(PAGE)
    first = found.body.find("a")
    assert first["href"] == "#main" and found.find(id="main").name == "main"


def test_htmx_is_kept_on_its_leash():
    config = json.loads(page(PAGE).find("meta", attrs={"name": "htmx-config"})["content"])
    for forbidden in ("includeIndicatorStyles", "allowEval", "allowScriptTags", "historyRestoreAsHxRequest"):
        assert config[forbidden] is False
    assert {"code": "422", "swap": True} in config["responseHandling"]


def test_the_page_says_where_one_is():
    nav = [{"url": "/d", "label": "The day", "current": True}, {"url": "/f", "label": "Find a time", "current": False}]
    found = page(PAGE, nav=nav, studio="Ostermill Darkroom")
    current = found.find_all(attrs={"aria-current": "page"})
    assert [a.get_text() for a in current] == ["The day"]
    assert "Ostermill Darkroom" in found.title.get_text()


@pytest.mark.parametrize("dim", ["dim-red", "dim-amber", "plain"])
def test_the_tablet_wears_the_light_it_is_told_and_dim_red_untold(dim):
    assert page(TABLET, dim=dim).html["class"] == [dim]
    assert page(TABLET).html["class"] == ["dim-red"]


def test_the_tablet_says_the_caution_and_never_calls_its_light_safe():
    text = page(TABLET).get_text(" ")
    assert "Dim red is for your eyes, not for paper." in text
    for path in TEMPLATES.rglob("*.html"):
        assert "safelight" not in path.read_text(encoding="utf-8").lower(), path.name


def test_a_stepper_works_by_its_own_buttons_without_a_script():
    found = page('{% include "look/stepper.html" with name="sheets" value=3 label="Sheets" least=1 most=60 %}')
    assert [(b["name"], b["value"], b["type"]) for b in found.find_all("button")] == [
        ("step_sheets", "-1", "submit"),
        ("step_sheets", "1", "submit"),
    ]
    assert found.find("input", attrs={"name": "sheets"})["value"] == "3"
    box = found.select_one("[data-stepper]")
    assert (box["data-least"], box["data-most"]) == ("1", "60")


def test_an_empty_place_says_what_why_and_one_thing_to_do():
    found = page(
        '{% include "look/empty.html" with what="No alerts." why="Last checked 14:10." url="/b" do="See all baths" %}'
    )
    assert [p.get_text() for p in found.find_all("p")] == ["No alerts.", "Last checked 14:10.", "See all baths"]
