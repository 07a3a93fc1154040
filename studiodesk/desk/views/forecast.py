"""How a bath's end is foretold, and reckoning all of them again."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studiodesk.chemistry.rules.standing import AGE, Standing
from studiodesk.chemistry.views.book import stands
from studiodesk.chemistry.views.common import studio_zone
from studiodesk.people.access import house_page, member_page
from studiodesk.planning import actions as planning_acts
from studiodesk.planning import queries as planning
from studiodesk.planning import words
from studiodesk.planning.rules import fan, fan_facts
from studiodesk.timekeeping import studio_day

from .. import queries


@member_page
@require_safe
def bath_forecast(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """Reckoned afresh for this page: the fan, the same as a table, and what it rests on."""
    row, line = stands(processor, code)
    now, zone = timezone.now(), studio_zone()
    today = studio_day(now, zone)
    facts = planning.fan_of(row, now)
    if facts is None or not facts.days:
        raise Http404  # whoever has just taken its figures away knows why
    said = queries.Ahead(line, facts.row, today)
    score, own = planning.score(), planning.score(of=row)
    context: dict[str, Any] = {
        "bath": row,
        "line": line,
        "now": now,
        "today": today,
        "facts": facts,
        "ahead": said,
        "score": words.score_words(score.inside, score.of),
        "own_score": words.bath_score_words(own.inside, own.of) if score.of else "",
        "earlier": [queries.Earlier(one) for one in planning.earlier(row)],
    }
    if said.is_past:
        since, by_the_hour = _passed_since(facts, line, today, zone)
        context["passed"] = words.passed_words(line.limit or facts.row.nearest, since, today, by_the_hour=by_the_hour)
    else:
        changes = queries.planned_changes(row.processor, now)
        context |= {
            "drawing": fan.drawn(facts, now, zone, changes),
            "weeks": fan_facts.weeks(facts),
            "changes": changes,
            "limits": [(words.LIMITS.get(name, name), words.times(p)) for name, p in facts.row.first_limit.items()],
            "area": words.area_words(words.four_weeks_mm2(facts.row) or 0),
        }
    return render(request, "desk/bath_forecast.html", context)


def _passed_since(
    facts: fan_facts.FanFacts, line: Standing, today: date, zone: ZoneInfo
) -> tuple[datetime | None, bool]:
    """(since when a limit is passed, whether to the hour): of days before today only the last sheets are drawn."""
    if line.limit == AGE:
        return line.change_by, True
    since = next((at for at, used in facts.recorded if used >= 1), None)
    return since, since is not None and studio_day(since, zone) == today


@house_page
@require_POST
def reckon(request: HttpRequest) -> HttpResponse:
    """Every bath once more, with what is known now."""
    count = planning_acts.keep_forecasts(now=timezone.now(), by=request.user, why="asked")
    keep = {"reckoned": str(count)} | ({"pause": "1"} if request.POST.get("pause") == "1" else {})
    # Back to where the button stands, which says it itself: a message at the top would be out of sight.
    return redirect(reverse("desk", query=keep, fragment="baths-ahead"))
