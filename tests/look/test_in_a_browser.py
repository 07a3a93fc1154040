"""What only a browser can tell: computed colours, widths, steppers, the tap that only wakes."""

import re

import pytest
from django.template import engines

from tests.statement import keeps

from . import css
from .samples import ZONE, at, bath, drawn, steps

TABLET = """{% extends "tablet/base.html" %}{% load look %}{% block title %}T{% endblock %}{% block main %}
<h1>Processor</h1><p class="notice stop">x</p>
<form><div class="tiles"><label class="tile"><input type="radio" name="s" checked>
<span>20×25 cm</span></label><label class="tile"><input type="radio" name="s"><span>28×36 cm</span></label></div>
{% include "look/stepper.html" with name="sheets" value=3 label="Sheets" least=1 most=4 %}
<button class="act"><span>Log <b data-echo="sheets">3</b></span></button></form>{% fill_wedge b %}
<a href="/x">Undo</a><table><tr><th>a</th></tr></table>{% endblock %}"""
OVERVIEW = """{% extends "base.html" %}{% load look %}{% block title %}T{% endblock %}
{% block main %}<h1>T</h1>{% overview w now %}{% endblock %}"""
COLOURS = """() => {
  const other = new Set();
  for (const element of document.querySelectorAll("*")) for (const part of [null, "::before", "::after"]) {
    const style = getComputedStyle(element, part);
    for (const name of style) for (const m of style.getPropertyValue(name).matchAll(/rgba?\\((\\d+), (\\d+), (\\d+)/g))
      if (+m[2] || +m[3]) other.add(`${element.tagName} ${name} ${m[0]}`);
  }
  return [...other];
}"""


@pytest.fixture
def open_page(browser):
    contexts = []

    def opened(source, width, context, height=800):
        text = engines["django"].from_string(source).render(context)
        made = browser.new_context(viewport={"width": width, "height": height})
        contexts.append(made)
        page = made.new_page()
        page.route("http://studio.test/**", lambda route: answer(route, text))
        page.goto("http://studio.test/")
        return page

    yield opened
    for made in contexts:
        made.close()


def answer(route, text):
    path = re.search(r"/studiodesk/(.+?)(\?|$)", route.request.url)
    if path:
        # A manifest may have put a hash into the name.
        name = re.sub(r"\.[0-9a-f]{12}(\.\w+)$", r"\1", path[1])
        route.fulfill(path=css.STATIC / name)
    elif route.request.url.endswith("/"):
        route.fulfill(body=text, content_type="text/html; charset=utf-8")
    else:
        route.fulfill(status=404)


def test_every_computed_colour_in_dim_red_is_red_alone(open_page):
    page = open_page(TABLET, 1280, {"b": bath(0.87, "tired", "silver"), "dim": "dim-red"})
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(255, 0, 0)", "the stylesheet did not load"
    assert page.evaluate(COLOURS) == []
    page.evaluate("document.documentElement.className = 'plain'")
    assert page.evaluate(COLOURS), "the check finds other colours where there are some"


@pytest.mark.parametrize("dim", ["dim-red", "plain"])
def test_what_is_pressed_on_the_tablet_is_72_pixels_high(open_page, dim):
    page = open_page(TABLET, 768, {"b": bath(0.5, "in use", "silver"), "dim": dim})
    heights = page.eval_on_selector_all("button, a, .tile", "all => all.map(e => e.getBoundingClientRect().height)")
    assert len(heights) == 6 and min(heights) >= 72


def test_the_stepper_counts_within_its_bounds_and_echoes(open_page):
    page = open_page(TABLET, 768, {"b": bath(0.5, "in use", "silver")})
    less, more = page.locator(".stepper button").all()
    more.click()
    more.click()
    assert page.locator("output").inner_text() == page.locator("[data-echo]").inner_text() == "4"
    for _ in range(5):
        less.click()
    assert page.locator("input[name=sheets]").input_value() == "1"


def test_the_first_tap_after_a_minute_only_wakes(open_page, browser):
    page = open_page(TABLET, 768, {"b": bath(0.5, "in use", "silver")})
    page.clock.install()
    page.reload()
    page.clock.run_for(62_000)
    assert page.locator("[data-asleep]").is_visible()
    more = page.locator(".stepper button").last
    middle = more.bounding_box()
    page.mouse.click(middle["x"] + 20, middle["y"] + 20)
    assert page.locator("[data-asleep]").is_hidden()
    assert page.locator("output").inner_text() == "3"
    more.click()
    assert page.locator("output").inner_text() == "4"


