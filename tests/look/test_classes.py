"""No rule without a use, no class without a rule; and the page of the look leaves no part out."""

import re
from pathlib import Path

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

import studiodesk
from tests import makers

from . import css

HOUSE = Path(studiodesk.__file__).parent
#: Classes that only mark a place, for a script or a test.
HOOKS = {"checked-at"}
#: What templates and tags put together: pattern → the classes that can come of it.
BUILT = [
    *(f"t{n}" for n in range(1, 301)), *(f"w{n}" for n in range(6)), *(f"h{n}" for n in range(7)),
    *(f"s{n}" for n in range(5)), *(f"f{n}" for n in range(1, 11)), *(f"r{n}" for n in range(10)),
    *(f"room{n}" for n in range(3)), *(f"{letter}{share}" for letter in "be" for share in (50, 80, 95)),
    "action-limit", "control-limit",
]  # fmt: skip
#: Of those, the ones that are the plain case and need no rule.
PLAIN = {"w4", "w5", "h0", "h1", "s0", "room0", "e50", "e80"}
CLASS = re.compile(r"\.(-?[a-zA-Z_][\w-]*)")
WORD = re.compile(r"[a-z][a-z0-9-]*")


def selectors(name):
    """The text of a stylesheet without what stands between the innermost braces."""
    return re.sub(r"\{[^{}]*\}", "{}", css.source(name))


def ruled(name):
    return set(CLASS.findall(selectors(name)))


def in_templates():
    """Class names as they stand in the templates, those inside of tags' own strings too ({% if x %}done{% endif %})."""
    found = set()
    for path in css.TEMPLATES:
        if "letters" in path.parts:
            continue
        for value in re.findall(r'class="((?:[^"{]|\{%.*?%\}|\{\{.*?\}\})*)"', path.read_text(encoding="utf-8")):
            plain = re.sub(r"[\w-]*\{\{.*?\}\}[\w-]*|\{%.*?%\}", " ", value)
            found |= set(plain.split())
    return found


def in_python():
    """Every quoted word of the code that draws; classes are chosen there by name."""
    texts = [
        path.read_text(encoding="utf-8")
        for folder in ("templatetags", "desk/views", "chemistry/rules", "chemistry/forms", "chemistry/views")
        for path in sorted((HOUSE / folder).rglob("*.py"))
    ]
    texts += [(HOUSE / name).read_text(encoding="utf-8") for name in ("house_forms.py", "desk/queries/signs.py")]
    texts += [path.read_text(encoding="utf-8") for path in (HOUSE / "static").rglob("*.js")]
    quoted = {word for text in texts for part in re.findall(r'"([^"\n]*)"', text) for word in WORD.findall(part)}
    return quoted | {part.replace(" ", "-") for text in texts for part in re.findall(r'"([a-z ]+)"', text)}


def test_every_class_in_a_template_has_a_rule_or_is_a_hook():
    has = ruled("studio.css") | ruled("tablet.css")
    assert sorted(in_templates() - has - HOOKS - PLAIN) == []
    assert in_templates() - has >= HOOKS, "a hook that nothing hangs on any more"


@pytest.mark.parametrize("name", ["studio.css", "tablet.css"])
def test_every_rule_is_for_a_class_that_is_used(name):
    used = in_templates() | in_python() | set(BUILT)
    assert sorted(ruled(name) - used) == []


def test_what_is_put_together_has_its_rules():
    assert sorted(set(BUILT) - PLAIN - ruled("studio.css")) == []


def test_the_checkers_see_what_they_are_to_see():
    assert {"notice", "ways", "plain"} <= in_templates() and {"act", "quiet", "done"} <= in_templates()
    assert {"taken", "clear-up", "out-of-service", "triangle"} <= in_python()
    assert {"strip", "out-of-service", "dark"} <= ruled("studio.css") and "5px" not in ruled("studio.css")


@pytest.fixture
def staff(db, now):
    makers.house()
    client = Client()
    with time_machine.travel(now, tick=False):
        client.force_login(makers.member("Sta", is_staff=True))
        yield client


one_engine = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)


@one_engine
def test_every_part_is_on_the_page_of_the_look(staff):
    drawn = {one.name for path in ("/look/", "/look/tablet/") for one in staff.get(path).templates if one.name}
    parts = {f"look/{path.name}" for path in (HOUSE / "templates" / "look").glob("*.html")}
    assert len(parts) > 20 and sorted(parts - drawn) == []
    assert {"django/forms/field.html", "tablet/tile.html"} <= drawn


@one_engine
def test_the_page_of_the_look_shows_each_part_in_light_and_in_dark(staff):
    page = BeautifulSoup(staff.get("/look/").content, "html5lib")
    light, dark = page.select(".light.ground"), page.select(".dark.ground")
    assert len(light) == len(dark) > 8
    for one, other in zip(light, dark, strict=True):
        assert [tag.name for tag in one.find_all(True)] == [tag.name for tag in other.find_all(True)]
    ids = [tag["id"] for tag in page.find_all(id=True)]
    assert len(ids) == len(set(ids))


#: What each state is told by, on the page.
STATES = [
    *(f"li.{tone} > .piece" for tone in ("s0", "s1", "s2", "s3", "s4", "past", "closed")),
    *(f"li.{what}" for what in ("free", "taken", "kept", "yours", "class", "clear-up", "out-of-service", "gone")),
    *(f".bath.{word}" for word in ("new", "in-use", "tired", "spent")),
    *(f".glyph.{shape}" for shape in ("square", "triangle", "octagon")),
    ".notice.done", ".notice.attention", ".notice.stop", ".act", ".quiet", "button.stop", "[disabled]", ".empty",
    ".problems", ".field.wrong", ".help", ".optional", "textarea", "select", "[type=radio]", "[type=checkbox]",
    "[type=date]", "[type=time]", "[type=number]", ".stepper", ".scroll", ".facts", ".key", ".days [aria-current]",
    ".shut, [fill^='url(#']", ".control-limit", ".sign.halt",
]  # fmt: skip


@one_engine
def test_the_page_of_the_look_shows_every_state(staff):
    page = BeautifulSoup(staff.get("/look/").content, "html5lib")
    for scheme in ("light", "dark"):
        assert [one for one in STATES if not page.select_one(f".{scheme}.ground :is({one})")] == []


@one_engine
def test_the_values_on_the_page_are_those_of_the_stylesheet(staff):
    page = BeautifulSoup(staff.get("/look/").content, "html5lib")
    for scheme, known in (("light", css.light()), ("dark", css.dark())):
        tokens = [li.get_text(" ").split() for li in page.select(f".{scheme}.ground .tokens > li")]
        assert {name: value for name, value, _ratio in tokens} == known
        for name, value, ratio in tokens:
            assert float(ratio) == pytest.approx(css.contrast(value, known["sheet"]), abs=0.006), name


@one_engine
@pytest.mark.parametrize("light", ["dim-red", "dim-amber", "plain"])
def test_the_tablets_parts_are_shown_in_each_light(staff, light):
    page = BeautifulSoup(staff.get(f"/look/tablet/?light={light}").content, "html5lib")
    assert page.html["class"] == [light] and "tablet_light" not in staff.cookies
    assert not page.find("link", href=re.compile("studio.css"))
