"""What the people of the demo have: memberships, sign-offs, somebody to call for them, and keys."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.people import actions as people
from studiodesk.people.models import HouseKey, Member, MembershipPlan
from studiodesk.safety import actions as safety
from studiodesk.stations.models import Process
from studiodesk.timekeeping import studio_day

from .people import Cast

#: What nobody of the house may do alone before a tutor has seen it; the member who logs in has not shown it yet.
SIGNED_OFF_FOR = "fb"
#: One in so many members comes part of the time.
PART_TIME = 4
RUNS_OUT_IN = timedelta(days=10)
#: Invented: numbers that begin like this are given to nobody.
PHONE = "06 0000 {:04d}"
CONTACTS = ("Wiebe", "Hanna", "Douwe", "Maaike", "Sjoerd", "Tineke", "Frouke", "Jelmer")
#: code, sort, what it opens.
KEYS = (
    ("KEY-1", "key", "Street door"),
    ("KEY-2", "key", "Street door"),
    ("KEY-3", "key", "Chemical store"),
    ("KEY-4", "key", "Film sinks and drying cabinets"),
    ("FOB-1", "fob", "Street door and stairs"),
    ("FOB-2", "fob", "Street door and stairs"),
)


def settle_in(cast: Cast, *, now: datetime, today: datetime, zone: ZoneInfo) -> None:
    """At ``now``, some weeks before ``today``."""
    _memberships(cast, now, today, zone)
    process = Process.objects.get(code=SIGNED_OFF_FOR)
    for person in (*cast.others, cast.keyholder, cast.staff, cast.manager):
        safety.give_sign_off(member=person, process=process, now=now, by=cast.tutor)
    safety.give_sign_off(member=cast.tutor, process=process, now=now, by=cast.staff)  # who teaches it has shown it too
    _keys(cast, now)


def _memberships(cast: Cast, now: datetime, today: datetime, zone: ZoneInfo) -> None:
    """Everybody's begin when they joined; one runs out in ten days, and one person has a pass for today alone."""
    plans = {plan.code: plan for plan in MembershipPlan.objects.all()}
    day = studio_day(today, zone)
    *most, passing = cast.others
    ending = most[len(most) // 2]
    for number, person in enumerate((cast.member, *most, cast.tutor)):
        plan = plans["PART" if number % PART_TIME == PART_TIME - 1 else "FULL"]
        last = day + RUNS_OUT_IN if person == ending else None
        people.give_membership(
            member=person, plan=plan, first_day=person.joined_on, last_day=last, now=now, by=cast.manager
        )
    people.give_membership(member=passing, plan=plans["DAY"], first_day=day, last_day=day, now=now, by=cast.staff)


def say_whom_to_call(cast: Cast, here: Sequence[Member], *, now: datetime) -> None:
    """Those who log in but the manager, some others, and all but one of those who are in the house."""
    named = [cast.member, cast.keyholder, cast.tutor, cast.staff, *here[1:]]
    persons = [*named, *(one for one in cast.others if one not in here)][: len(CONTACTS)]
    for number, (person, name) in enumerate(zip(persons, CONTACTS, strict=True)):
        people.set_person_facts(
            person=person,
            phone=PHONE.format(10 + number),
            emergency_name=name,
            emergency_phone=PHONE.format(50 + number),
            now=now,
            by=person,
        )


def _keys(cast: Cast, now: datetime) -> None:
    """Three are out, one came back and one is lost."""
    made: dict[str, HouseKey] = {
        code: people.add_key(code=code, sort=sort, opens=opens, now=now, by=cast.staff) for code, sort, opens in KEYS
    }
    week = timedelta(days=7)
    for code, holder in (
        ("KEY-1", cast.keyholder),
        ("KEY-3", cast.manager),
        ("KEY-4", cast.others[0]),
        ("FOB-1", cast.tutor),
        ("FOB-2", cast.others[1]),
    ):
        people.hand_out(key=made[code], holder=holder, now=now, by=cast.staff)
    people.take_back(key=made["KEY-4"], now=now + week, by=cast.staff)
    people.report_lost(key=made["FOB-2"], now=now + week, by=cast.staff)
