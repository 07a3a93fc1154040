"""``manage.py baths``: how every bath stands, as a table to read or as JSON to reckon with."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refused
from studiodesk.chemistry import queries
from studiodesk.chemistry.rules.standing import DAY_S, Standing
from studiodesk.units import nl_number
from studiodesk.words import say

COLUMNS = (
    ("processor", _("processor"), "{}"),
    ("bath", _("bath"), "{}"),
    ("dosing", _("dosing"), "{}"),
    ("area_mm2", "m²", "{:.3f}"),
    ("outstanding_nl", _("outstanding mL"), "{:.3f}"),
    ("strokes_due", _("due"), "{}"),
    ("turnovers", _("turnovers"), "{:.2f}"),
    ("capacity_used", _("capacity"), "{:.3f}"),
    ("age_days", _("days"), "{:.1f}"),
    ("silver_g_per_l", _("silver g/L"), "{:.3f}"),
    ("used", _("used"), "{:.3f}"),
    ("word", _("word"), "{}"),
    ("limit", _("first"), "{}"),
)
SHOWN_IN = {"area_mm2": 1e6, "outstanding_nl": 1e6}


def moment(text: str) -> datetime:
    """An ISO 8601 time with its offset; ``CommandError`` otherwise."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise CommandError(
            gettext("%(text)r is not an ISO 8601 time such as 2026-10-01T18:30:00Z.") % {"text": text}
        ) from error
    if at.tzinfo is None:
        raise CommandError(
            gettext("%(text)r does not say its offset: end it with Z or with one such as +02:00.") % {"text": text}
        )
    return at


def iso(at: datetime | None) -> str | None:
    """UTC with a Z; parts of a second only where there are any."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z") if at else None


def nl(pl: int | None) -> int | float | None:
    return None if pl is None else nl_number(pl)


def as_json(line: Standing) -> dict[str, Any]:
    """One bath for a program: what does not apply is null, amounts are nL with decimals only if a rate has them."""
    return {
        "processor": line.of.processor,
        "bath": line.of.bath,
        "process": line.of.process,
        "name": line.of.name,
        "dosing": line.dosing,
        "since": iso(line.since),
        "volume_nl": nl(line.volume_pl),
        "sheets": line.sheets,
        "area_mm2": line.area_mm2,
        "due_nl": nl(line.due_pl),
        "idle_nl": nl(line.idle_pl),
        "given_nl": nl(line.given_pl),
        "extra_nl": nl(line.extra_pl),
        "water_nl": nl(line.water_pl),
        "working_solution_nl": nl(line.working_pl),
        "outstanding_nl": nl(line.outstanding_pl),
        "unit_nl": nl(line.unit_pl),
        "strokes_due": line.strokes_due,
        "remainder_nl": nl(line.remainder_pl),
        "turnovers": line.turnovers,
        "capacity_used": line.capacity_used,
        "age_days": None if line.age_s is None else line.age_s / DAY_S,
        "silver_g_per_l": line.silver_g_per_l,
        "silver_measured_g_per_l": line.silver_read_g_per_l,
        "used": line.used,
        "word": line.word,
        "limit": line.limit,
        "parts": dict(line.parts),
        "alerts": list(line.alerts),
    }


def table(lines: list[dict[str, Any]]) -> str:
    """The same as columns; a dash for what does not apply."""
    rows = [[str(title) for _key, title, _pattern in COLUMNS]]
    for line in lines:
        cells = []
        for key, _title, pattern in COLUMNS:
            value = line[key]
            cells.append("–" if value is None else pattern.format(value / SHOWN_IN[key] if key in SHOWN_IN else value))
        rows.append(cells)
    widths = [max(len(row[n]) for row in rows) for n in range(len(COLUMNS))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


class Command(BaseCommand):
    help = gettext("How every bath stands: now, or as it was at a moment.")

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help=gettext("a JSON list for programs"))
        parser.add_argument("--at", metavar="TIME", help=gettext("as it was at this ISO time, by what is known now"))
        parser.add_argument("--known-at", metavar="TIME", help=gettext("by what was recorded until this ISO time"))

    def handle(self, *args: Any, **options: Any) -> None:
        at = moment(options["at"]) if options["at"] else timezone.now()
        known_at = moment(options["known_at"]) if options["known_at"] else None
        try:
            found = queries.standings(at, known_at, recount=bool(options["at"]))
        except Refused as refused:
            raise CommandError(str(say(refused.refusal))) from refused
        lines = [as_json(line) for line in found]
        if options["json"]:
            self.stdout.write(json.dumps(lines, ensure_ascii=False, indent=2))
        elif lines:
            self.stdout.write(table(lines))
        else:
            self.stdout.write(gettext("No bath has been described yet: load a studio with load_studio."))
