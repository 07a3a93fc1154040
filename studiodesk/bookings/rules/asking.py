"""The rule of the act ``book``: may this be booked?  Pure: frozen facts in, ``None`` or a ``Refusal`` out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span

from .kit import KitFacts, kit_refusal
from .places import peak, weave

LONGEST = timedelta(hours=12)


@dataclass(frozen=True)
class StationFacts:
    """``processes`` are codes; an empty set means that the station takes none and needs none."""

    code: str
    name: str
    processes: frozenset[str] = frozenset()
    set_up: timedelta = timedelta(0)
    clear_up: timedelta = timedelta(0)
    taken: Sequence[Span] = ()
    #: what stands in the way because the station is shut, not because somebody has it
    shut: Sequence[Span] = ()
    zone_name: str = ""
    #: spans in which the shared light zone is kept for another need of light
    unlike_light: Sequence[Span] = ()
    kind: str = ""


@dataclass(frozen=True)
class ProcessorFacts:
    """A processor of the asked process.  ``warm_at``: when it can be warm with a test print done; None = is warm."""

    code: str
    name: str
    lanes: Sequence[Sequence[Span]]
    warm_at: datetime | None = None
    note_acknowledged: bool = True
    #: how long it is cold after the house opens, and how long a sheet is on its way
    warm_up: timedelta = timedelta(0)
    dry_to_dry: timedelta = timedelta(0)
    #: when the machine is out of service, whoever has a place then
    shut: Sequence[Span] = ()


@dataclass(frozen=True)
class HouseFacts:
    """``opened`` holds the opening spans of the asked day and the days around it, in time order."""

    zone: ZoneInfo
    grid: timedelta
    opened: Sequence[Span]
    heads_at_once: int | None = None
    others_in: Sequence[Span] = ()


@dataclass(frozen=True)
class Asked:
    """What somebody wants: ``process`` is a code or None; ``before`` are the times of the booking that is changed."""

    starts: datetime
    ends: datetime
    process: str | None
    now: datetime
    guests: int = 0
    adult_name: str = ""
    before: Span | None = None
    #: ``before`` was cancelled and is to stand again
    was_cancelled: bool = False
    #: the house moves it because it cannot stay
    is_moved_by_house: bool = False

    @property
    def span(self) -> Span:
        return Span(self.starts, self.ends)

    @property
    def counted(self) -> Span | None:
        """What the rules of the house count as the person's already; what was cancelled is theirs no more."""
        return None if self.was_cancelled else self.before

    @property
    def keeps_its_start(self) -> bool:
        return self.before is not None and self.before.starts == self.starts

    @property
    def needed(self) -> Span:
        """What has still to be free: of a stay that is under way only the rest."""
        if self.keeps_its_start and self.starts < self.now < self.ends:
            return Span(self.now, self.ends)
        return self.span


