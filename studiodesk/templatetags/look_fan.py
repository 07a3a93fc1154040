"""Draws a bath's fan: the words of the drawing, put to the places that ``planning.rules.fan`` gives."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import template
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from studiodesk.dates import written
from studiodesk.planning.rules.fan import BOTTOM, PLOT, TOP, WIDE, Fan, Word
from studiodesk.planning.rules.fan_facts import MIDDLE, FanFacts, crossed, days_drawn
from studiodesk.planning.words import area_words, plain_day, times
from studiodesk.sizes import area_with_unit, mm2_per_unit
from studiodesk.units import MM2_PER_M2

from .look_format import whole_percent
from .look_words import percent

register = template.Library()
register.filter("times", times)

LETTER = 8.2  # px a letter of 12.8 px takes at most on average, for the plate under a word
PAD = 5
HIGH = 20


@register.filter
def used_words(used: float, in_m2: bool) -> str:
    """0.634 as "63 %" of the limit, or 3.2 as "3.2 m²"."""
    return area_words(used * MM2_PER_M2) if in_m2 else percent(used)


@register.simple_tag
def used_range(low: float, high: float, in_m2: bool) -> str:
    """ "28 to 42 %" """
    units = low * MM2_PER_M2 / float(mm2_per_unit())
    first = number_format(units, decimal_pos=1) if in_m2 else number_format(whole_percent(low), decimal_pos=0)
    return _("%(low)s to %(high)s") % {"low": first, "high": used_words(high, in_m2)}


@register.simple_tag
def shape(facts: FanFacts, today: date) -> str:
    """What the drawing shows, for whoever hears it: "82 % used now; the middle crosses the limit on 26 November; …"."""
    now = facts.recorded[-1][1] if facts.recorded else 0.0
    reach = days_drawn(facts)
    said = _("%(used)s so far") if facts.in_m2 else _("%(used)s used now")
    parts = [said % {"used": used_words(now, facts.in_m2)}]
    middle = crossed(facts, MIDDLE)
    if middle:
        parts.append(_("the middle crosses the limit on %(day)s") % {"day": plain_day(middle, today, near=False)})
        early, late = crossed(facts, 0.9), crossed(facts, 0.1)
        if early and late:
            parts.append(
                _("4 times in 5 it does so between %(first)s and %(last)s")
                % {"first": plain_day(early, today, near=False), "last": plain_day(late, today, near=False)}
            )
        elif early:
            parts.append(_("9 times in 10 not before %(day)s") % {"day": plain_day(early, today, near=False)})
    elif reach:
        last = {
            "day": plain_day(facts.days[reach - 1], today, near=False),
            "used": used_words(facts.bands[MIDDLE][reach - 1], facts.in_m2),
            "range": used_range(facts.bands[0.1][reach - 1], facts.bands[0.9][reach - 1], facts.in_m2),
        }
        parts.append(_("on %(day)s the middle stands at %(used)s, 4 times in 5 it is %(range)s") % last)
    if facts.age_day and reach and facts.age_day == facts.days[reach - 1]:
        parts.append(_("too old on %(day)s") % {"day": plain_day(facts.age_day, today, near=False)})
    return "; ".join(parts) + "."


def _plate(word: Word, text: str) -> dict[str, Any]:
    """A word with its plate: where both begin, relative to the word's place."""
    wide = round(len(text) * LETTER) + 2 * PAD
    left = {"start": 0, "middle": -wide // 2, "end": -wide}[word.anchor]
    shift = {"start": PAD, "middle": 0, "end": -PAD}[word.anchor]
    return {
        "x": f"{word.x:g}%",
        "y": f"{word.y:g}",
        "anchor": word.anchor,
        "room": word.room,
        "text": text,
        "wide": wide,
        "left": left,
        "top": -HIGH + 5,
        "high": HIGH,
        "shift": shift,
    }


def _scale_text(value: float, in_m2: bool, at_limit: bool) -> str:
    if in_m2:
        units = value * MM2_PER_M2 / float(mm2_per_unit())
        return area_with_unit(number_format(units, decimal_pos=1 if units < 10 else 0))
    return _("limit") if at_limit else percent(value)


@register.inclusion_tag("look/fan.html")
def fan(drawing: Fan, title: str, description: str, name: str = "fan") -> dict[str, Any]:
    """The drawing of ``planning.rules.fan.drawn``; ``description`` is read out where it cannot be seen.

    A second fan on one page needs a ``name`` of its own.
    """
    in_m2 = drawing.limit is None
    scale = []
    for word in drawing.scale:
        plate = _plate(word, _scale_text(word.value, in_m2, word.y == drawing.limit))
        scale.append({**plate, "line": plate["y"], "y": f"{word.y + 5:g}"})
    changes = [{"x": f"{word.x:g}%"} for word in drawing.changes]
    return {
        "name": name,
        "title": title,
        "description": description,
        "height": drawing.height,
        "wide": WIDE,
        "top": TOP,
        "plot": PLOT,
        "base": TOP + PLOT,
        "date_y": TOP + PLOT + BOTTOM - 10,
        "now": _plate(drawing.now, _("now")),
        "bands": drawing.bands,
        "edges": drawing.edges,
        "middle": drawing.middle,
        "recorded": drawing.recorded,
        "limit": None if drawing.limit is None else f"{drawing.limit:g}",
        "scale": scale,
        "age": _plate(drawing.age, _("too old")) if drawing.age else None,
        "closed": [(f"{x:g}%", f"{wide:g}%") for x, wide in drawing.closed],
        "past": f"{drawing.now.x:g}%",
        "weeks": [_plate(word, written(word.value, "j M")) for word in drawing.weeks],
        "changes": changes,
        "change": _plate(drawing.changes[0], _("bath change")) if drawing.changes else None,
    }


@register.inclusion_tag("look/fan_key.html")
def fan_key(drawing: Fan) -> dict[str, Any]:
    """What the tones and lines of the fan mean."""
    return {"drawing": drawing}
