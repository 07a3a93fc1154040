"""What the pages draw with: wedges, day lines, notches, baths, forms.

Sums are in ``look_format``, how times and quantities read in ``look_words``.
"""

from __future__ import annotations

import uuid
from datetime import datetime
from types import SimpleNamespace
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from studiodesk.dates import at_studio, clock, hour_mark, written
from studiodesk.sizes import edge_words
from studiodesk.words import money_words

from . import look_format
from .look_words import (
    area,
    decimal,
    length_words,
    litres,
    long_day,
    ml,
    percent,
    sheets_words,
    short_day,
    span_words,
)

register = template.Library()
for reading in (clock, decimal, length_words, litres, long_day, area, ml, percent, sheets_words, short_day, span_words):
    register.filter(reading)
register.filter("day", written)
register.filter("edge", edge_words)

WORDS = {
    "free": gettext_lazy("Free"),
    "taken": gettext_lazy("Taken"),
    "kept": gettext_lazy("Kept"),
    "yours": gettext_lazy("Yours"),
    "class": gettext_lazy("Class"),
    "clear-up": gettext_lazy("Clear-up"),
    "closed": gettext_lazy("Closed"),
    "out of service": gettext_lazy("Out of service"),
    "past": gettext_lazy("Past"),
}
BATH_WORDS = {
    "new": gettext_lazy("new"),
    "in use": gettext_lazy("in use"),
    "tired": gettext_lazy("tired"),
    "spent": gettext_lazy("spent"),
}
LIMIT_WORDS = {
    "capacity": gettext_lazy("capacity runs out first"),
    "turnovers": gettext_lazy("turnovers run out first"),
    "age": gettext_lazy("shelf life runs out first"),
    "shelf life": gettext_lazy("shelf life runs out first"),
    "silver": gettext_lazy("silver runs out first"),
    "condemned": gettext_lazy("condemned by a person"),
}
OF_LIMIT = {
    "capacity": gettext_lazy("%(used)s of its capacity used"),
    "turnovers": gettext_lazy("%(used)s of its turnovers used"),
    "age": gettext_lazy("%(used)s of its shelf life gone"),
    "silver": gettext_lazy("%(used)s of its silver limit reached"),
}
SETTLES = gettext_lazy("%(used)s of its silver limit, under which it levels off")
MESSAGE_CLASSES = {"success": "done", "warning": "attention", "error": "stop"}


# --- the day ------------------------------------------------------------------------------------------------------


def _stretch_view(stretch: Any, place: look_format.Place, lifted: bool) -> dict[str, Any]:
    what, free, of = stretch.what, getattr(stretch, "free", None), getattr(stretch, "of", None)
    word, detail = str(WORDS.get(what, what)), str(getattr(stretch, "label", "") or "")
    if what == "free" and of and of > 1:
        word = _("%(free)s of %(of)s places free") % {"free": free, "of": of}
    if what == "free" or detail.casefold() in (word.casefold(), what.casefold()):
        detail = ""
    length = length_words(stretch)
    said = [f"{word} {span_words(stretch)}", detail, length if what == "free" else ""]
    css = "gone" if lifted and what == "past" else what.replace(" ", "-")
    return {
        "classes": f"{css} {place.classes}",
        "word": word,
        "detail": detail,
        "span": span_words(stretch),
        "length": length if what == "free" else "",
        "url": getattr(stretch, "url", None),
        "title": ", ".join(part for part in said if part),
    }


@register.inclusion_tag("look/day_line.html")
def day_line(line: Any, lifted: bool = False) -> dict[str, Any]:
    """One station's day: ``line`` has code, name, kind, note and contiguous ``stretches``.

    What is past is one card with a copper edge at its end; with ``lifted`` it is only the time that nobody used.
    """
    return {"line": line, "pieces": _pieces(line, lifted), "id": f"line-{_slug(line.code)}"}


