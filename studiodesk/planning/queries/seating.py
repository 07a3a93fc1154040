"""At which of a process's processors the bookings of a file stood, by what was known at a moment.

A file does not say it: its import parts the bookings among the processors in the order of their starts, those too that
were made or cancelled later.  Who looks back must not let these decide, so the parting is done again without them.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from django.db.models import QuerySet

from studiodesk.bookings.models import Booking
from studiodesk.bookings.rules.past import PastBooking, woven
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import Span


def seats_then(bookings: QuerySet[Booking], at: datetime) -> dict[int, int]:
    """Booking id → processor id, for those of ``bookings`` from files whose process has several processors.

    Where they no longer find a place each, nothing is answered: the processor that was written down holds.
    """
    machines: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for process, pk, places in Processor.objects.order_by("pk").values_list("process", "pk", "booths_at_once"):
        machines[process].append((pk, places))
    several = [process for process, many in machines.items() if len(many) > 1]
    rows: dict[int, list[Booking]] = defaultdict(list)
    if several:
        for booking in bookings.filter(source=Booking.Source.FILE, process__in=several):
            rows[booking.process_id or 0].append(booking)
    out: dict[int, int] = {}
    for process, many in rows.items():
        standing = [one for one in many if one.cancelled_at is None or one.cancelled_at > at]
        free: list[list[list[Span]]] = [[[] for _ in range(places)] for _pk, places in machines[process]]
        answer = woven([_row(booking) for booking in standing], free)
        if not isinstance(answer, PastBooking):
            pks = {booking.reference: booking.pk for booking in standing}
            out |= {pks[seat.row.reference]: machines[process][seat.machine][0] for seat in answer}
    return out


def _row(booking: Booking) -> PastBooking:
    return PastBooking(
        booking.reference,
        booking.member_id,
        booking.station_id,
        booking.process_id,
        booking.starts,
        booking.ends,
        booking.made_at,
    )
