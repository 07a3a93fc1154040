"""Draws what became of a bath: words of the drawing, put to the places that ``chemistry.rules.board_chart`` gives."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from studiodesk.chemistry.queries import BathHistory
from studiodesk.chemistry.rules import board_chart as places
from studiodesk.chemistry.rules.board_history import Sample
from studiodesk.dates import at_studio, clock, written
from studiodesk.sizes import area_unit, mm2_per_unit
from studiodesk.units import PL_PER_ML

from .look_words import area, ml, short_day

register = template.Library()

LETTER, PAD, HIGH = 8.2, 5, 20  # px, as on the fan
UG_PER_G = 1_000_000
SHAPES = ("square", "triangle", "octagon")
NAMES = {
    "area": gettext_lazy("Paper through the tank, %(unit)s"),
    "given": gettext_lazy("Replenishment, mL"),
    "silver": gettext_lazy("Silver, g/L"),
    "read": gettext_lazy("Temperature, %(unit)s"),
}
#: Kinds of entry → the sign that stands for them under the chart.
SIGNS = {
    "refill": "fill",
    "given": "give",
    "water": "water",
    "working solution": "give",
    "lost": "out",
    "partial dump": "out",
    "dumped": "out",
    "condemned": "stop",
    "contaminated": "stop",
    "into the bottle": "bottle",
    "out of the bottle": "bottle",
}
BATH_WORDS = {
    "new": gettext_lazy("new"),
    "in use": gettext_lazy("in use"),
    "tired": gettext_lazy("tired"),
    "spent": gettext_lazy("spent"),
    "empty": gettext_lazy("empty"),
}
SIGN_WORDS = {
    "fill": gettext_lazy("filled anew"),
    "give": gettext_lazy("given or topped up"),
    "water": gettext_lazy("water"),
    "out": gettext_lazy("dumped, in part or whole, or lost"),
    "stop": gettext_lazy("called spent or contaminated"),
    "bottle": gettext_lazy("into or out of its bottle"),
}


def _line(tanks: Sequence[Sequence[Sample]], value: Any) -> list[tuple[datetime, float] | None]:
    """One line over all tanks, broken where one ends."""
    points: list[tuple[datetime, float] | None] = []
    for samples in tanks:
        points += [(one.at, found) for one in samples if (found := value(one)) is not None]
        points.append(None)
    return points[:-1] if points else []


def _wanted(seen: BathHistory) -> list[places.Wanted]:
    """The panels that have anything to show."""
    of, settings = seen.of, seen.settings
    panels = [places.Wanted("area", [("recorded", _line(of.tanks, lambda one: one.area_mm2 / float(mm2_per_unit())))])]
    if settings.replenished or any(one.given_pl for one in of.samples):
        asked = ("asked", _line(of.tanks, lambda one: one.asked_pl / PL_PER_ML))
        given = ("recorded", _line(of.tanks, lambda one: one.given_pl / PL_PER_ML))
        panels.append(places.Wanted("given", [asked, given] if settings.replenished else [given]))
    limit = settings.silver_limit_ug_per_l if settings.wears else None
    reckoned = _line(of.tanks, lambda one: None if one.silver_ug_per_l is None else one.silver_ug_per_l / UG_PER_G)
    if of.strips or any(reckoned):
        strips = [(at, read / UG_PER_G, "square") for at, read in of.strips]
        panels.append(
            places.Wanted("silver", [("asked", reckoned)], strips, None if limit is None else limit / UG_PER_G)
        )
    if seen.read:
        panels.append(_temperatures(seen))
    return panels


def _temperatures(seen: BathHistory) -> places.Wanted:
    """Each job's readings by a shape of its own; the tolerance is drawn where all have the same."""
    jobs = list(dict.fromkeys(one.job for one in seen.read))
    points = [
        (one.at, float(one.value), SHAPES[jobs.index(one.job) % len(SHAPES)])
        for one in seen.read
        if one.value is not None
    ]
    bands = {(job.at_least, job.at_most) for job in jobs}
    least, most = next(iter(bands)) if len(bands) == 1 else (None, None)
    band = None if least is None or most is None else (float(least), float(most))
    return places.Wanted("read", points=points, band=band, from_zero=False)


def _figure(value: float) -> str:
    """A figure of a scale, without zeros at its end."""
    number = Decimal(f"{value:.6g}").normalize()
    places_ = max(0, -int(number.as_tuple().exponent))
    return number_format(number, decimal_pos=places_, use_l10n=True, force_grouping=True)