def on_grid(moment: datetime, grid: timedelta, zone: ZoneInfo) -> bool:
    """True if the wall clock of ``zone`` shows a whole number of grid steps since midnight."""
    local = moment.astimezone(zone)
    if local.second or local.microsecond:
        return False
    return (local.hour * 60 + local.minute) % (int(grid.total_seconds()) // 60) == 0


def next_on_grid(moment: datetime, grid: timedelta, zone: ZoneInfo) -> datetime:
    """The first moment from ``moment`` on that is ``on_grid``.

    It walks over the quarter hours between, for the clock may change on one of them and a new day begins with one.
    """
    minute = timedelta(minutes=1)
    over = timedelta(seconds=moment.second, microseconds=moment.microsecond)
    at = moment + minute - over if over else moment
    step = int(grid.total_seconds()) // 60
    while not on_grid(at, grid, zone):
        local = at.astimezone(zone)
        at += minute * min(step - (local.hour * 60 + local.minute) % step, 15 - local.minute % 15)
    return at


def order_refusal(starts: datetime, ends: datetime) -> Refusal | None:
    """An end at or before the start is no span at all."""
    return Refusal("bookings.ends_before_it_starts", {"status": 422}) if ends <= starts else None


def time_refusal(asked: Asked, house: HouseFacts) -> Refusal | None:
    """Length, grid and past: what can be said without looking at any station."""
    if asked.ends - asked.starts < house.grid:
        return Refusal("bookings.too_short", {"shortest": house.grid})
    if asked.ends - asked.starts > LONGEST:
        return Refusal("bookings.too_long", {"longest": LONGEST})
    if asked.starts < asked.now and not asked.keeps_its_start:
        return Refusal("bookings.in_the_past", {"starts": asked.starts})
    if asked.ends <= asked.now:
        return Refusal("bookings.in_the_past", {"starts": asked.ends})
    # What stays as it was lies on whatever grid it was booked on.
    edges = {asked.starts, asked.ends} - ({asked.before.starts, asked.before.ends} if asked.before else set())
    if not all(on_grid(edge, house.grid, house.zone) for edge in edges):
        return Refusal("bookings.off_grid", {"grid": house.grid})
    return None


def nearest_opening(asked: Span, opened: Sequence[Span], length: timedelta) -> Span | None:
    """The opening span long enough for ``length`` whose edge lies nearest to ``asked``."""
    zero = timedelta(0)
    fitting = [span for span in opened if span.length >= length]
    return min(
        fitting,
        key=lambda span: (max(span.starts - asked.starts, asked.ends - span.ends, zero), span.starts),
        default=None,
    )


def opening_refusal(asked: Asked, station: StationFacts, house: HouseFacts) -> Refusal | None:
    """The stay with its set-up and clear-up has to lie within one opening span."""
    whole = asked.span.widened(station.set_up, station.clear_up)
    around = next((span for span in house.opened if span.covers(asked.span)), None)
    if around is not None and around.covers(whole):
        return None
    if around is not None:
        return Refusal(
            "bookings.no_time_to_clear_up",
            {
                "station": station.name,
                "set_up": station.set_up,
                "clear_up": station.clear_up,
                "from_": around.starts + station.set_up,
                "until": around.ends - station.clear_up,
            },
        )
    upcoming = [span for span in house.opened if span.ends > asked.now]
    # If no opening is as long as what is asked, the nearest of any length still says when the house is open.
    near = nearest_opening(asked.span, upcoming, whole.length) or nearest_opening(asked.span, upcoming, timedelta(0))
    if near is None:
        return Refusal("bookings.closed_throughout", {"starts": asked.starts})
    return Refusal("bookings.closed", {"opens": near.starts, "closes": near.ends})


def process_refusal(asked: Asked, station: StationFacts, processors: Sequence[ProcessorFacts]) -> Refusal | None:
    """Does the station do this process, is there a machine for it, and is its safety note acknowledged?"""
    if asked.process is None:
        if station.processes:
            return Refusal("bookings.needs_process", {"station": station.name})
        return None
    if asked.process not in station.processes:
        return Refusal("bookings.unknown_process_for_station", {"station": station.name, "process": asked.process})
    if not processors:
        return Refusal("bookings.no_processor", {"process": asked.process})
    if not any(processor.note_acknowledged for processor in processors):
        first = processors[0]
        return Refusal("bookings.note_not_acknowledged", {"processor": first.name, "processor_code": first.code})
    return None


def nothing_comes_out_before(length: timedelta, warm_up: timedelta, dry_to_dry: timedelta) -> timedelta:
    """A stay of ``length`` has to begin later than this after the house opens, or no sheet is through by its end.

    Ready time (opening + warm-up) must lie before the last sheet in (end − dry-to-dry); negative: any time will do.
    """
    return warm_up + dry_to_dry - length


def can_print(asked: Asked, processor: ProcessorFacts, opened: Sequence[Span]) -> bool:
    """True if at least one sheet can go in warm and come out before the stay ends."""
    opening = next((span for span in opened if span.covers(asked.span)), None)
    wait = nothing_comes_out_before(asked.span.length, processor.warm_up, processor.dry_to_dry)
    return opening is None or asked.starts > opening.starts + wait


def chosen_processor(
    asked: Asked, processors: Sequence[ProcessorFacts], opened: Sequence[Span] = ()
) -> ProcessorFacts | Refusal:
    """The first processor that is in service, can be warm in time, has a place throughout and lets one print."""
    noted = [processor for processor in processors if processor.note_acknowledged]
    ready = [processor for processor in noted if not any(span.overlaps(asked.needed) for span in processor.shut)]
    if not ready:
        return Refusal("bookings.processor_out_of_service", {"processor": noted[0].name})
    warm = [processor for processor in ready if processor.warm_at is None or processor.warm_at <= asked.starts]
    if not warm:
        soonest = min(ready, key=lambda processor: processor.warm_at or asked.starts)
        return Refusal("bookings.not_warm", {"processor": soonest.name, "warm_at": soonest.warm_at})
    of_use = [processor for processor in warm if can_print(asked, processor, opened)]
    if not of_use:
        return Refusal("bookings.nothing_comes_out", {"processor": warm[0].name, "warm_up": warm[0].warm_up})
    for processor in of_use:
        if weave(asked.needed, processor.lanes) is not None:
            return processor
    return Refusal("bookings.no_place", {"processor": of_use[0].name, "places": len(of_use[0].lanes)})


def station_refusal(asked: Asked, station: StationFacts) -> Refusal | None:
    """Is the station itself to be had, from set-up to clear-up, in the light that the process needs?"""
    under_way = asked.needed.starts > asked.starts
    whole = asked.needed.widened(timedelta(0) if under_way else station.set_up, station.clear_up)
    if any(span.overlaps(whole) for span in station.shut):
        return Refusal("bookings.out_of_service", {"station": station.name})
    if any(span.overlaps(whole) for span in station.taken):
        return Refusal("bookings.taken", {"station": station.name})
    if any(span.overlaps(asked.needed) for span in station.unlike_light):
        return Refusal("bookings.light", {"station": station.name, "zone": station.zone_name})
    return None


def heads_refusal(asked: Asked, house: HouseFacts) -> Refusal | None:
    """The whole house holds so many people at once and no more."""
    if house.heads_at_once is None:
        return None
    if peak(house.others_in, asked.needed) + 1 + asked.guests > house.heads_at_once:
        return Refusal("bookings.heads", {"heads": house.heads_at_once})
    return None


def may_book(
    asked: Asked,
    station: StationFacts,
    processors: Sequence[ProcessorFacts],
    house: HouseFacts,
    *,
    own: Sequence[Refusal] = (),
    kit: Sequence[KitFacts] = (),
) -> Refusal | ProcessorFacts | None:
    """A ``Refusal``, or the processor that gets the place, or None where no process is asked.

    ``processors`` are those that run the asked process, in the order in which they are to be tried; ``own`` the rules
    of the house that the wish breaks and nobody set aside.
    """
    refusal = (
        time_refusal(asked, house)
        or opening_refusal(asked, station, house)
        or process_refusal(asked, station, processors)
        or next(iter(own), None)
        or station_refusal(asked, station)
    )
    if refusal:
        return refusal
    answer: Refusal | ProcessorFacts | None = None
    if asked.process is not None:
        answer = chosen_processor(asked, processors, house.opened)
        if isinstance(answer, Refusal):
            return answer
    return heads_refusal(asked, house) or kit_refusal(asked.process, station.kind, kit) or answer
