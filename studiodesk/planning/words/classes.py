"""What a class asks of a bath, as a sentence without its full stop: will it last, and when to change it if not."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.utils.formats import number_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from .beside import PL_PER_L, PL_PER_ML
from .days import day_words, figure, times

#: From here on it is as good as certain that the bath has given out before the class begins.
SURELY_BEFORE = 0.9


def ask_words(ask: Mapping[str, Any], verdict: str, today: date) -> str:
    """ "about 86 % used after it, tired by then: better changed before Saturday 12 December"; ``ask``: a kept one."""
    day = day_words(localtime(datetime.fromisoformat(ask["starts"])).date(), today)
    used = "" if ask["used"] is None else _percent(ask["used"])
    if verdict == "change":
        if ask["before"] >= SURELY_BEFORE:
            return _("at its end before the class begins: change it before %(day)s") % {"day": day}
        if ask["limit"] == "age":
            return _("too old by then: change it before %(day)s") % {"day": day}
        said = _("about %(used)s used after it, at its end %(times)s: change it before %(day)s")
        return said % {"used": used, "times": times(ask["chance"]), "day": day}
    if verdict == "tired":
        said = _("about %(used)s used after it, tired by then: better changed before %(day)s")
        return said % {"used": used, "day": day}
    if verdict == "carries":
        return _("carries it: about %(used)s used after it") % {"used": used}
    return _("lasts: no use of it wears it out")


def jug_words(amount_pl: int | None) -> str:
    """ "asks for about 1.4 L of replenisher"; "" for a bath that is not replenished."""
    if not amount_pl:
        return ""
    if amount_pl >= PL_PER_L:
        words = _("%(figure)s L") % {"figure": figure(amount_pl / PL_PER_L, 1)}
    else:
        words = _("%(figure)s mL") % {"figure": figure(amount_pl / PL_PER_ML, 0)}
    return _("asks for about %(amount)s of replenisher") % {"amount": words}


def _percent(share: float) -> str:
    return _("%(figure)s %%") % {"figure": number_format(round(min(share, 9.99) * 100), use_l10n=True)}