def _pieces(line: Any, lifted: bool) -> list[dict[str, Any]]:
    stretches = look_format.one_past(line.stretches)
    pairs = zip(stretches, look_format.places(stretches), strict=True)
    return [_stretch_view(stretch, place, lifted) for stretch, place in pairs]


@register.inclusion_tag("look/day_table.html")
def day_table(lines: list[Any], lifted: bool = False) -> dict[str, Any]:
    """The same day lines as one table, for whoever reads tables better than strips."""
    return {"rows": [{"line": line, "pieces": _pieces(line, lifted)} for line in lines]}


def _slug(text: str) -> str:
    return "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in str(text).lower())


def _cards(steps: list[Any], now: datetime | None) -> list[Any]:
    """The steps with what is past at ``now`` gathered into one card."""
    past = look_format.covered(steps, now)
    if past is None:
        return steps
    card = SimpleNamespace(starts=past[0], ends=past[1], what="past", free=0, of=0, url=None)
    out: list[Any] = [card]
    for step in steps:
        if step.ends > card.ends:
            starts = max(step.starts, card.ends)
            out.append(SimpleNamespace(starts=starts, ends=step.ends, free=step.free, of=step.of, url=step.url))
    return out


def _step_view(step: Any, place: look_format.Place) -> dict[str, Any]:
    what = getattr(step, "what", "")
    css = "past" if what == "past" else look_format.tone(step.free, step.of)
    word = {"past": _("Past"), "closed": _("Closed"), "s4": _("none free")}.get(css, "")
    said = word or _("%(free)s of %(of)s free") % {"free": step.free, "of": step.of}
    return {
        "classes": f"{css} {place.classes}",
        "starts": clock(step.starts),
        "span": span_words(step),
        "free": step.free,
        "of": step.of,
        "word": word,
        "url": step.url if css in ("s0", "s1", "s2", "s3") else None,
        "said": said,
        "title": f"{span_words(step)}: {said}",
    }


@register.inclusion_tag("look/overview.html")
def overview(wedges: list[Any], now: datetime | None = None, name: str = "wedge") -> dict[str, Any]:
    """A step wedge a kind of station, ``name`` unlike others of the page.  What is past at ``now`` is covered."""
    now = now or None  # a template's missing variable is ""
    rows = []
    for number, wedge in enumerate(wedges):
        steps = _cards(list(wedge.steps), now)
        views = [_step_view(step, place) for step, place in zip(steps, look_format.places(steps), strict=True)]
        rows.append({"id": f"{name}-{number}", "wedge": wedge, "steps": views})
    drawn = [step for wedge in wedges for step in wedge.steps]
    return {
        "rows": rows,
        "starts": min((step.starts for step in drawn), default=None),
        "ends": max((step.ends for step in drawn), default=None),
        "now": now,
    }


@register.inclusion_tag("look/overview_table.html")
def overview_table(wedges: list[Any], now: datetime | None = None) -> dict[str, Any]:
    """The same wedges as one table."""
    return overview(wedges, now)


@register.inclusion_tag("look/hour_scale.html")
def hour_scale(starts: datetime | None, ends: datetime | None, now: datetime | None = None) -> dict[str, Any]:
    """The hours over wedges and day lines; a copper tick at ``now`` if it lies inside."""
    if not starts or not ends:
        return {"cells": []}
    first, last = at_studio(starts), at_studio(ends)
    cells = [
        {"t": wide, "label": hour_mark(at.hour) if whole else "", "whole": whole}
        for at, wide, whole in look_format.hour_cells(first, last)
        if wide
    ]
    before = look_format.quanta(starts, now, starts) if now and starts < now < ends else 0
    after = look_format.quanta(now, ends, starts) if before and now else 0
    return {"cells": cells, "before": before, "after": after}


