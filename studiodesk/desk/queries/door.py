"""What the door shows: one's own bookings there, the roll-call, the door sheet, the tablet's list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking, BookingKit, Visit
from studiodesk.bookings.rules import door, keeping
from studiodesk.chemistry import queries as chemistry
from studiodesk.people.models import Member
from studiodesk.safety.models import SignOff, SignOffNeed
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio


def may_call_the_roll(member: Member, now: datetime) -> bool:
    """Staff always, a keyholder while on shift: who is in, and whom to call for them."""
    if not member.is_active:
        return False
    return member.is_staff or (member.is_keyholder and stations.is_on_shift(member, now))


def session_of(booking: Booking, *, logged: bool = False) -> door.Session:
    processor = booking.processor_id is not None
    return door.Session(processor, booking.arrived_at, booking.left_at, booking.sheets_said, logged)


@dataclass(frozen=True)
class AtDoor:
    """One booking as it stands at the door.

    ``standing``: "in", "may come" (sign in now), "later", "given back", "left" or "over".  ``asks``: nothing was logged
    for it and nobody has said why.
    """

    booking: Booking
    standing: str
    asks: bool = False
    may_take_back: bool = False
    times: bookings.PrintingTimes | None = None
    makes_room: bookings.Outstays | None = None

    @property
    def from_(self) -> datetime:
        """From when on somebody may sign in."""
        return self.booking.starts - keeping.EARLIEST_SIGN_IN

    @property
    def stayed(self) -> Any:
        """How long somebody was here who has left."""
        return (self.booking.left_at or self.booking.ends) - (self.booking.arrived_at or self.booking.starts)


def standing_at_the_door(booking: Booking, now: datetime) -> str:
    if booking.left_at is not None:
        return "left"
    if booking.arrived_at is not None:
        return "in"
    if booking.released_at is not None:
        return "given back"
    refusal: Refusal | None = keeping.may_arrive(bookings.state_of(booking), now)
    if refusal is None:
        return "may come"
    return "later" if refusal.code == "bookings.too_early" else "over"


def silent(of: Iterable[Booking], now: datetime) -> set[int]:
    """Of these bookings those whose people are asked what became of their sheets; one query at most."""
    left = [one.pk for one in of if door.asks_about_sheets(session_of(one), now)]
    return chemistry.without_sheets(left)


@dataclass(frozen=True)
class DoorPage:
    """The front door as one person meets it.  ``visit``: they are in without a booking; ``as_``: as what they may."""

    rows: list[AtDoor]
    visit: Visit | None
    as_: str
    may_call: bool
    is_in: bool

    @property
    def asks(self) -> list[AtDoor]:
        return [row for row in self.rows if row.asks]

    @property
    def shown(self) -> list[AtDoor]:
        """Who is in first, then what can be signed in to, then what comes later."""
        order = ["in", "may come", "given back", "later", "left"]
        rows = [row for row in self.rows if row.standing in order and (row.standing != "left" or row.may_take_back)]
        return sorted(rows, key=lambda row: order.index(row.standing))

    @property
    def main(self) -> AtDoor | None:
        """The one that the big button is for."""
        first = self.shown[0] if self.shown else None
        return first if first is not None and first.standing in {"in", "may come"} else None


def door_page(member: Member, now: datetime, studio: Studio) -> DoorPage:
    found = bookings.at_the_door(member, now)
    asked = silent(found, now)
    times = bookings.printing_times_of(found, studio)
    sits = [one for one in found if one.arrived_at is not None and one.left_at is None]
    outstay: dict[int, bookings.Outstays] = {}
    if sits:
        rules = bookings.house_rules_at(now, stations.zone(studio))
        outstay = {one.sits.pk: one for one in bookings.overruns(now, rules)}
    rows = [
        AtDoor(
            one,
            standing_at_the_door(one, now),
            one.pk in asked,
            door.may_take_back(one.left_at, now),
            times.get(one.pk),
            outstay.get(one.pk),
        )
        for one in found
    ]
    visit = next(iter(bookings.visits_in(now).filter(person=member)), None)
    as_ = role_of(member)
    return DoorPage(rows, visit, as_, may_call_the_roll(member, now), bool(sits) or visit is not None)


def role_of(member: Member) -> str:
    """As what somebody may be in the house without a booking; "" for whoever may not."""
    if member.may_run_the_house:
        return str(Visit.Kind.KEYHOLDER)
    return str(Visit.Kind.TUTOR) if member.is_tutor else ""


# ---- the tablet ----------------------------------------------------------------------------------------------------


def people_of_the_day(now: datetime, zone: ZoneInfo) -> list[AtDoor]:
    """Today's bookings for the tablet: who is in, who may come now, who comes later, who has left."""
    found = bookings.of_the_day(now, zone)
    asked = silent(found, now)
    rules = bookings.house_rules_at(now, zone)
    outstay = {one.sits.pk: one for one in bookings.overruns(now, rules)}
    rows = [
        AtDoor(one, standing_at_the_door(one, now), one.pk in asked, makes_room=outstay.get(one.pk)) for one in found
    ]
    order = ["in", "may come", "later", "left"]
    return sorted((row for row in rows if row.standing in order), key=lambda row: order.index(row.standing))


def access_booking_of_the_day(pk: int, now: datetime, zone: ZoneInfo) -> Booking:
    """One of today's bookings, for the tablet; ``Booking.DoesNotExist`` otherwise."""
    for one in bookings.of_the_day(now, zone):
        if one.pk == pk:
            return one
    raise Booking.DoesNotExist(f"no booking {pk} today")


# ---- the door sheet ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class DoorLine:
    """One line of the printed sheet.  ``supervised``: whoever comes is not signed off for it yet."""

    booking: Booking
    times: bookings.PrintingTimes | None
    kit: list[BookingKit]
    supervised: bool


def door_sheet(day: date, studio: Studio) -> list[DoorLine]:
    """The day's bookings by time; seven queries however many there are."""
    found = list(bookings.bookings_on(day))
    times = bookings.printing_times_of(found, studio)
    kit: dict[int, list[BookingKit]] = defaultdict(list)
    for row in BookingKit.objects.filter(booking__in=[one.pk for one in found]).select_related("item"):
        kit[row.booking_id].append(row)
    learning = not_signed_off(found)
    return [DoorLine(one, times.get(one.pk), kit[one.pk], one.pk in learning) for one in found]


def not_signed_off(of: Sequence[Booking]) -> set[int]:
    """The ids of those whose people need a sign-off for the kind of station or the process, and have none then."""
    needs = set(SignOffNeed.objects.values_list("kind", "process"))
    if not needs or not of:
        return set()
    held: dict[tuple[int, str, int | None], list[datetime | None]] = defaultdict(list)
    rows = SignOff.objects.filter(revoked_at__isnull=True, member__in={one.member_id for one in of}).order_by()
    for member, kind, process, until in rows.values_list("member", "kind", "process", "until"):
        held[member, kind, process].append(until)

    def lacks(booking: Booking, kind: str, process: int | None) -> bool:
        signed = held[booking.member_id, kind, process]
        return (kind, process) in needs and not any(until is None or until > booking.starts for until in signed)

    return {
        one.pk
        for one in of
        if lacks(one, one.station.kind, None) or (one.process_id is not None and lacks(one, "", one.process_id))
    }
