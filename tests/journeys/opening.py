"""Shifts and keys in every standing, for the pages that show them."""

from __future__ import annotations

from datetime import datetime, timedelta

from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.stations import actions as house
from studiodesk.stations import queries
from studiodesk.timekeeping import Span


def opened(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """Two weeks of shifts in every standing, and keys that are out, lost and in the house."""
    staff, keyholder = people["staff"], people["keyholder"]
    house.plan_shifts(first=now.date(), weeks=2, now=now, by=staff)
    shifts = list(queries.shifts(Span(now, now + timedelta(days=14))))
    running = house.add_shift(span=Span(now, now + timedelta(hours=8)), now=now, by=staff)
    for shift, person in ((running, keyholder), (shifts[0], people["tutor"]), (shifts[1], people["tutor"])):
        house.take_shift(shift=shift, now=now, by=person)
    house.begin_shift(shift=running, now=now, by=keyholder)
    house.hand_over(shift=running, note="The tap of the sink drips.\nFixer for film runs out.", now=now, by=keyholder)
    house.set_supervises(shift=shifts[0], supervises=True, now=now, by=people["tutor"])
    house.ask_swap(shift=shifts[1], now=now, by=people["tutor"])
    house.call_off(shift=shifts[2], now=now, by=staff)
    for code, sort in (("K-07", "key"), ("K-08", "key"), ("F-01", "fob")):
        key = doors.add_key(code=code, sort=sort, opens="front door and darkroom", now=now, by=staff)
        if sort == "key":
            doors.hand_out(key=key, holder=keyholder, now=now, by=staff)
        if code == "K-08":
            doors.report_lost(key=key, now=now, by=staff)
    return {"mine": running.pk, "uncovered": shifts[3].pk}
