"""What whoever prints must know about the baths before anything goes through."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from studiodesk.stations.models import Processor

from ..models import Alert
from ..rules.standing import SPENT, Standing
from .standings import baths, standings


def spent_baths(
    now: datetime, *, of: Iterable[Processor] | None = None, zone: ZoneInfo | None = None
) -> list[Standing]:
    """The baths that are spent, or that a person called so, at all processors or at those in ``of``."""
    listed = baths() if of is None else baths().filter(processor__in=[processor.pk for processor in of])
    return [line for line in standings(now, of=listed, zone=zone) if line.word == SPENT]


def warning_of(line: Standing) -> str:
    return _("The %(bath)s is spent. Change it before anything else goes through.") % {"bath": line.name}


def warnings_for(processor: Processor, now: datetime, *, zone: ZoneInfo | None = None) -> list[str]:
    """A sentence for each spent bath of a processor; an empty list if all may be used.

    One question in the usual case: a bath at its end has an alert that stands open, raised by the sheets, by the
    person who called it spent or by the minute's timer.  Only then are the baths reckoned.
    """
    at_its_end = Alert.objects.filter(bath__processor=processor, kind=Alert.Kind.AT_ITS_END, cleared_at__isnull=True)
    if not at_its_end.exists():
        return []
    return [warning_of(line) for line in spent_baths(now, of=[processor], zone=zone)]
