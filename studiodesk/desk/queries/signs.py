"""The signs that the house can print: which there are, and what stands on each.

A code to be read with a phone holds an address and nothing else.  Only two places have one, the front door and the
dry end; a station, whatever its light, a processor's baths and a line of trays never do, for there no phone and no
screen is used.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import segno
from django.utils.translation import gettext as _

from studiodesk.chemistry.models import Bath, BathSetting, Container
from studiodesk.people.models import Tablet
from studiodesk.safety import queries as safety
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Job, JobDone, Processor

FRONT_DOOR, DRY_END, STATION, PROCESSOR, WASTE, TABLET, EMERGENCY = (
    "front-door",
    "dry-end",
    "station",
    "processor",
    "waste",
    "tablet",
    "emergency",
)


@dataclass(frozen=True)
class Sign:
    """One sheet of paper.  ``address``: what its code leads to; "" on every sign that has none."""

    key: str
    sort: str
    name: str
    of: Any = None
    address: str = ""
    kind: str = ""
    baths: list[Bath] = field(default_factory=list)
    note: Any = None
    jobs: list[Any] = field(default_factory=list)

    @property
    def code(self) -> str:
        return qr_code(self.address) if self.address else ""

    @property
    def template(self) -> str:
        return f"desk/signs/{self.sort.replace('-', '_')}.html"


def qr_code(address: str) -> str:
    """A code as SVG: nothing in it but the address.  It reads even with a quarter of it dirty or torn."""
    code = segno.make(address, error="q", micro=False)
    return str(code.svg_inline(border=4, dark="#000", light="#fff", omitsize=True, svgclass="qr", lineclass=None))


def all_signs(door: str) -> list[Sign]:
    """Every sign of the house, in the order in which one walks in; ``door`` is the address of the door's page."""
    machines = list(stations.processors())
    baths: dict[int, list[Bath]] = {}
    for bath in Bath.objects.order_by("processor_id", "position", "pk"):
        baths.setdefault(bath.processor_id, []).append(bath)
    notes = {note.processor_id: note for note in safety.current_notes()}
    lines = _tray_lines()
    out = [Sign(FRONT_DOOR, FRONT_DOOR, _("Front door: sign in and out"), address=door)]
    out.append(Sign(EMERGENCY, EMERGENCY, _("In an emergency"), jobs=_looked_after()))
    out += [Sign(f"{STATION}:{one.code}", STATION, one.name, of=one, kind=one.kind) for one in stations.stations()]
    for one in machines:
        given = {"of": one, "kind": "processor", "baths": baths.get(one.pk, []), "note": notes.get(one.pk)}
        out.append(Sign(f"{PROCESSOR}:{one.code}", PROCESSOR, one.name, **given))
        if has_dry_end(one, lines):
            name = _("Dry end of %(name)s: log the sheets") % {"name": one.name}
            out.append(Sign(f"{DRY_END}:{one.code}", DRY_END, name, of=one, address=door, kind="processor"))
    boxes = Container.objects.filter(sort=Container.Sort.WASTE, in_use=True).select_related("stream")
    out += [Sign(f"{WASTE}:{one.code}", WASTE, one.name, of=one) for one in boxes.order_by("stream__name", "code")]
    if machines or Tablet.objects.filter(revoked_at=None).exists():
        out.append(Sign(TABLET, TABLET, _("Beside the tablet at the processor")))
    return out


def _tray_lines() -> set[int]:
    """Processors that are nothing but open trays: what was set last for each of their baths is filled by hand."""
    rows = BathSetting.objects.order_by("bath", "in_force_from").values_list("bath__processor", "bath", "dosing")
    latest: dict[int, dict[int, str]] = {}
    for processor, bath, dosing in rows:
        latest.setdefault(processor, {})[bath] = dosing
    trays = {BathSetting.Dosing.BATCH, BathSetting.Dosing.HAND}
    return {one for one, of in latest.items() if set(of.values()) <= trays}


def has_dry_end(processor: Processor, tray_lines: Iterable[int]) -> bool:
    """Whether prints come out of it dry, away from the wet side: through a machine, not out of a tray.

    A machine says how long a sheet takes from dry to dry; where nobody said so no code is offered.
    """
    return processor.dry_to_dry_minutes > 0 and processor.pk not in set(tray_lines)


def for_an_emergency() -> tuple[str, ...]:
    """How a job of what helps in an emergency is called, in the reader's language and in English.

    The house keeps no mark for it, so its name decides; whatever is called otherwise is left off the sign.
    """
    said = (_("eyewash"), _("spill"), _("first aid"), _("extinguisher"), _("fire blanket"))
    return (*(word.casefold() for word in said), "eyewash", "spill", "first aid", "extinguisher", "fire blanket")


def _looked_after() -> list[tuple[Job, datetime | None]]:
    """The house's own jobs that keep what helps in an emergency fit for use, and when each was last done."""
    words = for_an_emergency()
    rows = Job.objects.filter(in_use=True, processor=None, occasion=Job.Occasion.DAYS).order_by("name", "pk")
    jobs = [one for one in rows if any(word in one.name.casefold() for word in words)]
    done = JobDone.objects.filter(job__in=jobs, undoes=None, undone_by=None, left_out=False).order_by("at", "pk")
    last = dict(done.values_list("job", "at"))
    return [(one, last.get(one.pk)) for one in jobs]
