"""A house in which something of everything stands, for the pages that show it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.utils import timezone

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Offer
from studiodesk.bookings.rules.needs import Need
from studiodesk.bookings.rules.series import Recurrence
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Alert, Bath, BathEntry, SheetSize
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.people.queries import password_link
from studiodesk.planning import actions as planning
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.timekeeping import Span

from .opening import at_work, kept_apart, looked_after, opened, stocked
from .teaching import taught


def lived_in() -> dict[str, Any]:
    """Bookings of every standing, sheets through, one bath that wants something, one that is spent, all foretold."""
    now = timezone.now()
    at = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)
    people = {person.name.lower(): person for person in Member.objects.all()}
    for note in SafetyNote.objects.select_related("processor"):
        for person in people.values():
            if (person.name, note.processor.code) != ("Member", "P-CO"):
                safety.acknowledge(note=note, member=person, now=now)

    def book(who: str, station: str, process: str, hours: tuple[float, float]) -> Any:
        return bookings.book(
            member=people[who],
            by=people[who],
            station=Station.objects.get(code=station),
            process=Process.objects.get(code=process),
            starts=at + timedelta(hours=hours[0]),
            ends=at + timedelta(hours=hours[1]),
            now=at - timedelta(days=2),
        )

    here = book("friend", "E5", "fb", (-0.75, 2))
    bookings.arrive(booking=here, now=now, by=people["keyholder"])
    stay = book("member", "E4", "rc", (-0.5, 0.5))
    bookings.arrive(booking=stay, now=at - timedelta(minutes=30), by=people["member"])
    bookings.leave(booking=stay, now=at - timedelta(minutes=5), by=people["member"])
    bookings.come_in(kind="walk-in", name="Wout", heads=2, phone="06 1", now=at, by=people["keyholder"])
    book("tutor", "E2", "rc", (-0.5, 3))
    mine = book("member", "E1", "rc", (4, 7))
    gone = book("member", "E1", "rc", (28, 30))
    bookings.cancel(booking=gone, now=now, by=people["member"])
    for processor, sheets in (("T-FB", 10), ("P-CO", 24), ("P-RC", 30)):
        chemistry.log_sheets(
            processor=Processor.objects.get(code=processor),
            sheet=SheetSize.objects.get(code="305x406"),
            sheets=sheets * 2,
            kind="print",
            who="walk-in",
            fed_at=now,
            now=now,
            by=people["keyholder"],
        )
    chemistry.record_bath_entry(
        bath=Bath.objects.get(processor__code="P-RC", code="fix"), event="refill", at=now, now=now, by=people["staff"]
    )
    for prepare in (at_work, looked_after, stocked, kept_apart):
        prepare(people, now)
    link, _secret = bookings.make_calendar_link(member=people["member"], now=now, by=people["member"])
    planning.keep_forecasts(now=now, by=people["staff"])
    return {
        "booking": mine.pk,
        "cancelled": gone.pk,
        "calendar": link.pk,
        "stay": stay.pk,
        "alert": Alert.objects.filter(cleared_at=None).earliest("pk").pk,
        **opened(people, now),
        **joined(people, now),
        **broken(people, now),
        **waited_for(people, now),
        **taught(people, now),
        **led_to(people, now),
    }


def led_to(people: dict[str, Member], now: datetime) -> dict[str, Any]:
    """What only a link or a second step leads to: a week's series, an entry to correct, a code, a letter's link."""
    first = now.date() + timedelta(days=8)
    weekly = bookings.book_series(
        member=people["member"],
        by=people["member"],
        station=Station.objects.get(code="S1"),
        process=None,
        of=Recurrence(first, first + timedelta(days=7), 1, 15 * 60, timedelta(hours=1)),
        now=now,
    )
    who, token = password_link(people["friend"]).split("/")
    tablet, _code = doors.invite_tablet(name="Wet end", now=now, by=people["staff"])
    return {
        "weekly": weekly.bookings[0].pk,
        "entry": BathEntry.objects.filter(event="refill").latest("pk").pk,
        "tablet": tablet.pk,
        "link_who": who,
        "link_token": token,
    }


def waited_for(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """What the friend gave back is kept for the member; both wait for more."""
    starts = datetime(2026, 11, 26, 14, tzinfo=UTC)
    taken = bookings.book(
        member=people["friend"],
        by=people["friend"],
        station=Station.objects.get(code="S1"),
        process=None,
        starts=starts,
        ends=starts + timedelta(hours=2),
        now=now,
    )
    for who, day, length in (("member", 26, 120), ("friend", 26, 60), ("member", 28, 90)):
        bookings.wait(
            member=people[who],
            need=Need(kind="scanning station", length=length, weekdays=(3, 5)),
            first_day=date(2026, 11, day),
            last_day=date(2026, 11, day),
            not_before=900 if length == 120 else 1080,
            now=now,
            by=people[who],
        )
    bookings.cancel(booking=taken, now=now, by=people["friend"])
    return {"kept": Offer.objects.get(booking__member=people["member"]).booking_id}


def broken(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """A fault that the member reported, and a booth out of service over two bookings of tomorrow."""
    booth = Station.objects.get(code="E3")
    fault = bookings.report_fault(resource=booth.resource, kind="fumes", now=now, by=people["member"], more="sharp")
    starts = datetime(2026, 11, 26, 14, tzinfo=UTC)
    for who, hours in (("friend", 0), ("tutor", 3)):
        bookings.book(
            member=people[who],
            by=people[who],
            station=booth,
            process=Process.objects.get(code="rc"),
            starts=starts + timedelta(hours=hours),
            ends=starts + timedelta(hours=hours + 2),
            now=now,
        )
    made = bookings.shut(
        things=[booth],
        span=Span(starts, starts + timedelta(hours=6)),
        reason="lamp",
        cause="fault",
        now=now,
        by=people["keyholder"],
    )
    return {"fault": fault.pk, "outage": made.outage.pk}


def joined(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """Memberships that run, are to come and run out; rules of the house; sign-offs; somebody to call."""
    manager, member, tutor, today = people["manager"], people["member"], people["tutor"], now.date()
    month = doors.make_plan(code="month", name="Monthly, every day", now=now, by=manager)
    doors.make_plan(code="day", name="Day pass", is_day_pass=True, now=now, by=manager)
    mine = [
        doors.give_membership(member=member, plan=month, first_day=first, last_day=last, now=now, by=manager)
        for first, last in (
            (today - timedelta(days=60), today + timedelta(days=20)),
            (today + timedelta(days=40), None),
        )
    ]
    for code, value, plan in (("month_hours", 12, None), ("month_hours", 30, month), ("peak_days", 127, None)):
        for days in (0, 40):
            day = today + timedelta(days=days)
            number = value - bool(days)
            bookings.set_house_rule(code=code, plan=plan, value=number, in_force_from=day, now=now, by=manager)
    rc = Process.objects.get(code="rc")
    safety.give_sign_off(member=member, process=rc, now=now, by=tutor)
    safety.set_sign_off_need(kind="shooting bay", now=now, by=manager)
    safety.set_sign_off_need(process=rc, lasts_days=365, now=now, by=manager)
    for person in people.values():  # so that the pages of booking show what they show without a need
        given = safety.give_sign_off(member=person, process=rc, now=now, by=manager if person == tutor else tutor)
    facts = {"phone": "+31 6 1234567", "emergency_name": "Noor de Wit", "emergency_phone": "020 123 45 67"}
    doors.set_person_facts(person=member, **facts, now=now, by=member)
    return {"membership": mine[0].pk, "sign_off": given.pk}
