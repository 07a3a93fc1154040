"""The page of the look: every part that pages are made of, in every state, in light and in dark.

It draws with the same tags and partials as the pages do, from samples; what is wrong here is wrong there.
"""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from studiodesk.chemistry.views.common import studio_zone
from studiodesk.chemistry.views.tablet import LIGHTS
from studiodesk.people.access import staff_page

from ..forms import LookForm
from . import look_charts, look_tokens
from .look_samples import KINDS, STANDINGS, Samples

FILLED = {
    "name": "Ana R.", "amount": "125", "size": "203x254", "process": "rc", "days": ["4"], "agree": True,
    "on": "2026-11-27", "begins": "14:45", "note": "The left tap drips.",
}  # fmt: skip
WRONG = {"name": "x" * 41, "amount": "-3", "size": "", "on": "", "begins": ""}


def parts() -> list[tuple[str, str, bool]]:
    """(template, heading, whether light and dark find room beside each other) in the page's order."""
    return [
        ("tokens", _("Tokens"), False),
        ("type", _("Type and spacing"), True),
        ("words", _("Notices, empty places, buttons"), True),
        ("lists", _("Lists, facts, signs, tables"), True),
        ("wedge", _("Step wedges and notches"), False),
        ("line", _("Day lines and the card"), False),
        ("bath", _("Baths"), True),
        ("charts", _("Charts"), False),
        ("form", _("Forms"), True),
    ]


@staff_page
@require_safe
def look(request: HttpRequest) -> HttpResponse:
    zone = studio_zone()
    context = {
        "schemes_shown": [_scheme(name, title, zone) for name, title in (("light", _("Light")), ("dark", _("Dark")))],
        "parts": [
            {"template": f"desk/look/{slug}.html", "slug": slug, "title": title, "beside": beside}
            for slug, title, beside in parts()
        ],
    }
    return render(request, "desk/look.html", context)


def _scheme(name: str, title: str, zone: ZoneInfo) -> dict[str, Any]:
    """All that one drawing of the parts needs; ``name`` is also the class that carries the tokens."""
    samples = Samples(name, zone)
    facts = look_charts.fan_facts(samples.now)
    return {
        "name": name,
        "title": title,
        "samples": samples,
        "zone": zone,
        "kinds": KINDS,
        "tokens": look_tokens.tokens(name),
        "pairs": look_tokens.pairs(name),
        "spaces": look_tokens.SPACES,
        "fan_facts": facts,
        "fan": look_charts.fan_drawing(facts, samples.now, zone),
        "history": look_charts.history(samples.now),
        "strips": look_charts.control_strips(samples.now),
        "days": [
            {"url": f"#{word}", "label": label, "current": word == "line"}
            for word, label in (("wedge", "Thu 26 Nov"), ("line", "Fri 27 Nov"), ("bath", "Sat 28 Nov"))
        ],
        "empty_form": LookForm(auto_id=f"{name}_new_%s"),
        "full_form": LookForm(auto_id=f"{name}_full_%s", initial=FILLED, locked=True),
        "wrong_form": LookForm(WRONG, auto_id=f"{name}_wrong_%s"),
    }


@staff_page
@require_safe
def look_tablet(request: HttpRequest) -> HttpResponse:
    """The tablet's parts, in the light that ``?light=`` names; a tablet's own light stays as it is."""
    asked = request.GET.get("light", "")
    light = asked if asked in LIGHTS else LIGHTS[0]
    context = {
        "dim": light,
        "lights": [one for one in LIGHTS if one != light],
        "standings": STANDINGS,
        "form": LookForm(WRONG),
        "sizes": [("203x254", "20×25 cm", True), ("279x356", "28×36 cm", False), ("406x508", "41×51 cm", False)],
    }
    return render(request, "desk/look_tablet.html", context)