def _plate(x: float, y: float, anchor: str, text: str) -> dict[str, Any]:
    wide = round(len(text) * LETTER) + 2 * PAD
    left = {"start": 0, "middle": -wide // 2, "end": -wide}[anchor]
    shift = {"start": PAD, "middle": 0, "end": -PAD}[anchor]
    return {
        "x": f"{x:g}%", "y": f"{y:g}", "anchor": anchor, "text": text, "wide": wide, "left": left, "shift": shift,
        "top": 5 - HIGH, "high": HIGH,
    }  # fmt: skip


def _panel(panel: places.Panel, unit: str) -> dict[str, Any]:
    return {
        "name": str(NAMES[panel.name]) % {"unit": area_unit() if panel.name == "area" else unit},
        "top": panel.top,
        "title": panel.title,
        "base": panel.base,
        "plot": places.PLOT,
        "paths": panel.paths,
        "points": [{"x": f"{x:g}%", "y": f"{y:g}", "shape": shape} for x, y, shape in panel.points],
        "scale": [{**_plate(0, y + 5, "start", _figure(value)), "line": f"{y:g}"} for value, y in panel.scale],
        "limit": None if panel.limit is None else f"{panel.limit:g}",
        "limit_word": None if panel.limit is None else _plate(100, panel.limit - 5, "end", _("limit")),
        "band": panel.band,
    }


LIMIT_NAMES = {
    "capacity": gettext_lazy("capacity"),
    "turnovers": gettext_lazy("turnovers"),
    "age": gettext_lazy("shelf life"),
    "silver": gettext_lazy("silver limit"),
    "condemned": gettext_lazy("a person’s word"),
}


@register.simple_tag
def limit_name(limit: str) -> str:
    """The limit that binds, as a noun."""
    return str(LIMIT_NAMES.get(limit, limit))


@register.inclusion_tag("look/bare_wedge.html")
def bare_wedge(line: Any) -> dict[str, Any]:
    """The wedge of a bath that no limit fills: an outline, dashed where it is poured away, with its word."""
    if line.is_empty:
        since = at_studio(line.dumped_at)
        said = _("poured away %(day)s, %(at)s: refill it before anything goes through") % {
            "day": short_day(since), "at": clock(since)
        }  # fmt: skip
    else:
        said = _("no limit is set")
    return {"empty": line.is_empty, "word": BATH_WORDS.get(line.word, line.word), "said": said}


@register.inclusion_tag("look/history.html")
def bath_chart(seen: BathHistory, name: str, zone: ZoneInfo, slug: str = "history") -> dict[str, Any]:
    """The panels one above the other over one scale of days; read out as the sentence of ``said_of``.

    A second chart on one page needs a ``slug`` of its own.
    """
    marks = [(row.at, SIGNS[row.event]) for row in seen.marks if row.event in SIGNS]
    refills = [row.at for row in seen.marks if row.event == "refill"]
    chart = places.drawn(_wanted(seen), marks, refills, seen.starts, seen.ends, zone)
    unit = seen.read[0].job.unit if seen.read else ""
    return {
        "slug": slug,
        "title": _("%(name)s: what became of it") % {"name": name},
        "description": said_of(seen),
        "height": chart.height,
        "wide": places.WIDE,
        "panels": [_panel(panel, unit) for panel in chart.panels],
        "marks": [{"x": f"{mark.x:g}%", "sign": mark.value} for mark in chart.marks],
        "marks_y": chart.marks_y,
        "refills": [f"{x:g}%" for x in chart.refills],
        "last_base": chart.panels[-1].base,
        "first_top": chart.panels[0].top,
        "days": [
            {"x": f"{mark.x:g}%", "anchor": mark.anchor, "room": mark.room, "text": written(mark.value, "j M")}
            for mark in chart.days
        ],
        "dates_y": chart.dates_y,
    }


@register.simple_tag
def said_of(seen: BathHistory) -> str:
    """What the chart shows, for whoever hears it; the table has the rest."""
    first, last = at_studio(seen.starts), at_studio(seen.ends)
    parts = [
        _("From %(first)s to %(last)s, %(at)s")
        % {"first": short_day(first), "last": short_day(last), "at": clock(last)},
        _("%(area)s of paper went through") % {"area": area(sum(day.area_mm2 for day in seen.of.days))},
    ]
    given = sum(day.given_pl for day in seen.of.days)
    if given:
        parts.append(_("%(given)s of replenisher were given") % {"given": ml(given)})
    refills = sum(row.event == "refill" for row in seen.marks)
    if refills:
        said = ngettext("filled anew once", "filled anew %(times)s times", refills)
        parts.append(said % {"times": refills} if refills > 1 else said)
    if seen.of.strips:
        count = len(seen.of.strips)
        parts.append(ngettext("%(count)s silver strip", "%(count)s silver strips", count) % {"count": count})
    if seen.read:
        count = len(seen.read)
        parts.append(ngettext("%(count)s temperature read", "%(count)s temperatures read", count) % {"count": count})
    return "; ".join(parts) + "."


@register.inclusion_tag("look/history_key.html")
def bath_chart_key(seen: BathHistory) -> dict[str, Any]:
    """What the lines and signs mean: only those that are drawn."""
    names = {one.name for one in _wanted(seen)}
    signs = dict.fromkeys(SIGNS[row.event] for row in seen.marks if row.event in SIGNS)
    jobs = list(dict.fromkeys(one.job.name for one in seen.read))
    return {
        "asked": "given" in names and seen.settings.replenished,
        "given": "given" in names,
        "reckoned": "silver" in names,
        "strips": bool(seen.of.strips),
        "jobs": [(SHAPES[number % len(SHAPES)], job) for number, job in enumerate(jobs)],
        "band": any(one.band for one in _wanted(seen)),
        "signs": [(sign, SIGN_WORDS[sign]) for sign in signs],
    }
