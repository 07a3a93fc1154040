"""What alerts are called, what to do about each, and why one cannot be taken, put off or cleared.

``facts`` of an alert that its detail is made of, all optional: ``processor held``, ``second strip`` and ``strip past
action``: ``rule`` (patch and channel), ``off`` (how far from its aim); ``drift``: ``patch``; ``out of tolerance``:
``value``, ``at_least``, ``at_most``, ``unit``; ``evaporation``: ``times``; ``pump off``: ``percent``; ``unlogged``:
``ml``, ``percent``; ``job overdue``: ``day``; ``reorder``: ``left``, ``unit``; ``expired``: ``day``, ``lot``; ``waste
full``: ``percent``; ``permit ends``: ``number``, ``day``.  Numbers are numbers or decimals as text, days ISO dates as
text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.dates import written
from studiodesk.words import Words, register


@dataclass(frozen=True)
class KindWords:
    """``what`` is said with %(bath)s, %(processor)s, %(job)s, %(product)s, %(container)s; ``do`` is one sentence.

    ``ways``: names of addresses in the order in which they are tried, each with what its arguments are taken from
    ("bath": the codes of processor and bath, "processor", "job", "product", "container", or nothing, and then words
    as they stand), and what the link says.
    """

    name: Any
    what: Any
    do: Any
    ways: tuple[tuple[str, tuple[str, ...], Any], ...]


LOOK = _("Look at it")
OPEN_BATH = ("bath", ("bath",), _("Look at the bath"))
KINDS: dict[str, KindWords] = {
    "replenishment due": KindWords(
        _("Replenishment due"),
        _("%(bath)s, %(processor)s: replenishment is due"),
        _("Give it before the next sheets go through."),
        (("bath_entry", ("bath", "replenishment"), _("Give it and write it down")),),
    ),
    "at its end": KindWords(
        _("Bath at its end"),
        _("%(bath)s, %(processor)s: spent"),
        _("Change it before anything else goes through."),
        (("bath_entry", ("bath", "change"), _("Write down the bath change")),),
    ),
    "contaminated": KindWords(
        _("Contaminated"),
        _("%(bath)s, %(processor)s: contaminated"),
        _("Let nothing more through; dump it into its own waste container, rinse and refill it."),
        (("bath_entry", ("bath", "change"), _("Write down the bath change")),),
    ),
    "evaporation": KindWords(
        _("Too much water lost"),
        _("%(bath)s, %(processor)s: loses more water than it should"),
        _("Look at lids, heater and air before you top it up again."),
        (OPEN_BATH,),
    ),
    "pump off": KindWords(
        _("Pump off"),
        _("%(bath)s, %(processor)s: its pump gives another amount than is reckoned"),
        _("Catch strokes in a cylinder, three times at least, and write them down."),
        (("bath_pump", ("bath",), _("Measure the pump")), OPEN_BATH),
    ),
    "unlogged": KindWords(
        _("Not logged"),
        _("%(bath)s, %(processor)s: more replenisher went than the logged sheets ask"),
        _("Find out what was not logged, and book it."),
        (("bath_bottle", ("bath",), _("Look at the bottle")), OPEN_BATH),
    ),
    "strip past action": KindWords(
        _("Strip past its action limit"),
        _("%(processor)s: a control strip is past its action limit"),
        _("Print on, and look for the cause before the next strip."),
        (("strips", ("processor",), _("Look at the strips")), ("board", (), _("Look at its baths"))),
    ),
    "second strip": KindWords(
        _("Second strip asked for"),
        _("%(processor)s: a control strip is past its control limit"),
        _("Run a second strip now: it decides whether the processor is held."),
        (("strip_new", ("processor",), _("Write down the second strip")), ("board", (), _("Look at its baths"))),
    ),
    "processor held": KindWords(
        _("Processor held"),
        _("%(processor)s: held, its control strips are past their limits"),
        _("Look for the cause; a good strip lets it go again."),
        (("strips", ("processor",), _("Look at the strips")), ("board", (), _("Look at its baths"))),
    ),
    "drift": KindWords(
        _("Drift"),
        _("%(processor)s: six control strips in a row went the same way"),
        _("Look for what changes slowly: temperature, replenishment, age."),
        (("strips", ("processor",), _("Look at the strips")), ("board", (), _("Look at its baths"))),
    ),
    "out of tolerance": KindWords(
        _("Out of tolerance"),
        _("%(job)s: out of its tolerance"),
        _("Put it right, wait, and read it again before anything goes through."),
        (("working_day", ("processor",), _("To the day of its processor")), ("jobs", (), _("To the jobs"))),
    ),
    "job overdue": KindWords(
        _("Job overdue"),
        _("%(job)s: overdue"),
        _("Do it, or leave it out with a reason."),
        (("jobs", (), _("To the jobs")),),
    ),
    "not closed": KindWords(
        _("Not closed"),
        _("%(processor)s: was not closed"),
        _("Go through its closing now: rinse, lids, drains."),
        (("working_day", ("processor",), _("To the day of its processor")),),
    ),
    "reorder": KindWords(
        _("Order again"),
        _("%(product)s: order it again"),
        _("Order it, and write the delivery down when it comes."),
        (("stock_product", ("product",), _("Look at its stock")), ("stock", (), _("To the stock"))),
    ),
    "expired": KindWords(
        _("Expired"),
        _("%(product)s: expired"),
        _("Do not mix from it; take it to the waste that its data sheet names, and write that down."),
        (("stock_product", ("product",), _("Look at its stock")), ("stock", (), _("To the stock"))),
    ),
    "waste full": KindWords(
        _("Waste container full"),
        _("%(container)s: full, or nearly so"),
        _("Have it picked up, or connect an empty one: local rules and the contractor decide where it goes."),
        (("waste_container", ("container",), _("Look at the container")),),
    ),
    "permit ends": KindWords(
        _("Permit ends"),
        _("A waste permit ends"),
        _("Ask for the next one in time, and write it down when it comes."),
        (("waste", (), _("To the permits")),),
    ),
}
LIMITS = {
    "capacity": _("its capacity is used up"),
    "turnovers": _("its turnovers are used up"),
    "age": _("it is too old"),
    "silver": _("its silver limit is passed"),
    "condemned": _("a person called it spent"),
}
#: Codes of the journal about an alert → what the history says.
DEEDS = {
    "chemistry.alert_raised": _("Raised"),
    "chemistry.alert_taken": _("Taken on"),
    "chemistry.alert_given_back": _("Given back"),
    "chemistry.alert_put_off": _("Put off"),
    "chemistry.alert_brought_back": _("Brought back"),
    "chemistry.alert_told": _("Told by letter"),
    "chemistry.alert_cleared": _("Cleared"),
}


def what_words(kind: str, names: Mapping[str, str]) -> str:
    """ "Fix, RC processor: spent" """
    known = {name: names.get(name, "") for name in ("bath", "processor", "job", "product", "container")}
    return str(KINDS[kind].what) % known


def do_words(kind: str) -> str:
    return str(KINDS[kind].do)


def _day(text: Any) -> str:
    try:
        return written(date.fromisoformat(str(text)[:10]), "l j F")
    except ValueError:
        return ""


def _figure(number: Any) -> str:
    """As the reader's language writes it: "1,234.5"; what is no number as it stands."""
    try:
        plain = Decimal(str(number)).normalize()
    except InvalidOperation:
        return str(number)
    return str(number_format(Decimal(f"{plain:f}"), force_grouping=True))


