"""Bookings of a history, recorded as they were."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import record
from studiodesk.parts import AT_A_TIME
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor, Resource, Station
from studiodesk.timekeeping import Span

from ..models import Booking, Hold, ZoneHold
from ..queries.history import references_known, standing_in, zone_is_of_another_light
from ..rules.past import PastBooking, Seat, first_clash, woven
from ..rules.places import peak


@act
def record_past_bookings(rows: Sequence[PastBooking], now: datetime, *, without_light: list[str] | None = None) -> int:
    """Record ``rows`` with their holds, all or none; answers how many.

    No house rule is asked and nobody is told, but no station is held twice and no processor beyond its places.
    Raises ``Refused``: ``bookings.row_clashes`` or ``bookings.row_without_place`` or ``bookings.row_known``, with
    ``row`` (the row's number), ``index`` (its place in ``rows``) and ``reference`` among the facts.

    A booking still to come whose shared room is kept for another light then is recorded without its light.  The
    references of those are put into ``without_light``, so that somebody can be warned.
    """
    _not_known(rows)
    standing = [row for row in rows if row.cancelled_at is None]
    by_station = {s.pk: s for s in Station.objects.filter(pk__in={r.station_id for r in rows})}
    machines = _machines(rows)
    resources = [
        *(s.resource_id for s in by_station.values()),
        *(m.resource_id for ms in machines.values() for m in ms),
    ]
    list(locked(Resource.objects.filter(pk__in=resources).order_by("pk")))
    lanes = stations.lanes_of(resources)
    window = _window(standing, by_station)
    held = standing_in([lane for many in lanes.values() for lane in many], window) if window else {}

    whole = {row.reference: _whole(row, by_station[row.station_id]) for row in standing}
    per_station: dict[int, list[PastBooking]] = defaultdict(list)
    for row in standing:
        per_station[row.station_id].append(row)
    clashes = []
    for key, many in per_station.items():
        lane = lanes[by_station[key].resource_id][0]
        clash = first_clash([(whole[row.reference], row) for row in many], held.get(lane, []))
        if clash:
            clashes.append(clash)
    if clashes:
        first = min(clashes, key=lambda clash: clash.later.row_number)
        raise Refused(_about(rows, first.later, "bookings.row_clashes", other=first.earlier_reference))
    seats = _seats(rows, standing, machines, lanes, held)
    made = _write(rows, by_station, machines, lanes, whole, seats, now)
    dark = _keep_the_light(made, by_station, now)
    if without_light is not None:
        without_light[:] = dark  # a second try of the whole act starts again
    return len(made)


def _whole(row: PastBooking, station: Station) -> Span:
    return row.span.widened(timedelta(minutes=station.set_up_minutes), timedelta(minutes=station.clear_up_minutes))


def _about(rows: Sequence[PastBooking], row: PastBooking, code: str, **facts: object) -> Refusal:
    return Refusal(code, {"row": row.row_number, "index": rows.index(row), "reference": row.reference, **facts})


def _not_known(rows: Sequence[PastBooking]) -> None:
    known = references_known([row.reference for row in rows])
    seen: set[str] = set()
    for row in rows:
        if row.reference in known or row.reference in seen:
            raise Refused(_about(rows, row, "bookings.row_known"))
        seen.add(row.reference)


def _machines(rows: Iterable[PastBooking]) -> dict[int, list[Processor]]:
    """Process id → its processors in the studio's order."""
    out: dict[int, list[Processor]] = defaultdict(list)
    wanted = {row.process_id for row in rows if row.process_id is not None}
    for machine in Processor.objects.filter(process_id__in=wanted).order_by("pk"):
        out[machine.process_id].append(machine)
    return out


def _window(rows: Sequence[PastBooking], by_station: dict[int, Station]) -> Span | None:
    spans = [_whole(row, by_station[row.station_id]) for row in rows]
    return Span(min(s.starts for s in spans), max(s.ends for s in spans)) if spans else None


def _seats(
    rows: Sequence[PastBooking],
    standing: Sequence[PastBooking],
    machines: dict[int, list[Processor]],
    lanes: dict[int, list[int]],
    held: dict[int, list[tuple[Span, str]]],
) -> dict[str, Seat]:
    """A place at a processor for every row that names a process which somebody's machine runs."""
    out: dict[str, Seat] = {}
    for process, many in machines.items():
        wanted = [row for row in standing if row.process_id == process]
        taken = [[[span for span, _ in held.get(lane, [])] for lane in lanes[machine.resource_id]] for machine in many]
        answer = woven(wanted, taken)
        if isinstance(answer, PastBooking):
            at_once = [row.span for row in wanted if row is not answer]
            raise Refused(
                _about(
                    rows,
                    answer,
                    "bookings.row_without_place",
                    processor=many[0].name,
                    places=sum(machine.booths_at_once for machine in many),
                    others=[row.reference for row in wanted if row is not answer and row.span.overlaps(answer.span)],
                    at_once=peak(at_once, answer.span) + 1,
                )
            )
        out.update((seat.row.reference, seat) for seat in answer)
    return out


def _write(
    rows: Sequence[PastBooking],
    by_station: dict[int, Station],
    machines: dict[int, list[Processor]],
    lanes: dict[int, list[int]],
    whole: dict[str, Span],
    seats: dict[str, Seat],
    now: datetime,
) -> list[Booking]:
    def machine_of(row: PastBooking) -> Processor | None:
        many = machines.get(row.process_id or 0, [])
        if row.reference in seats:
            return many[seats[row.reference].machine]
        return many[0] if many else None

    made = Booking.objects.bulk_create(
        [
            Booking(
                reference=row.reference,
                member_id=row.member_id,
                station_id=row.station_id,
                process_id=row.process_id,
                processor=machine_of(row),
                starts=row.starts,
                ends=row.ends,
                made_at=row.made_at,
                recorded_at=now,
                cancelled_at=row.cancelled_at,
                arrived_at=row.arrived_at,
                left_at=row.ends if row.arrived_at and row.ends <= now else None,
                source=Booking.Source.FILE,
            )
            for row in rows
        ],
        batch_size=AT_A_TIME,
    )
    holds: list[Hold] = []
    for booking in made:
        if booking.cancelled_at is not None:
            continue
        span = whole[booking.reference]
        held = [(lanes[by_station[booking.station_id].resource_id][0], span)]
        seat = seats.get(booking.reference)
        if seat is not None and booking.processor is not None:
            at = lanes[booking.processor.resource_id]
            held += [(at[piece.lane], piece.span) for piece in seat.pieces]
        holds += [
            Hold(lane_id=lane, starts=span.starts, ends=span.ends, cause=Hold.Cause.BOOKING, booking=booking)
            for lane, span in held
        ]
    holds.sort(key=lambda hold: (hold.lane_id, hold.starts))
    Hold.objects.bulk_create(holds, batch_size=AT_A_TIME)
    record(
        code="bookings.history_recorded", happened_at=now, now=now, facts={"bookings": len(made), "holds": len(holds)}
    )
    return made


def _keep_the_light(made: Iterable[Booking], by_station: dict[int, Station], now: datetime) -> list[str]:
    """Bookings still to come keep their room's light where nobody keeps it otherwise; the past asks for none.

    Answers the references of those that found another light kept there.
    """
    without: list[str] = []
    for booking in made:
        station = by_station[booking.station_id]
        if booking.cancelled_at or booking.ends <= now or station.zone_id is None or booking.process is None:
            continue
        if zone_is_of_another_light(station.zone_id, booking.process.light, Span(booking.starts, booking.ends)):
            without.append(booking.reference)
        else:
            ZoneHold.objects.create(
                zone_id=station.zone_id,
                light=booking.process.light,
                starts=booking.starts,
                ends=booking.ends,
                booking=booking,
            )
    return without
