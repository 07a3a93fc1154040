"""The small world in which every address is asked for: one of everything, and somebody for every role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from .roles import Row
from .teaching import taught


@dataclass
class World:
    """One of everything that an address can name, and somebody for every role."""

    people: dict[str, Any]
    things: dict[str, Any]
    secret: str

    def path(self, row: Row) -> str:
        return row.path.format(**self.people, **self.things)


def build(now: datetime, makers: Any) -> World:
    """Through the acts: at 15:00 "member" is booked for 15:30 and "present" has signed in."""
    from studiodesk.bookings import actions as bookings
    from studiodesk.chemistry import actions as chemistry
    from studiodesk.people import actions as people
    from studiodesk.safety import actions as safety
    from studiodesk.stations import actions as stations
    from studiodesk.timekeeping import Span

    house = makers.house()
    cast = {
        "member": makers.member("Mem"),
        "other": makers.member("Oth"),
        "tutor": makers.member("Tut", is_tutor=True),
        "keyholder": makers.member("Key", is_keyholder=True),
        "staff": makers.member("Sta", is_staff=True),
        "manager": makers.member("Man", is_staff=True, is_manager=True),
    }

    def booked(who: str, station: str, starts: datetime) -> Any:
        return bookings.book(
            member=cast[who],
            station=house.stations[station],
            process=house.processes["rc"],
            starts=starts,
            ends=starts + timedelta(hours=2),
            now=starts - timedelta(days=2),
            by=cast[who],
        )

    things: dict[str, Any] = {"booking": booked("member", "E1", now + timedelta(minutes=30))}
    things["present"] = booked("other", "E2", now - timedelta(minutes=30))
    bookings.arrive(booking=things["present"], now=now)
    things["visit"] = bookings.come_in(kind="walk-in", name="Wout", now=now, by=cast["keyholder"])
    hit = booked("tutor", "E4", now + timedelta(days=2))
    safety.publish_note(processor=house.processors["P-RC"], title="Before", body="Gloves.", now=now)
    things["invited"] = people.make_person(
        number="I1", name="Inv", email="i@example.org", joined_on=now.date(), now=now, invite=False
    )
    _row, code = people.invite_tablet(name="Dry end", now=now, by=cast["staff"])
    things["tablet"], secret = people.enrol_tablet(code=code, now=now)
    things["feed"] = chemistry.log_sheets(
        processor=house.processors["P-RC"],
        sheet=house.sizes["203x254"],
        sheets=2,
        kind="print",
        who="walk-in",
        fed_at=now,
        now=now,
        tablet=things["tablet"],
    )
    things["entry"] = chemistry.record_bath_entry(
        bath=house.baths["P-RC", "fix"], event="note", at=now, now=now, note="smells", by=cast["keyholder"]
    )
    pair = [
        makers.bath(house, "P-CO", code, dosing="batch", volume_ml=2000, capacity="2.5") for code in ("fix1", "fix2")
    ]
    chemistry.put_figures_in_force(
        bath=pair[0], figures={}, since=now, now=now, next_bath=pair[1], keep_next=False, by=cast["staff"]
    )
    chemistry.keep_paper(code="baryta", name="Baryta", processes=[house.processes["rc"]], now=now, by=cast["staff"])
    things["strip"] = chemistry.record_strip(
        processor=house.processors["P-CO"], read_at=now, now=now, eye="lighter", by=cast["staff"]
    )
    stream = chemistry.keep_stream(
        code="fixer", name="Fixer", bears_silver=True, conditions="", baths=pair, now=now, by=cast["staff"]
    )
    drum = chemistry.keep_waste_container(
        code="W-1", name="Fixer drum", stream=stream, capacity_pl=20 * 10**12, place="", now=now, by=cast["staff"]
    )
    things["poured"] = chemistry.pour_into_container(
        container=drum, what=stream, amount_pl=10**12, at=now, now=now, by=cast["staff"]
    )
    things["alert"] = chemistry.raise_alert(
        kind="processor held", key="held", processor=house.processors["P-CO"], now=now
    )
    weekly = {"name": "Eyewash", "occasion": "every so many days", "every_days": 7}
    eyewash, _new = stations.keep_job(code="eyewash", now=now, **weekly)
    things["done"] = chemistry.do_job(job=eyewash, now=now, by=cast["keyholder"])
    things |= _mixed(now)
    things["kit"], _made = stations.describe_kit(code="LENS", name="Lens", sort="lens", pieces=2, now=now)
    things["calendar"], things["token"] = bookings.make_calendar_link(member=cast["member"], now=now, by=cast["member"])
    people.add_key(code="K-01", sort="key", now=now, by=cast["staff"])
    for name, starts in (("shift", now + timedelta(days=3)), ("keyholders_shift", now)):
        span = Span(starts, starts + timedelta(hours=4))
        things[name] = stations.add_shift(span=span, now=now, by=cast["staff"])
    stations.take_shift(shift=things["keyholders_shift"], now=now, by=cast["keyholder"])
    things["kept"], things["wish"] = _kept(cast, house, now)
    things["weekly"] = _weekly(cast["member"], house, now)
    things |= _access(cast, house, now)
    things |= _out_of_service(cast, house, hit, now)
    things |= taught(cast, house, now)
    return World(cast, things, secret)


def _mixed(now: datetime) -> dict[str, Any]:
    """A mix of today in a bottle, from a lot that is there."""
    from tests.chemistry.shelf import mixed, shelf

    shelves = shelf(now)
    return {"mix": mixed(shelves, now, 500), "lot": shelves.lots["B"]}


def _weekly(member: Any, house: Any, now: datetime) -> Any:
    """The first of two bookings of a series."""
    from studiodesk.bookings import actions as bookings
    from studiodesk.bookings.rules.series import Recurrence

    first = now.date() + timedelta(days=9)
    of = Recurrence(first, first + timedelta(days=7), 1, 12 * 60, timedelta(hours=1))
    made = bookings.book_series(member=member, station=house.stations["S1"], process=None, of=of, now=now, by=member)
    return made.bookings[0]


def _out_of_service(cast: dict[str, Any], house: Any, hit: Any, now: datetime) -> dict[str, Any]:
    """A fault that the member reported, and a booth out of service over somebody's booking."""
    from studiodesk.bookings import actions as bookings
    from studiodesk.timekeeping import Span

    booth, span = house.stations["E4"], Span(hit.starts, hit.ends)
    fault = bookings.report_fault(resource=booth.resource, kind="lamp", now=now, by=cast["member"])
    made = bookings.shut(things=[booth], span=span, reason="lamp", cause="fault", now=now, by=cast["keyholder"])
    return {"fault": fault, "outage": made.outage}