@register.inclusion_tag("look/notch.html")
def notch(kind: str) -> dict[str, Any]:
    """The edge notch of a kind of station, as SVG."""
    path, width = look_format.notch_path(kind)
    return {"path": path, "width": width, "shown": width * 3 // 2}


@register.inclusion_tag("look/key.html")
def day_key(*whats: str) -> dict[str, Any]:
    """What the patterns mean.  Without arguments every one."""
    chosen = whats or [what for what in WORDS if what != "past"]
    return {"items": [{"css": what.replace(" ", "-"), "word": WORDS[what]} for what in chosen]}


# --- baths --------------------------------------------------------------------------------------------------------


@register.inclusion_tag("look/fill_wedge.html")
def fill_wedge(standing: Any, ahead: Any = None) -> dict[str, Any]:
    """A bath's wedge: ten steps filled to what is used, its word, its number and its limit, as ``wedge_words``."""
    used = float(standing.used or 0)
    cells = look_format.fill_cells(used)
    return {
        "cells": [{"n": n, "x": (n - 1) * 20, "width": round(20 * full, 2)} for n, full in cells],
        "at": round(sum(20 * full for _number, full in cells), 2),
        "word": BATH_WORDS.get(standing.word, standing.word),
        "state": standing.word.replace(" ", "-"),
        "glyph": look_format.bath_glyph(used, standing.word),
        "said": wedge_words(standing, ahead),
    }


@register.simple_tag
def wedge_words(standing: Any, ahead: Any = None) -> str:
    """How much is used and of what: "63 % used, silver runs out first".

    With ``ahead``, what is foretold of the bath, not what runs out first, for that is foretold: "82 % of its capacity
    used"; and of silver that never passes its limit only where it settles.
    """
    limit, used = str(standing.limit or ""), float(standing.used or 0)
    named = {"used": percent(used)}
    if limit == "silver" and used < 1 and getattr(standing, "silver_settles_below", False):
        return str(SETTLES) % named
    if ahead and limit in OF_LIMIT:
        return str(OF_LIMIT[limit]) % named
    said = _("%(used)s used") % named
    return f"{said}, {LIMIT_WORDS.get(limit, limit)}" if limit else said


@register.inclusion_tag("look/glyph.html")
def glyph(shape: str) -> dict[str, str]:
    """A square, triangle or octagon, so that colour carries nothing alone."""
    return {"shape": shape}


# --- forms and messages -------------------------------------------------------------------------------------------


@register.inclusion_tag("look/error_summary.html")
def error_summary(form: Any, name: str = "problems") -> dict[str, Any]:
    """Everything to put right in a form or formset's forms, each line linked to its field; nothing if all is well.

    It takes focus, unless it has another ``name`` (on the page of the look).
    """
    forms = list(getattr(form, "forms", None) or [form])
    lines: list[dict[str, str]] = []
    for one in forms:
        lines += [{"target": "", "text": text} for text in one.non_field_errors()]
        for field in one:
            lines += [{"target": _target(field), "text": _labelled(str(field.label), text)} for text in field.errors]
    count = len(lines)
    title = ngettext("%(count)s thing to put right", "%(count)s things to put right", count) % {"count": count}
    return {"lines": lines, "title": title, "name": name}


def _labelled(label: str, text: str) -> str:
    """Most of the house's sentences name the field already."""
    return text if text.startswith(f"{label}:") else _("%(field)s: %(error)s") % {"field": label, "error": text}


def _target(field: Any) -> str:
    """The id to jump to: a group of choices has none of its own, so its first choice."""
    if field.use_fieldset and field.subwidgets:
        return str(field.subwidgets[0].id_for_label or field.auto_id)
    return str(field.id_for_label or field.auto_id)


@register.simple_tag
def once_key() -> str:
    """The idempotency key of a form: a fresh one each time the form is drawn."""
    return format_html('<input type="hidden" name="key" value="{}">', uuid.uuid4())


@register.filter
def money(minor: int | None, studio: Any) -> str:
    """ "45.00 EUR", in the studio's currency."""
    return "" if minor is None else money_words(minor, studio.currency_digits, studio.currency)


@register.filter
def notice_class(message: Any) -> str:
    """A message's level as a notice's class: done, attention, stop or plain."""
    return MESSAGE_CLASSES.get(getattr(message, "level_tag", ""), "")
