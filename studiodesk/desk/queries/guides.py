"""What the guides for a member's first evening, for the steward's day and for mixing read at the moment of reading."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Prefetch

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.lists import ToWarm
from studiodesk.bookings.rules.house import HouseRules
from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import BathEntry, Recipe
from studiodesk.chemistry.queries import AlertLine, mixing
from studiodesk.people import queries as people
from studiodesk.people.models import Member
from studiodesk.safety import queries as safety
from studiodesk.stations import job_queries
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Job, Process, Processor, ProcessorOpening, Shift, Station, Studio
from studiodesk.stations.rules import hours as hour_rules
from studiodesk.timekeeping import Span, day_span, studio_day

#: Both guides are read standing up: what does not fit is one link away.
SHOWN = 8


def been_here(member: Member) -> bool:
    """Whether this person was ever signed in to a booking."""
    return Booking.objects.filter(member=member, arrived_at__isnull=False).exists()


# ---- a member's first evening --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Asked:
    """What a booking of one process asks: its machines, and whether the paper is in the dark all the way."""

    process: Process
    machines: list[Processor]

    @property
    def is_dark(self) -> bool:
        return self.process.light == Process.Light.DARK

    @property
    def needs_bag(self) -> bool:
        """Paper that white light would spoil, on its way from a booth to the machine."""
        return self.process.material == Process.Material.PAPER and self.process.light != Process.Light.WHITE


@dataclass(frozen=True)
class FirstEvening:
    """``looks_after``: whoever has a shift now; ``after``: the next shift, whether somebody has it or not."""

    booking: Booking | None
    times: bookings.PrintingTimes | None
    asked: list[Asked]
    kinds: list[tuple[str, int]]
    unread: list[Any]
    lacking: list[str]
    rules: HouseRules
    week: list[tuple[int, list[tuple[int, int]]]]
    looks_after: list[Shift] = field(default_factory=list)
    after: Shift | None = None


def first_evening(member: Member, studio: Studio, now: datetime) -> FirstEvening:
    """As many queries however large the house is: sixteen at most with who asks."""
    coming, _gone = bookings.coming_and_gone(member, now, gone=0)
    kept = [one for one in coming if one.offered_until is None]
    booking = kept[0] if kept else None
    machines = list(stations.processors())
    today = studio_day(now, stations.zone(studio))
    membership = people.membership_on(member, today)
    spots = Station.objects.order_by("pk").values_list("kind", "clear_up_minutes")
    longest: dict[str, int] = {}
    for kind, minutes in spots:
        longest[kind] = max(minutes, longest.get(kind, 0))
    return FirstEvening(
        booking=booking,
        times=bookings.printing_times_of([booking], studio).get(booking.pk) if booking else None,
        asked=[
            Asked(process, [one for one in machines if one.process_id == process.pk])
            for process in stations.processes()
        ],
        kinds=list(longest.items()),
        unread=[note for note in safety.notes_for(member) if not note.is_read],
        lacking=safety.own_sign_offs(member, now).lacking,
        rules=bookings.rules_on(today, membership.plan_id if membership else None),
        week=sorted(stations.hours().week.items()),
        looks_after=stations.on_now(now),
        after=stations.next_shift(now),
    )


# ---- the steward's day ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Machine:
    """A processor with the steps that its opening and its closing ask, and how its working day stands."""

    processor: Processor
    at_opening: list[Job]
    at_closing: list[Job]
    day: ProcessorOpening | None


@dataclass(frozen=True)
class StewardsDay:
    """``due``: jobs of every so many days that want doing by today; ``staff``: whom to call, for staff alone."""

    now: datetime
    opened: list[Span]
    closed_because: str | None
    due: list[job_queries.JobLine]
    soon: list[job_queries.JobLine]
    machines: list[Machine]
    warm: list[ToWarm]
    late: list[Booking]
    inside: list[Booking]
    coming: list[Booking]
    alerts: list[AlertLine]
    alerts_more: int
    looks_after: list[Shift]
    after: Shift | None
    rules: HouseRules
    staff: list[Member]

    @property
    def closes(self) -> datetime | None:
        return self.opened[-1].ends if self.opened else None

    @property
    def opens(self) -> datetime | None:
        return self.opened[0].starts if self.opened else None


def stewards_day(by: Member, studio: Studio, now: datetime) -> StewardsDay:
    """Today from the reads that the desk makes too; fifteen queries with who asks, however much there is."""
    zone = stations.zone(studio)
    day = studio_day(now, zone)
    today = day_span(day, zone)
    hours = stations.hours(studio, day, day)
    opened = hour_rules.open_spans(day, hours, zone)
    around = [one for one in bookings.around_the_desk(today, now) if one.offered_until is None]
    standing = [one for one in around if one.released_at is None]
    expected = [one for one in standing if one.arrived_at is None and one.ends > now]
    lines = job_queries.lines(by, now, zone)
    jobs = list(Job.objects.filter(in_use=True).exclude(occasion=Job.Occasion.DAYS))
    open_days = {one.processor_id: one for one in ProcessorOpening.objects.filter(closed_at=None)}
    alerts = chemistry.alert_lines(chemistry.open_alerts(now).now, now)

    def steps(occasion: str, processor: Processor) -> list[Job]:
        return [one for one in jobs if one.occasion == occasion and one.processor_id == processor.pk]

    return StewardsDay(
        now=now,
        opened=opened,
        closed_because=hours.closed_because(day),
        due=[one for one in lines if one.is_due],
        soon=[one for one in lines if one.due is not None and day < one.due <= day + timedelta(days=7)],
        machines=[
            Machine(one, steps(Job.Occasion.OPENING, one), steps(Job.Occasion.CLOSING, one), open_days.get(one.pk))
            for one in stations.processors()
        ],
        warm=bookings.to_warm(day, now, zone, studio=studio, booked=standing, hours=hours),
        late=[one for one in expected if one.starts <= now],
        inside=[one for one in around if one.arrived_at is not None and one.left_at is None],
        coming=[one for one in expected if one.starts > now][:SHOWN],
        alerts=alerts[:SHOWN],
        alerts_more=max(0, len(alerts) - SHOWN),
        looks_after=stations.on_now(now),
        after=stations.next_shift(now),
        rules=bookings.rules_on(day, None),
        staff=staff_to_call() if by.is_staff else [],
    )


def staff_to_call() -> list[Member]:
    """Staff who gave a number.  Only staff see it: that is what the page where it is given promises."""
    return list(Member.objects.filter(is_staff=True, is_active=True).exclude(phone="").order_by("name", "pk"))


# ---- mixing --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ToMix:
    """A recipe with the empty containers that take what it is given for, and the baths that its mixes went into."""

    recipe: Recipe
    free: list[mixing.Content]
    baths: list[Any]

    @property
    def products(self) -> list[Any]:
        """What goes in and has words of caution of its own, each once."""
        found = {part.product_id: part.product for part in self.recipe.parts.all() if part.product}
        return [one for one in found.values() if one.hazard_words]

    @property
    def has_powder(self) -> bool:
        return any(part.product and part.product.sort == "powder" for part in self.recipe.parts.all())


def to_mix(now: datetime) -> list[ToMix]:
    """Every recipe in use; as many queries however many there are."""
    boxes = [one for one in mixing.contents(mixing.containers(), now).values() if one.container.in_use]
    empty = [one for one in boxes if one.mix is None and not one.unmixed_pl]
    went = BathEntry.objects.filter(event=BathEntry.Event.REFILL).select_related("bath__processor").order_by("pk")
    found = mixing.recipes().filter(in_use=True).prefetch_related(Prefetch("mixes__entries", went, to_attr="refills"))
    return [
        ToMix(
            recipe,
            [one for one in empty if one.room_pl >= recipe.makes_pl],
            list({entry.bath_id: entry.bath for mix in recipe.mixes.all() for entry in mix.refills}.values()),
        )
        for recipe in found
    ]


def notes_by_processor() -> list[Any]:
    """The safety notes in force: where cautions stand in the house's own words."""
    return list(safety.current_notes())


def last_read(of: list[ToMix]) -> date | None:
    """The oldest day on which somebody read the data sheet of a product that goes into one of these."""
    parts = (part for one in of for part in one.recipe.parts.all() if part.product)
    return min((part.product.sheet_seen_on for part in parts if part.product.sheet_seen_on), default=None)
