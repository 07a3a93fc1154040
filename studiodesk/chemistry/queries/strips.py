"""Control strips as they were read, and the aims that they were held against."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from studiodesk.stations.models import Processor

from ..models import ControlStrip, StripAim, StripCase, StripReading
from ..rules import strips as rules

SHOWN = 40
Key = tuple[str, str]


@dataclass(frozen=True)
class Read:
    """One strip in time: from the book, or readings of one moment from a file (``strip`` None)."""

    at: datetime
    strip: ControlStrip | None
    readings: Mapping[Key, StripReading]

    @property
    def deviations(self) -> dict[Key, Decimal]:
        return {key: row.reading - row.aim for key, row in self.readings.items()}


def aim_rows(processor: Processor, at: datetime) -> dict[Key, StripAim]:
    """What is in force at a moment: of each patch and channel the latest row."""
    rows = StripAim.objects.filter(processor=processor, in_force_from__lte=at).order_by("in_force_from", "pk")
    return {(row.patch, row.channel): row for row in rows}


def aim_of(row: StripAim) -> rules.Aim:
    return rules.Aim(
        aim=None if row.reference is None else row.reference + row.correction,
        action_below=row.action_below,
        action_above=row.action_above,
        control_below=row.control_below,
        control_above=row.control_above,
    )


def aims(processor: Processor, at: datetime) -> dict[Key, rules.Aim]:
    return {key: aim_of(row) for key, row in aim_rows(processor, at).items()}


def held_strips(processor: Processor) -> list[ControlStrip]:
    """Those that count, in the order in which they were read."""
    rows = ControlStrip.objects.filter(processor=processor, undoes=None, undone_by=None)
    return list(rows.select_related("recorded_by").order_by("read_at", "pk"))


def access_strip(processor: Processor, pk: int) -> ControlStrip:
    return ControlStrip.objects.select_related("processor").get(processor=processor, pk=pk, undoes=None)


def open_case(processor: Processor) -> StripCase | None:
    return StripCase.objects.filter(processor=processor, ended_at=None).select_related("outage", "first").first()


def read_strips(processor: Processor, last: int = SHOWN) -> list[Read]:
    """The last strips with their readings, in time order; also what came from a file, and strips judged by eye."""
    strips = held_strips(processor)
    readings: dict[tuple[datetime, int | None], dict[Key, StripReading]] = defaultdict(dict)
    known = {one.pk for one in strips}
    for row in StripReading.objects.filter(processor=processor).order_by("read_at", "pk"):
        if row.strip_id is None or row.strip_id in known:
            readings[row.read_at, row.strip_id][row.patch, row.channel] = row
    found = [Read(one.read_at, one, readings.pop((one.read_at, one.pk), {})) for one in strips]
    found += [Read(at, None, rows) for (at, _strip), rows in readings.items()]
    return sorted(found, key=lambda one: (one.at, one.strip.pk if one.strip else 0))[-last:]