def test_the_first_key_after_a_minute_only_wakes(open_page):
    page = open_page(TABLET, 768, {"b": bath(0.5, "in use", "silver")})
    page.clock.install()
    page.reload()
    page.locator(".stepper button").first.focus()
    page.clock.run_for(62_000)
    page.keyboard.press("Enter")
    assert page.locator("[data-asleep]").is_hidden()
    assert page.locator("output").inner_text() == "3"
    page.keyboard.press("Enter")
    assert page.locator("output").inner_text() == "2"


def test_a_steps_place_on_the_page_is_its_place_in_time(open_page):
    wedge = steps((10, 12, 5, 8), (12, 13, 0, 8), (13, 22, 8, 8))
    page = open_page(OVERVIEW, 1366, {"w": [wedge]})
    boxes = page.eval_on_selector_all(
        "ol.steps > li", "all => all.map(e => [e.getBoundingClientRect().x, e.offsetWidth])"
    )
    ticks = page.eval_on_selector_all(".hours > span", "all => all.map(e => e.getBoundingClientRect().x)")
    hour = sum(width for _x, width in boxes) / 12
    for (x, width), (first, last) in zip(boxes, [(10, 12), (12, 13), (13, 22)], strict=True):
        assert width == pytest.approx(hour * (last - first), abs=1)
        assert x == pytest.approx(ticks[first - 10], abs=2)


@pytest.mark.parametrize("width", [320, 360, 900, 1366])
def test_nothing_scrolls_sideways_and_every_step_can_be_pressed(open_page, width):
    wedge = steps((10, 11, 5, 8), (11, 12, 1, 8), (12, 13, 0, 8), (13, 22, 8, 8))
    page = open_page(OVERVIEW, width, {"w": [wedge], "now": at(10, 20)})
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    heights = page.eval_on_selector_all("a.piece", "all => all.map(e => e.getBoundingClientRect().height)")
    assert len(heights) == 3 and min(heights) >= 44


def test_samples_speak_the_studios_time():
    assert at(10).tzinfo is ZONE and drawn("{{ v|clock }}", v=at(10)) == "10:00"


PATTERNS = """{% extends "base.html" %}{% load look %}{% block title %}T{% endblock %}{% block main %}<h1>T</h1>
{% day_key "free" "taken" "yours" "class" "clear-up" "closed" "out of service" %}{% overview w %}{% fill_wedge b %}
<a href="/x">Link</a>{% endblock %}"""
GROUND = """one => { const s = getComputedStyle(one);
  return [s.backgroundColor, s.backgroundImage, s.borderTopStyle, s.borderTopWidth].join(" ") }"""
FILL = "all => all.map(one => getComputedStyle(one).fill)"


@keeps("colours")
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_in_the_systems_own_colours_every_pattern_and_tone_is_another(open_page, scheme):
    """CSS Color Adjustment, forced colors mode: gradients and grounds are taken away unless a page keeps them."""
    wedge = steps((10, 11, 8, 8), (11, 12, 4, 8), (12, 13, 1, 8), (13, 14, 0, 8))
    page = open_page(PATTERNS, 1366, {"b": bath(0.87, "tired", "silver"), "w": [wedge]})
    page.emulate_media(forced_colors="active", color_scheme=scheme)
    patterns = page.locator(".key .swatch .piece").all()
    assert len({one.evaluate(GROUND) for one in patterns}) == len(patterns) == 7
    assert len({one.evaluate(GROUND).split(" none")[0] for one in page.locator(".steps .piece").all()}) == 4
    filled = page.eval_on_selector_all(".wedge [class^=f]", FILL)
    assert len(set(filled)) == len(filled) > 5
    page.keyboard.press("Tab")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


@keeps("colours")
def test_in_the_systems_own_colours_a_chosen_tile_says_so(open_page):
    page = open_page(TABLET, 768, {"b": bath(0.5, "in use", "silver")})
    page.emulate_media(forced_colors="active")
    marks = page.eval_on_selector_all(
        ".tile span", "all => all.map(one => getComputedStyle(one, '::after').content).filter(one => one !== 'none')"
    )
    assert len(marks) == 1, "the chosen one is marked by a sign"