def _signed(number: Any) -> str:
    text = _figure(number)
    return f"−{text[1:]}" if text.startswith("-") else f"+{text}"


def detail_words(kind: str, limit: str, facts: Mapping[str, Any]) -> str:
    """What is known beside the sentence: "too old", "39.2 °C", "under 500 mL left"; "" if nothing is."""
    known = {name: value for name, value in facts.items() if value not in (None, "")}
    if "day" in known and not _day(known["day"]):
        del known["day"]
    if kind == "at its end":
        return str(LIMITS.get(limit, ""))
    if kind == "out of tolerance" and "value" in known:
        unit = known.get("unit", "")
        read = gettext("read: %(value)s %(unit)s") % {"value": _figure(known["value"]), "unit": unit}
        least, most = known.get("at_least"), known.get("at_most")
        if least is not None and most is not None:
            return gettext("%(read)s, it should be %(least)s to %(most)s") % {
                "read": read.strip(), "least": _figure(least), "most": f"{_figure(most)} {unit}".strip()
            }  # fmt: skip
        return read.strip()
    if kind in ("second strip", "processor held", "strip past action") and "rule" in known:
        return " ".join([str(known["rule"]), *([_signed(known["off"])] if "off" in known else [])])
    if kind == "drift" and "patch" in known:
        return str(known["patch"])
    if kind == "evaporation" and "times" in known:
        return gettext("%(times)s times as much as usual") % {"times": _figure(known["times"])}
    if kind == "pump off" and "percent" in known:
        return gettext("%(percent)s %% off") % known
    if kind == "unlogged" and "ml" in known:
        share = gettext(" (%(percent)s %%)") % known if "percent" in known else ""
        return gettext("%(ml)s mL%(share)s") % {"ml": _figure(known["ml"]), "share": share}
    if kind == "job overdue" and "day" in known:
        return gettext("it was due on %(day)s") % {"day": _day(known["day"])}
    if kind == "reorder" and "left" in known:
        return gettext("%(left)s %(unit)s left") % {"left": _figure(known["left"]), "unit": known.get("unit", "")}
    if kind == "expired" and "day" in known:
        return gettext("on %(day)s") % {"day": _day(known["day"])}
    if kind == "waste full" and "percent" in known:
        return gettext("%(percent)s %% full") % known
    if kind == "permit ends" and "day" in known:
        return gettext("number %(number)s, on %(day)s") % {
            "number": known.get("number", "–"),
            "day": _day(known["day"]),
        }
    return ""


register(
    {
        "chemistry.alert_cleared": Words(_("This alert is cleared already."), _("Nothing more needs to be done.")),
        "chemistry.alert_taken": Words(
            _("%(name)s has taken this already."), _("Ask them, or take it over if they cannot do it.")
        ),
        "chemistry.alert_not_yours": Words(
            _("Somebody else has taken this."), _("They give it back themselves, or staff do it for them.")
        ),
        "chemistry.alert_until_past": Words(
            _("%(until)s has passed."), _("Choose a time to come; then it is there again by itself.")
        ),
        "chemistry.alert_until_far": Words(
            _("An alert is put off for %(days)s days at most."), _("Choose an earlier time.")
        ),
        "chemistry.alert_reason": Words(_("The reason is missing."), _("Write one line that the next person can use.")),
        "chemistry.alert_by_rule": Words(
            _("This clears by itself as soon as it is put right."), _("Put it off with a reason if it has to wait.")
        ),
    }
)
