"""Who looks after the house in the demo: four weeks of shifts, and who is in without a booking now."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import cycle
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from studiodesk.bookings import actions as bookings
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Shift
from studiodesk.timekeeping import studio_day

from .people import Cast

WEEKS_AHEAD = 4
LONGEST = timedelta(hours=9)
SOON, LATER = timedelta(hours=48), timedelta(days=5)
SWAP_AFTER = timedelta(days=6)


def plan_and_cover(cast: Cast, *, now: datetime, since: datetime, planned_at: datetime, zone: ZoneInfo) -> None:
    """From some days before ``since`` on, taken in turn; two that are near have nobody, one is to be taken over.

    The keyholder has the shift that goes on now, and is in the house.
    """
    first = studio_day(since, zone) - timedelta(days=3)
    last = studio_day(now, zone) + timedelta(weeks=WEEKS_AHEAD)
    weeks = -(-((last - first).days) // 7)
    made = stations.plan_shifts(first=first, weeks=weeks, now=planned_at, by=cast.staff, longest=LONGEST)
    made = sorted(made, key=lambda one: one.starts)
    open_ones = _left_open(made, now)
    current = next(number for number, one in enumerate(made) if one.starts <= now < one.ends)
    hands = (cast.keyholder, cast.tutor, cast.staff)
    turn = cycle(hands[(number - current) % len(hands)] for number in range(len(hands)))
    held = []
    for shift, hand in zip(made, turn, strict=False):
        if shift not in open_ones:
            held.append((stations.take_shift(shift=shift, now=planned_at, by=hand), hand))
    for shift, hand in held:
        if hand == cast.tutor and shift.ends > now:
            stations.set_supervises(shift=shift, supervises=True, now=planned_at, by=hand)
        if shift.starts <= now:
            stations.begin_shift(shift=shift, now=shift.starts, by=hand)
        if shift.ends <= now:
            stations.end_shift(shift=shift, now=shift.ends, by=hand)
    _hand_over(held, now)
    swap = next((one for one, hand in held if hand == cast.tutor and one.starts > now + SWAP_AFTER), None)
    if swap is not None:
        stations.ask_swap(shift=swap, now=now - timedelta(hours=3), by=cast.tutor)
    bookings.come_in(kind="keyholder", person=cast.keyholder, now=made[current].starts, by=cast.keyholder)


def _left_open(made: list[Shift], now: datetime) -> list[Shift]:
    """One within two days, if the house opens again so soon, and one within five."""
    soon = [one for one in made if now < one.starts <= now + SOON]
    later = [one for one in made if now + SOON < one.starts <= now + LATER]
    return [*soon[-1:], *later[-1:]]


def _hand_over(held: list[tuple[Shift, object]], now: datetime) -> None:
    """Whoever had the last shift leaves a note for whoever has this one."""
    over = [(shift, hand) for shift, hand in held if shift.ends <= now]
    if over:
        shift, hand = over[-1]
        note = _(
            "Booth 2 smells of warm dust after an hour: lamp house wiped, keep an eye on it. The drum of the print "
            "dryer is off. Two rolls hang in the drying cabinet, owner told. Paper bin by the door is full."
        )
        stations.hand_over(shift=shift, note=note, now=shift.ends, by=hand)


def somebody_without_a_booking(cast: Cast, *, now: datetime) -> None:
    """A person and a friend came in to look round, and the keyholder let them."""
    bookings.come_in(
        kind="walk-in", name="Femke", heads=2, phone="06 0000 0099", now=now - timedelta(minutes=35), by=cast.keyholder
    )
