"""A bath's book: what can be written in it, what that is called, and which bath an address means."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext_lazy

from .. import queries
from ..models import Bath
from ..rules import entering
from ..rules.settings import RUNNING_WATER
from ..rules.standing import Standing

#: the word in the address → the event, what its page is called, what its button says
EVENTS = {
    "replenishment": (entering.GIVEN, gettext_lazy("Replenishment given"), gettext_lazy("Log what was given")),
    "change": (entering.REFILL, gettext_lazy("Bath change"), gettext_lazy("The bath was changed")),
    "water": (entering.WATER, gettext_lazy("Topped up with water"), gettext_lazy("Log the water")),
    "working-solution": (
        entering.WORKING_SOLUTION,
        gettext_lazy("Topped up with working solution"),
        gettext_lazy("Log the working solution"),
    ),
    "partial-dump": (entering.PARTIAL_DUMP, gettext_lazy("Part of the bath replaced"), gettext_lazy("Log it")),
    "lost": (entering.LOST, gettext_lazy("Spilled or leaked"), gettext_lazy("Log the loss")),
    "strip": (entering.STRIP, gettext_lazy("Silver strip read"), gettext_lazy("Log the reading")),
    "dumped": (entering.DUMPED, gettext_lazy("Poured away"), gettext_lazy("It was poured away")),
    "into-bottle": (
        entering.INTO_BOTTLE,
        gettext_lazy("Poured back into its bottle"),
        gettext_lazy("It is in its bottle"),
    ),
    "out-of-bottle": (
        entering.OUT_OF_BOTTLE,
        gettext_lazy("Poured out of its bottle"),
        gettext_lazy("It was poured out"),
    ),
    "contaminated": (
        entering.CONTAMINATED,
        gettext_lazy("Something got into the bath"),
        gettext_lazy("Call it contaminated"),
    ),
    "spent": (entering.CONDEMNED, gettext_lazy("Call the bath spent"), gettext_lazy("Call it spent")),
    "note": (entering.NOTE, gettext_lazy("Note"), gettext_lazy("Keep the note")),
}
TITLES = {event: title for event, title, _button in EVENTS.values()} | {
    entering.CONDEMNED: gettext_lazy("Called spent"),
    entering.CONTAMINATED: gettext_lazy("Called contaminated"),
    entering.START_UP: gettext_lazy("Asked at opening"),
}
#: the event → the word in the address
SLUGS = {event: slug for slug, (event, _title, _button) in EVENTS.items()}


def stands(processor: str, code: str) -> tuple[Bath, Standing]:
    """The bath of these codes and how it stands now; ``Http404`` if there is none, or it has no figures yet."""
    try:
        row = queries.access_bath(processor, code)
    except Bath.DoesNotExist as missing:
        raise Http404 from missing
    lines = queries.standings(timezone.now(), of=[row])
    if not lines:
        raise Http404
    return row, lines[0]


def offers(line: Standing) -> dict[str, list[tuple[str, Any]]]:
    """(word in the address, title) of the entries that make sense for this bath, the usual ones apart."""
    usual = ["replenishment"] if line.outstanding_pl is not None else []
    usual += ["change"] if line.dosing != RUNNING_WATER else ["note"]
    if line.silver_ug_per_l is not None and line.dosing != RUNNING_WATER:
        usual.append("strip")
    senseless = {"replenishment", "out-of-bottle" if line.bottled_at is None else "into-bottle"}
    if line.is_empty:
        senseless |= {"dumped", "into-bottle", "partial-dump"}
        usual = [slug for slug in usual if slug != "replenishment"]
    others = (
        [slug for slug in EVENTS if slug not in {*usual, *senseless}] if line.dosing != RUNNING_WATER else ["spent"]
    )
    return {"main": [(slug, EVENTS[slug][1]) for slug in usual], "more": [(slug, EVENTS[slug][1]) for slug in others]}
