"""Control strips of a processor: the chart, writing one down, and the aims."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import house_page, staff_page
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import AimsForm, StripForm
from ..models import ControlStrip
from ..queries import strips as reads
from ..rules import strip_chart
from ..rules import strips as rules
from ..words.strips import ADVICE, EYES, VERDICTS
from .common import answered_once, sent, studio_zone

TABLE_SHOWN = 200


def _processor(code: str) -> Processor:
    try:
        return queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing


@require_safe
@house_page
def strips(request: HttpRequest, code: str) -> HttpResponse:
    """The chart of the last strips; ``?view=table``: the same as a table, and further back."""
    processor, now, table = _processor(code), timezone.now(), request.GET.get("view") == "table"
    found = reads.read_strips(processor, TABLE_SHOWN if table else reads.SHOWN)
    aims, case = reads.aims(processor, now), reads.open_case(processor)
    lines = [_line(one, reads.aims(processor, one.at) if one.strip else aims, now) for one in reversed(found)]
    read = [one for one in found if one.readings]
    chart = strip_chart.chart([one.deviations for one in read], aims)
    last = found[-1].strip if found else None
    context = {
        "processor": processor,
        "lines": lines if table else lines[:10],
        "table": table,
        "chart": drawn_chart(chart, read),
        "case": case,
        "advice": _advice(case, last),
        "has_aims": bool(aims),
        "now": now,
    }
    return render(request, "chemistry/strips.html", context)


def _advice(case: Any, last: ControlStrip | None) -> Any:
    if case is not None:
        return ADVICE["held" if case.held_at else "second"]
    return ADVICE.get(last.verdict) if last is not None else None


def _signed(value: Decimal) -> str:
    """ "+0.09", "−0.04" """
    if not value:
        return "0"
    text = number_format(Decimal(f"{abs(value).normalize():f}"))
    return f"−{text}" if value < 0 else f"+{text}"


def _line(one: reads.Read, aims: Any, now: datetime) -> dict[str, Any]:
    """A strip with every deviation, and the limit that was passed in words."""
    judged = rules.judged({key: row.reading for key, row in one.readings.items()}, aims) if one.readings else []
    if one.strip is None:
        deviations = [f"{patch} {channel} {_signed(value)}" for (patch, channel), value in one.deviations.items()]
    else:
        deviations = [f"{each.patch} {each.channel} {_signed(each.deviation)}" for each in judged]
    broken = [
        _("%(what)s: %(deviation)s, its limit is %(limit)s")
        % {"what": f"{each.patch} {each.channel}", "deviation": _signed(each.deviation), "limit": _signed(each.limit)}
        for each in judged
        if each.limit is not None and one.strip is not None
    ]
    strip = one.strip
    zone = studio_zone()
    return {
        "at": one.at,
        "strip": strip,
        "eye": EYES.get(strip.eye, "") if strip else "",
        "verdict": VERDICTS[strip.verdict] if strip else "",
        "deviations": deviations,
        "broken": broken,
        "late": strip is not None and (strip.recorded_at - strip.read_at).total_seconds() > 300,
        "may_undo": strip is not None and studio_day(strip.recorded_at, zone) == studio_day(now, zone),
    }


def _beside(value: Decimal, kind: str) -> int:
    """Where a limit's word stands, in px from its line: outside it for control, inside it for action."""
    over, under = -5, 15
    return over if (value > 0) == (kind == "control") else under


def drawn_chart(chart: strip_chart.Chart, read: Sequence[Any]) -> dict[str, Any]:
    """The places as the page writes them: numbers with points, whatever the reader's language."""
    panels = [
        {
            "patch": panel.patch,
            "top": panel.top,
            "title": panel.title,
            "plot": strip_chart.PLOT,
            "aim": f"{panel.aim:g}",
            "limits": [
                {"y": f"{y:g}", "word": _signed(value), "at": f"{y + _beside(value, kind):g}", "kind": kind}
                for kind, many in (("action", panel.action), ("control", panel.control))
                for y, value in many
            ],
            "paths": panel.paths,
            "points": [{"x": f"{one.x:g}%", "y": f"{one.y:g}", "shape": one.shape} for one in panel.points],
            "channels": panel.channels,
        }
        for panel in chart.panels
    ]
    return {
        "height": chart.height,
        "panels": panels,
        "channels": sorted({pair for panel in chart.panels for pair in panel.channels}),
        "dates_y": f"{chart.dates_y + 14:g}",
        "wide": strip_chart.WIDE,
        "first": read[0].at if read else None,
        "last": read[-1].at if read else None,
        "count": len(read),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def strip_new(request: HttpRequest, code: str) -> HttpResponse:
    processor, now = _processor(code), timezone.now()
    given = {"aims": reads.aims(processor, now), "sizes": queries.sheets_for(processor)}
    form, status = StripForm(initial={"at": now}, **given), 200
    if request.method == "POST":
        form = StripForm(request.POST, **given)
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _write(request, processor, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                said = messages.success if answer["verdict"] == rules.INSIDE else messages.warning
                said(request, answer["words"])
                return redirect("strips", code=code)
        status = 422
    context = {"processor": processor, "form": form, "case": reads.open_case(processor)}
    return render(request, "chemistry/strip_new.html", context, status=status)


def _write(request: HttpRequest, processor: Processor, form: StripForm, now: datetime) -> dict[str, Any]:
    form.ask_again_about(form.cleaned_data["at"], now)
    strip = actions.record_strip(processor=processor, now=now, by=request.user, **form.values())
    advice = _advice(reads.open_case(processor), strip)
    words = _("The strip is %(verdict)s.") % {"verdict": VERDICTS[strip.verdict]}
    return {"verdict": strip.verdict, "words": f"{words} {advice}"}


@require_POST
@house_page
def strip_undo(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    processor = _processor(code)
    try:
        strip = reads.access_strip(processor, pk)
    except ControlStrip.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.take_back_strip(strip=strip, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("The strip was taken back."))
    return redirect("strips", code=code)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def strip_aims(request: HttpRequest, code: str) -> HttpResponse:
    """``?patch=``: which one is written to begin with."""
    processor, now = _processor(code), timezone.now()
    rows = reads.aim_rows(processor, now)
    by_patch: dict[str, list[Any]] = {}
    for row in rows.values():
        by_patch.setdefault(row.patch, []).append(row)
    status = 200
    if request.method == "POST":
        form = AimsForm(request.POST)
        if form.is_valid():
            try:
                answered_once(request, sent(request), now, lambda: _aims(request, processor, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, _("The aims are in force."))
                return redirect("strip_aims", code=code)
        status = 422
    else:
        asked = by_patch.get(request.GET.get("patch", ""))
        form = AimsForm(initial={"since": now, **(AimsForm.written(asked) if asked else {})})
    context = {"processor": processor, "form": form, "patches": sorted(by_patch.items())}
    return render(request, "chemistry/strip_aims.html", context, status=status)


def _aims(request: HttpRequest, processor: Processor, form: AimsForm, now: datetime) -> dict[str, Any]:
    chosen = form.cleaned_data
    rows = actions.set_strip_aims(
        processor=processor,
        aims=form.aims(),
        since=chosen["since"],
        batch=chosen["batch"],
        source=chosen["source"],
        now=now,
        by=request.user,
    )
    return {"aims": [row.pk for row in rows]}