def _access(cast: dict[str, Any], house: Any, now: datetime) -> dict[str, Any]:
    """A membership to come, and a sign-off that nothing here asks for."""
    from studiodesk.people import actions as people
    from studiodesk.safety import actions as safety

    month = people.make_plan(code="month", name="Monthly", now=now, by=cast["manager"])
    people.make_plan(code="day", name="Day pass", is_day_pass=True, now=now, by=cast["manager"])
    first, last = (now.date() + timedelta(days=days) for days in (30, 60))
    given = people.give_membership(
        member=cast["member"], plan=month, first_day=first, last_day=last, now=now, by=cast["staff"]
    )
    signed = safety.give_sign_off(member=cast["other"], process=house.processes["rc"], now=now, by=cast["staff"])
    need, _new = safety.set_sign_off_need(process=house.processes["ra4"], now=now, by=cast["manager"])
    return {"membership": given, "sign_off": signed, "need": need}


def _kept(cast: Any, house: Any, now: datetime) -> tuple[Any, Any]:
    """What "other" had is kept for "member", who waited for it."""
    from studiodesk.bookings import actions as bookings
    from studiodesk.bookings.rules.needs import Need

    starts = now + timedelta(hours=22)
    taken = bookings.book(
        member=cast["other"], station=house.stations["S1"], process=None, starts=starts,
        ends=starts + timedelta(hours=2), now=now, by=cast["other"],
    )  # fmt: skip
    wish = bookings.wait(
        member=cast["member"], need=Need(kind="scanning station", length=120), first_day=starts.date(),
        last_day=starts.date(), now=now, by=cast["member"],
    )  # fmt: skip
    bookings.cancel(booking=taken, now=now, by=cast["other"])
    return wish.offers.get().booking, wish
