"""What stands beside the sentence: the jug, too little use, a widened range, the score, the limits by name."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils.formats import number_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from studiodesk.dates import clock

from .days import day_words, figure, times

WIDENED = 1.2
PL_PER_L = 1_000_000_000_000
PL_PER_ML = 1_000_000_000

LIMITS = {
    "capacity": gettext_lazy("its capacity is used up"),
    "turnovers": gettext_lazy("its turnovers are used up"),
    "silver": gettext_lazy("it holds too much silver"),
    "age": gettext_lazy("it is too old"),
    "condemned": gettext_lazy("a person called it spent"),
}


#: Since when it is past a limit.
PASSED = {
    "capacity": gettext_lazy("Its capacity has been used up since %(when)s: change it first."),
    "turnovers": gettext_lazy("Its turnovers have been used up since %(when)s: change it first."),
    "silver": gettext_lazy("It has held too much silver since %(when)s: change it first."),
    "age": gettext_lazy("It has been too old since %(when)s: change it first."),
    "condemned": gettext_lazy("A person called it spent, %(when)s: change it first."),
}


def passed_words(limit: str, since: datetime | None, today: date, *, by_the_hour: bool) -> str:
    """Since when a limit is passed: "It has been too old since today, 11:02: change it first."; local times."""
    if since is None or limit not in PASSED:
        return _("Change it first.")
    at = localtime(since)
    when = day_words(at.date(), today, long=False)
    if by_the_hour:
        when = _("%(day)s, %(at)s") % {"day": when, "at": clock(at)}
    return PASSED[limit] % {"when": when}


def replenisher_words(row: Any) -> str:
    """What the next four weeks ask of the jug; "" for a bath that is not replenished."""
    if not row.replenisher:
        return ""
    low, middle, high = (row.replenisher[name] for name in ("low", "middle", "high"))
    if not high:
        return _("The next four weeks ask no replenisher.")
    litres = high >= PL_PER_L
    said = _("The next four weeks ask about %(middle)s of replenisher, 4 times in 5 between %(low)s and %(high)s.")
    pattern, unit, places = (_("%(figure)s L"), PL_PER_L, 1) if litres else (_("%(figure)s mL"), PL_PER_ML, 0)
    return said % {
        "middle": pattern % {"figure": figure(middle / unit, places)},
        "low": figure(low / unit, places),
        "high": pattern % {"figure": figure(high / unit, places)},
    }


def low_use_words(row: Any, today: date) -> str:
    """Whether too little will go through a replenished tank; "" where that is not asked or hardly possible."""
    if not row.low_use or row.low_use["probability"] < 0.05:
        return ""
    least = Decimal(row.low_use["turnovers"])
    said = ngettext(
        "Too little use, under %(least)s turnover in four weeks, is to be expected %(times)s",
        "Too little use, under %(least)s turnovers in four weeks, is to be expected %(times)s",
        1 if least == 1 else 2,
    ) % {"least": number_format(least.normalize(), use_l10n=True), "times": times(row.low_use["probability"])}
    if by := row.low_use.get("by"):
        said = _("%(said)s, more likely than not by %(day)s") % {
            "said": said,
            "day": day_words(date.fromisoformat(by), today),
        }
    return f"{said}."


def widened_words(row: Any) -> str:
    return _("The range is widened: earlier ones were too narrow.") if row.widened > WIDENED else ""


def more(row: Any, today: date, *, jug: bool = True) -> list[str]:
    """The sentences that stand behind the first one, where there is something to say; ``jug``: the replenisher too."""
    asked = replenisher_words(row) if jug else ""
    return [words for words in (asked, low_use_words(row, today), widened_words(row)) if words]


def score_words(inside: int, of: int) -> str:
    """ "Of the last 20 forecasts 15 came inside their range." """
    if not of:
        return _("No forecast has come due yet: how good they are shows once the first falls due.")
    if of == 1:
        one = _("The one forecast that came due came inside its range.")
        return one if inside else _("The one forecast that came due did not come inside its range.")
    return _("Of the last %(of)s forecasts %(inside)s came inside their range.") % {"of": of, "inside": inside}


def bath_score_words(inside: int, of: int) -> str:
    """ "Of this bath's last 8 forecasts 6 came inside." """
    if not of:
        return _("None of this bath's own has come due yet.")
    said = ngettext(
        "Of this bath's last %(of)s forecast %(inside)s came inside.",
        "Of this bath's last %(of)s forecasts %(inside)s came inside.",
        of,
    )
    return said % {"of": of, "inside": inside}


def verdict(row: Any) -> str:
    """Whether a kept forecast came true; "–" where another one of that week counts in its place."""
    if row.was_inside is None:
        return _("not known yet") if row.scored_at is None else "–"
    return _("inside") if row.was_inside else _("outside")
