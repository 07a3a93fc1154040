"""What is said of the figures of a bath, of what they lead to, of pumps, bottles and pairs of baths."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from studiodesk.sizes import area_with_unit, mm2_per_unit
from studiodesk.units import PL_PER_L, PL_PER_ML
from studiodesk.words import Words, register

register(
    {
        "chemistry.figures_in_the_future": Words(
            _("%(at)s has not come yet."), _("New figures hold from now, or from a time that has passed.")
        ),
        "chemistry.figures_before_others": Words(
            _("Other figures are in force since %(at)s."), _("Choose a later time.")
        ),
        "chemistry.next_bath_elsewhere": Words(
            _("What takes the place of %(bath)s is another bath of the same line."), _("Choose one of the list.")
        ),
        "chemistry.rate_needs_size": Words(
            _("A rate for a sheet needs the size of that sheet."), _("Choose the size it speaks of.")
        ),
        "chemistry.rate_needs_width": Words(
            _("A rate for a length needs a width."), _("Write the width of the web in millimetres.")
        ),
        "chemistry.no_pump": Words(
            _("No pump gives to %(bath)s."), _("Only a bath that a machine replenishes has one.")
        ),
        "chemistry.too_few_catches": Words(
            _("%(least)s catches at least, each of one stroke or more."), _("Catch once more and write that down too.")
        ),
        "chemistry.catch_absurd": Words(
            _("A catch for %(bath)s is more than 0 and at most %(most_ml)s mL."),
            _("Check the amount; it is in millilitres."),
        ),
        "chemistry.no_bottle": Words(_("Nothing is replenished from this bottle."), ""),
        "chemistry.bottle_there": Words(_("%(bath)s has its bottle already."), _("Read its level instead.")),
        "chemistry.bottle_code_taken": Words(_("Another container is marked %(mark)s."), _("Give it another mark.")),
        "chemistry.bottle_level_absurd": Words(
            _("This bottle holds %(most_ml)s mL at most."), _("Check both amounts; they are in millilitres.")
        ),
        "chemistry.bottle_read_before": Words(
            _("It was read at %(at)s already."), _("A later reading comes after that.")
        ),
        "chemistry.nothing_unseen": Words(
            _("There is nothing to book: the book and the bottle agree, or it was booked already."), ""
        ),
        "chemistry.no_next_bath": Words(
            _("No second bath stands behind %(bath)s."), _("Staff say which one on the page of its figures.")
        ),
        "chemistry.next_bath_is_spent": Words(
            _("%(bath)s is spent or contaminated itself."), _("Change both of them.")
        ),
        "chemistry.rotations_used": Words(
            _("%(bath)s and %(next)s were rotated %(times)s times: that is all."), _("Change both of them.")
        ),
        "chemistry.trays_elsewhere": Words(_("One of these is not a bath of this line."), _("Open the page again.")),
    }
)


def figure(value: float, places: int = 0) -> str:
    return str(number_format(round(value, places), places, force_grouping=True))


def short(value: float) -> str:
    """As many decimals as the size of a number is worth."""
    return figure(value, 2 if value < 1 else 1 if value < 10 else 0)


def _weeks(weeks: float) -> str:
    if weeks < 2:
        days = max(1, round(weeks * 7))
        return ngettext("%(days)s day", "%(days)s days", days) % {"days": figure(days)}
    return gettext("%(weeks)s weeks") % {"weeks": short(weeks)}


def _area(mm2: float) -> str:
    return area_with_unit(short(mm2 / float(mm2_per_unit())))


def _silver(micrograms: float) -> str:
    return figure(micrograms / 1_000_000, 2)


def _silver_always(facts: Mapping[str, Any]) -> str:
    said = gettext(
        "Silver would settle at %(settles)s g/L: your limit of %(limit)s g/L is passed after about %(area)s."
    )
    words = said % {
        "settles": _silver(facts["settles"]),
        "limit": _silver(facts["limit"]),
        "area": _area(facts["area"]),
    }
    return f"{words} {_in_weeks(facts)}".strip()


def _in_weeks(facts: Mapping[str, Any]) -> str:
    return (
        gettext("At the present use that is %(weeks)s.") % {"weeks": _weeks(facts["weeks"])} if "weeks" in facts else ""
    )


def _silver_after(facts: Mapping[str, Any]) -> str:
    said = gettext("Your silver limit of %(limit)s g/L is reached after about %(area)s.")
    return f"{said % {'limit': _silver(facts['limit']), 'area': _area(facts['area'])}} {_in_weeks(facts)}".strip()


def _unit_each(facts: Mapping[str, Any]) -> str:
    known = {"sheets": short(facts["sheets"]), "ml": short(facts["unit_pl"] / PL_PER_ML)}
    if facts["by_machine"]:
        return gettext("One stroke of %(ml)s mL comes every %(sheets)s sheets of the usual size.") % known
    return gettext("One measure of %(ml)s mL is due every %(sheets)s sheets of the usual size.") % known


def _units_a_sheet(facts: Mapping[str, Any]) -> str:
    known = {"units": short(facts["units"]), "ml": short(facts["unit_pl"] / PL_PER_ML)}
    if facts["by_machine"]:
        return gettext("A sheet of the usual size asks for %(units)s strokes of %(ml)s mL.") % known
    return gettext("A sheet of the usual size asks for %(units)s measures of %(ml)s mL.") % known


def _seasons(facts: Mapping[str, Any]) -> str:
    said = gettext("It seasons after %(weeks)s: %(turnovers)s turnovers in four weeks at %(area)s a week.")
    return said % {
        "weeks": _weeks(facts["weeks"]),
        "turnovers": figure(facts["turnovers"], 2),
        "area": _area(facts["area"]),
    }


def _never_seasons(facts: Mapping[str, Any]) -> str:
    said = gettext(
        "At %(area)s a week this tank of %(litres)s L never seasons (%(turnovers)s turnovers in four weeks): run it "
        "as a batch, take a smaller tank, or gather its paper into two days a week."
    )
    return said % {
        "area": _area(facts["area"]),
        "litres": short(facts["volume_pl"] / PL_PER_L),
        "turnovers": figure(facts["turnovers"], 2),
    }


def _capacity(facts: Mapping[str, Any]) -> str:
    if "sheets" in facts:
        said = gettext("A tank takes %(area)s: about %(sheets)s sheets of the usual size.")
        return said % {"area": _area(facts["area"]), "sheets": figure(facts["sheets"])}
    return gettext("A tank takes %(area)s.") % {"area": _area(facts["area"])}


SAID: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "no_tank": lambda _f: gettext("Nothing stands in it that wears out: no limit binds here."),
    "no_limit": lambda _f: gettext("No limit is set: this bath is never called spent by itself."),
    "use_not_known": lambda f: gettext("Of use nothing is said before %(days)s days with sheets are known.") % f,
    "silver_settles": lambda f: gettext("Silver settles at %(s)s g/L; no limit is set.") % {"s": _silver(f["settles"])},
    "silver_never": lambda f: (
        gettext("Silver settles at %(settles)s g/L: your limit of %(limit)s g/L is never met.")
        % {"settles": _silver(f["settles"]), "limit": _silver(f["limit"])}
    ),
    "silver_always": _silver_always,
    "silver_after": _silver_after,
    "unit_each": _unit_each,
    "units_a_sheet": _units_a_sheet,
    "a_week": lambda f: (
        gettext("At the present %(area)s a week it asks for %(ml)s mL of replenisher a week.")
        % {"area": _area(f["area"]), "ml": figure(f["pl"] / PL_PER_ML)}
    ),
    "seasons": _seasons,
    "never_seasons": _never_seasons,
    "measure_over_step": lambda f: (
        gettext("One measure of %(unit)s mL is more than the %(most)s mL that go in at once.")
        % {"unit": short(f["unit_pl"] / PL_PER_ML), "most": short(f["most_pl"] / PL_PER_ML)}
    ),
    "batch_without_capacity": lambda _f: gettext(
        "A batch with neither a capacity nor a shelf life is never called spent."
    ),
    "water_lost": lambda f: (
        gettext("By the log it loses about %(ml)s mL of water a day.") % {"ml": short(f["pl"] / PL_PER_ML)}
    ),
    "capacity": _capacity,
    "capacity_first": lambda f: (
        gettext("At the present use its capacity is used up after %(w)s.") % {"w": _weeks(f["weeks"])}
    ),
    "age_first": lambda f: (
        gettext(
            "At the present use its shelf life ends first, after %(age)s, with about %(used)s %% of its capacity used."
        )
        % {"age": _weeks(f["age_weeks"]), "used": figure(100 * f["used"])}
    ),
}


def lead_words(code: str, facts: Mapping[str, Any]) -> str:
    """A ``Lead`` of the rules, in words."""
    return SAID[code](facts)
