"""What a bath's chart and table are drawn from; as many queries however long the history is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.stations.models import JobDone
from studiodesk.timekeeping import day_span, studio_day

from ..models import Bath, BathEntry
from ..rules import entering
from ..rules.board_history import History, Tank, history
from ..rules.settings import BathSettings
from . import reckoning

DAYS = (7, 28, 90)
USUAL = 28
#: What a reading is a temperature by; others (volumes, pressures) have no place in this chart.
DEGREES = ("°C", "°F", "C", "F", "K")
#: What has a mark of its own under the chart.
MARKED = frozenset(BathEntry.Event.values) - {entering.STRIP, entering.NOTE, entering.START_UP}


@dataclass(frozen=True)
class BathHistory:
    """``marks``: the entries that hold in the stretch, in time order; ``read``: what was read at its processor."""

    of: History
    settings: BathSettings
    marks: list[BathEntry]
    read: list[JobDone]

    @property
    def starts(self) -> datetime:
        return self.of.starts

    @property
    def ends(self) -> datetime:
        return self.of.ends


def stretch_of(asked: str, since: datetime | None, now: datetime, zone: ZoneInfo) -> tuple[str, datetime]:
    """(what is shown, from when): "7", "28", "90" local days with today, or "tank"; anything else is the usual."""
    if asked == "tank" and since is not None and since < now:
        return asked, since
    days = int(asked) if asked in {str(one) for one in DAYS} else USUAL
    first = studio_day(now, zone) - timedelta(days=days - 1)
    return str(days), day_span(first, zone).starts


def bath_history(bath: Bath, starts: datetime, now: datetime, zone: ZoneInfo) -> BathHistory:
    """Five queries: figures, refills, entries, sheets, what was read at the processor."""
    figures = reckoning.history_of(bath, reckoning.histories([bath.pk]))
    entries = reckoning.entries_known().filter(bath=bath, at__lte=now)
    fillings = {
        row.at: reckoning.filling_of(row) for row in entries.filter(event=entering.REFILL).order_by("-at", "-pk")
    }
    edges = sorted(fillings)
    before = [at for at in edges if at <= starts]
    first = before[-1] if before else None
    feeds = reckoning.feeds_known().filter(processor_id=bath.processor_id, fed_at__lte=now)
    if first is not None:
        entries, feeds = entries.filter(at__gte=first), feeds.filter(fed_at__gte=first)
    rows = list(entries.order_by("at", "pk"))
    written = [reckoning.written_entry(row) for row in rows if row.event != entering.REFILL]
    written += reckoning.written_feeds(feeds)
    shown = [None, *edges] if first is None else edges[edges.index(first) :]
    tanks = []
    for began, ended in zip(shown, [*shown[1:], None], strict=True):
        mine = [one for one in written if (began is None or one.at >= began) and (ended is None or one.at < ended)]
        if began is None and not mine and ended is not None:
            continue  # nothing is known of what stood there before the first refill
        tanks.append(Tank(fillings[began] if began else None, ended, reckoning.in_order(mine)))
    return BathHistory(
        of=history(tanks, figures, starts, now, zone),
        settings=figures.at(now),
        marks=[row for row in rows if row.at >= starts],
        read=_read(bath, starts, now),
    )


def _read(bath: Bath, starts: datetime, now: datetime) -> list[JobDone]:
    """Temperatures read at the bath's processor, those that hold."""
    rows = JobDone.objects.filter(
        job__processor=bath.processor_id, job__unit__in=DEGREES, value__isnull=False, at__gte=starts, at__lte=now
    )
    return list(rows.filter(undoes=None, undone_by=None).select_related("job").order_by("at", "pk"))
