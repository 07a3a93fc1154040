"""Memberships, birthdays, house rules and sign-offs out of files: read whole, twice without a trace, or refused."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.actions import set_house_rule
from studiodesk.bookings.models import HouseRule
from studiodesk.people import actions as people
from studiodesk.people.models import Member, Membership, MembershipPlan
from studiodesk.safety.models import SignOffNeed
from studiodesk.upkeep.actions import load_studio
from tests import makers
from tests.upkeep.files import NOW, contents, example, imported, loaded, refusals, sentences

PLANS = b"""
[[plans]]
code = "month"
name = "Monthly"
[[plans]]
code = "day"
name = "Day pass"
day_pass = true
"""
RULES = b"""
[[house_rules]]
rule = "month_hours"
value = 12
[[house_rules]]
rule = "month_hours"
plan = "month"
value = "none"
from = 2026-09-01
[[house_rules]]
rule = "guests"
value = 2
from = 2027-01-01
"""
SIGN_OFFS = b"""
[[sign_offs]]
kind = "enlarger booth"
[[sign_offs]]
process = "ra4"
lasts_days = 365
"""
HEADER = b"number,name,email,joined_on,plan,member_from,member_until,born_on\n"
SAAR = b"M1,Saar,saar@example.org,2026-01-15,month,2026-02-01,2026-12-31,2010-03-01\n"
TEUN = b"M2,Teun,teun@example.org,2026-01-15,month,,,\n"
NOOR = b"M3,Noor,noor@example.org,2026-01-15,,,,\n"
FIN = b"M4,Fin,fin@example.org,2026-01-15,day,2026-03-01,,\n"


def described(more: bytes) -> bytes:
    return example("studio.toml") + more


@pytest.fixture
def house(db: Any) -> None:
    loaded(described(PLANS))


def members(*rows: bytes) -> Any:
    return imported({"members.csv": HEADER + b"".join(rows)})


# ---- studio.toml ---------------------------------------------------------------------------------------------------


def test_a_studio_describes_its_memberships_its_rules_and_what_needs_a_sign_off(db: Any) -> None:
    outcome = loaded(described(PLANS + RULES + SIGN_OFFS))
    assert outcome.warnings == []
    assert [outcome.made[kind] for kind in ("plans", "house rules", "sign-offs")] == [2, 3, 2]
    month = MembershipPlan.objects.get(code="month")
    assert [(plan.name, plan.is_day_pass) for plan in MembershipPlan.objects.all()] == [
        ("Monthly", False),
        ("Day pass", True),
    ]
    hours = [
        bookings.rules_on(day, plan).limit("month_hours")
        for day, plan in (
            (date(2020, 1, 1), None),
            (date(2026, 8, 31), month.pk),
            (date(2026, 9, 1), month.pk),
            (date(2026, 9, 1), None),
        )
    ]
    assert hours == [12, 12, None, 12]
    assert [bookings.rules_on(day).limit("guests") for day in (date(2026, 12, 31), date(2027, 1, 1))] == [0, 2]
    needs = {(need.kind, need.process and need.process.code): need.lasts_days for need in SignOffNeed.objects.all()}
    assert needs == {("enlarger booth", None): None, ("", "ra4"): 365}


def test_the_same_file_again_writes_nothing_and_keeps_what_a_manager_decided_since(db: Any) -> None:
    data = described(PLANS + RULES + SIGN_OFFS)
    loaded(data)
    manager = makers.member("Max", is_staff=True, is_manager=True)
    today = NOW.date()
    set_house_rule(code="month_hours", plan=None, value=8, in_force_from=today, now=NOW, by=manager)
    before = contents()
    assert not load_studio(data=data, now=NOW + timedelta(days=3)).wrote
    assert contents() == before
    assert bookings.rules_on(today + timedelta(days=5)).limit("month_hours") == 8


def test_a_changed_name_number_and_length_are_taken_over(db: Any) -> None:
    loaded(described(PLANS + RULES + SIGN_OFFS))
    changed = (PLANS + RULES + SIGN_OFFS).replace(b"Monthly", b"By the month").replace(b"= 12", b"= 14")
    outcome = loaded(described(changed.replace(b"365", b"100")))
    assert outcome.changed["plans"] == 1 == outcome.changed["sign-offs"] and outcome.made == {"house rules": 1}
    assert MembershipPlan.objects.get(code="month").name == "By the month"
    assert bookings.rules_on(NOW.date()).limit("month_hours") == 14
    assert SignOffNeed.objects.get(process__code="ra4").lasts_days == 100


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (b'[[plans]]\nname = "X"\n', "plans[1].code: This key is missing"),
        (PLANS + b'[[plans]]\ncode = "day"\nname = "Y"\n', "plans[3].code: The code “day” is taken already"),
        (b'[[plans]]\ncode = "a"\nname = "X"\nday_pass = "yes"\n', "plans[1].day_pass: “yes” is neither yes nor no."),
        (b'[[house_rules]]\nrule = "rocket"\nvalue = 1\n', "house_rules[1].rule: “rocket” is none of the words"),
        (b'[[house_rules]]\nrule = "guests"\n', "house_rules[1].value: This key is missing"),
        (b'[[house_rules]]\nrule = "guests"\nvalue = 21\n', "house_rules[1].value: This rule cannot be 21."),
        (b'[[house_rules]]\nrule = "guests"\nvalue = "none"\n', "This rule cannot be without a number."),
        (b'[[house_rules]]\nrule = "guests"\nvalue = 1.5\n', "“1.5” is not a whole number."),
        (b'[[house_rules]]\nrule = "guests"\nvalue = 1\nplan = "gold"\n', "house_rules[1].plan: “gold” is not known"),
        (
            PLANS + b'[[house_rules]]\nrule = "adult_age"\nvalue = 1\nplan = "month"\n',
            "house_rules[1].plan: This rule is the same for everybody",
        ),
        (b'[[house_rules]]\nrule = "guests"\nvalue = 1\nfrom = "soon"\n', "house_rules[1].from: “soon” is not a date."),
        (b'[[sign_offs]]\nkind = "rocket"\n', "sign_offs[1].kind: “rocket” is not known here."),
        (b'[[sign_offs]]\nprocess = "e6"\n', "sign_offs[1].process: “e6” is not known here."),
        (b"[[sign_offs]]\nlasts_days = 3\n", "A sign-off is for one kind of station or for one process."),
        (b'[[sign_offs]]\nkind = "enlarger booth"\nprocess = "rc"\n', "for one kind of station or for one process."),
        (b'[[sign_offs]]\nprocess = "rc"\nlasts_days = 0\n', "sign_offs[1].lasts_days: “0” is too small"),
        (b'[[sign_offs]]\nprocess = "rc"\n' * 2, "sign_offs[2]: The code “rc” is taken already by sign_offs[1]."),
    ],
)
def test_what_cannot_be_is_refused_with_its_place_and_nothing_is_written(db: Any, more: bytes, said: str) -> None:
    assert any(said in sentence for sentence in refusals(described(more))), refusals(described(more))
    assert not MembershipPlan.objects.exists() and not HouseRule.objects.exists() and not SignOffNeed.objects.exists()


def test_what_was_sold_as_a_day_pass_stays_one(house: None) -> None:
    members(FIN)
    changed = PLANS.replace(b"day_pass = true", b"day_pass = false")
    assert refusals(described(changed)) == [
        "studio.toml, plans[2].day_pass: Somebody has “Day pass” already, so it stays what it is. "
        "Make another one instead."
    ]


# ---- members.csv ---------------------------------------------------------------------------------------------------


def test_people_come_with_their_membership_and_birthday(house: None) -> None:
    outcome = members(SAAR, TEUN, NOOR, FIN)
    assert sentences(outcome) == [] and outcome.warnings == []
    found = [(row.member.name, row.plan.code, row.first_day, row.last_day) for row in Membership.objects.all()]
    assert sorted(found) == [
        ("Fin", "day", date(2026, 3, 1), date(2026, 3, 1)),
        ("Saar", "month", date(2026, 2, 1), date(2026, 12, 31)),
        ("Teun", "month", date(2026, 1, 15), None),  # from the day on which he joined
    ]
    assert [person.born_on for person in Member.objects.order_by("number")][:2] == [date(2010, 3, 1), None]


def test_a_second_import_writes_nothing_and_a_new_spell_is_added(house: None) -> None:
    members(SAAR, TEUN, NOOR, FIN)
    before = contents()
    assert [(file.new, file.already) for file in members(FIN, NOOR, TEUN, SAAR).files] == [(0, 4)]
    assert contents() == before
    later = SAAR.replace(b"2026-02-01,2026-12-31", b"2027-02-01,")
    assert [(file.new, file.already) for file in members(later, NOOR).files] == [(1, 1)]
    assert Membership.objects.filter(member__number="M1").count() == 2


def test_somebody_who_is_here_already_gets_what_a_later_file_adds(house: None) -> None:
    imported({"members.csv": b"number,name,email,joined_on\nM1,Saar,saar@example.org,2026-01-15\n"})
    assert [(file.new, file.already) for file in members(SAAR, NOOR).files] == [(2, 0)]
    saar = Member.objects.get(number="M1")
    assert saar.born_on == date(2010, 3, 1) and saar.memberships.count() == 1


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (SAAR.replace(b"month", b"gold"), "line 2, column “plan”: “gold” is not known here."),
        (SAAR.replace(b"month", b""), "line 2, column “member_from”: The days of a membership are given"),
        (SAAR.replace(b"2026-12-31", b"2026-01-31"), "line 2, column “member_until”: The last day"),
        (SAAR.replace(b"month", b"day"), "line 2, column “member_until”: A day pass is for one day."),
        (SAAR.replace(b"2010-03-01", b"2031-03-01"), "line 2, column “born_on”: Nobody here was born on"),
        (SAAR.replace(b"2010-03-01", b"long ago"), "line 2, column “born_on”: “long ago” is not a date."),
    ],
)
def test_what_cannot_be_is_refused_with_line_and_column(house: None, row: bytes, said: str) -> None:
    assert any(said in sentence for sentence in sentences(members(row)))
    assert not Member.objects.exists() and not Membership.objects.exists()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (SAAR.replace(b"2026-02-01", b"2026-03-01"), "M1 is here already with “month 2026-02-01 – 2026-12-31”"),
        (SAAR.replace(b"2010-03-01", b"2011-03-01"), "M1 is here already with “2010-03-01”"),
    ],
)
def test_what_differs_from_what_is_here_is_refused(house: None, row: bytes, said: str) -> None:
    members(SAAR)
    before = contents()
    assert any(said in sentence for sentence in sentences(members(row, NOOR)))
    assert contents() == before


def test_an_ended_membership_shows_as_a_difference_and_not_as_another_one(house: None) -> None:
    members(TEUN)
    manager = makers.member("Max", is_staff=True, is_manager=True)
    people.end_membership(membership=Membership.objects.get(), on=date(2026, 11, 30), now=NOW, by=manager)
    assert any("“month 2026-01-15 – 2026-11-30”" in sentence for sentence in sentences(members(TEUN)))
    assert Membership.objects.count() == 1
