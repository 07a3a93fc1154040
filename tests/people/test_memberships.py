"""Memberships and day passes: given, ended, taken back, told of before they end; one person has one at a time."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk import letters
from studiodesk.answers import Refused
from studiodesk.journal.actions import send_due_notices
from studiodesk.journal.models import Entry, Notice
from studiodesk.people import actions, queries, rules
from studiodesk.people.models import Member, Membership
from tests import makers

TODAY = date(2026, 11, 25)


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


@pytest.fixture
def staff(house):
    return makers.member("Sam", is_staff=True)


@pytest.fixture
def month(manager, now):
    return actions.make_plan(code="month", name="Monthly", now=now, by=manager)


@pytest.fixture
def day_pass(manager, now):
    return actions.make_plan(code="day", name="Day pass", is_day_pass=True, now=now, by=manager)


@pytest.fixture
def give(staff, month, now):
    def given_to(member, first, last, plan=None, by=staff):
        return actions.give_membership(
            member=member, plan=plan or month, first_day=first, last_day=last, now=now, by=by
        )

    return given_to


def refusal_of(act, *args, **kwargs):
    with pytest.raises(Refused) as refused:
        act(*args, **kwargs)
    return refused.value.refusal


# ---- plans ---------------------------------------------------------------------------------------------------------


def test_a_plan_has_a_code_and_a_name_of_its_own(month, manager, now):
    assert refusal_of(actions.make_plan, code="MONTH", name="Other", now=now, by=manager).code == (
        "people.plan_code_taken"
    )
    assert refusal_of(actions.make_plan, code="m2", name="monthly", now=now, by=manager).code == (
        "people.plan_name_taken"
    )
    assert [plan.code for plan in queries.plans()] == ["month"]
    assert Entry.objects.get(code="people.plan_made").actor == manager


def test_only_a_manager_makes_plans(staff, now):
    refusal = refusal_of(actions.make_plan, code="x", name="X", now=now, by=staff)
    assert (refusal.code, refusal.facts["status"]) == ("people.plans_are_the_managers", 403)


def test_a_plan_out_of_use_is_given_to_nobody_and_kept_by_whoever_has_it(give, month, manager, now):
    adri = makers.member("Adri")
    give(adri, TODAY, None)
    actions.set_plan_in_use(plan=month, in_use=False, now=now, by=manager)
    assert refusal_of(give, makers.member("Bente"), TODAY, None).code == "people.plan_not_in_use"
    assert queries.membership_on(adri, TODAY).plan == month and not queries.plans(in_use=True)
    actions.set_plan_in_use(plan=month, in_use=True, now=now, by=manager)
    actions.set_plan_in_use(plan=month, in_use=True, now=now, by=manager)
    give(makers.member("Coen"), TODAY, None)
    assert Entry.objects.filter(code="people.plan_back_in_use").count() == 1


def test_a_described_plan_is_made_once_changed_where_it_differs_and_stays_what_was_sold(give, manager, now):
    plan, written = actions.describe_plan(code="m", name="Month", now=now)
    assert written and actions.describe_plan(code="m", name="Month", now=now) == (plan, False)
    plan, written = actions.describe_plan(code="m", name="A month", now=now)
    assert written and plan.name == "A month"
    give(makers.member("Adri"), TODAY, None, plan=plan)
    refusal = refusal_of(actions.describe_plan, code="m", name="A month", is_day_pass=True, now=now)
    assert refusal.code == "people.plan_is_sold"


# ---- giving --------------------------------------------------------------------------------------------------------


def test_a_membership_covers_its_first_and_its_last_day_and_none_beside_them(give):
    adri = makers.member("Adri")
    given_ = give(adri, date(2026, 12, 1), date(2026, 12, 31))
    days = [date(2026, 11, 30), date(2026, 12, 1), date(2026, 12, 31), date(2027, 1, 1)]
    assert [queries.membership_on(adri, day) for day in days] == [None, given_, given_, None]
    people = [Member.objects.annotate(plan=queries.plan_on(day)).get(pk=adri.pk).plan for day in days]
    assert people == [None, given_.plan_id, given_.plan_id, None]


def test_one_without_a_last_day_goes_on(give, month):
    adri = makers.member("Adri")
    give(adri, TODAY, None)
    assert queries.membership_on(adri, date(2126, 1, 1)).plan == month


@pytest.mark.parametrize(
    ("first", "last", "code"),
    [
        (date(2026, 12, 31), None, "people.membership_overlaps"),
        (date(2026, 11, 1), date(2026, 12, 1), "people.membership_overlaps"),
        (date(2026, 12, 10), date(2026, 12, 11), "people.membership_overlaps"),
        (date(2027, 3, 1), date(2027, 3, 2), "people.membership_goes_on"),
        (date(2027, 1, 1), date(2026, 12, 31), "people.membership_ends_first"),
    ],
)
def test_one_person_has_one_membership_at_a_time(give, first, last, code):
    adri = makers.member("Adri")
    give(adri, date(2026, 12, 1), date(2026, 12, 31))
    give(adri, date(2027, 2, 1), None)
    before = Entry.objects.count()
    refusal = refusal_of(give, adri, first, last)
    assert refusal.code == code
    if code != "people.membership_ends_first":
        other = next(one for one in Membership.objects.all() if one.first_day == refusal.facts["first"])
        assert refusal.facts["last"] == other.last_day
        assert rules.overlap(first, last, [(other.first_day, other.last_day)]) == 0
    assert Membership.objects.count() == 2 and Entry.objects.count() == before
    give(adri, date(2027, 1, 1), date(2027, 1, 31))  # between the two
    give(makers.member("Bente"), date(2026, 12, 1), None)  # somebody else


@given(st.lists(st.tuples(st.integers(0, 30), st.one_of(st.none(), st.integers(0, 10))), min_size=1, max_size=6))
def test_overlap_is_a_shared_day(spans):
    """Oracle: the days themselves, one by one, up to a day after the last that is named."""
    days = [
        (TODAY + timedelta(days=first), None if length is None else TODAY + timedelta(days=first + length))
        for first, length in spans
    ]
    (first, last), others = days[0], days[1:]
    every = [TODAY + timedelta(days=n) for n in range(50)]
    shared = [
        number
        for number, other in enumerate(others)
        if any(rules.covers(first, last, day) and rules.covers(*other, day) for day in every)
    ]
    assert rules.overlap(first, last, others) == (shared[0] if shared else None)


def test_a_day_pass_is_one_day(give, day_pass):
    adri = makers.member("Adri")
    assert refusal_of(give, adri, TODAY, TODAY + timedelta(days=1), plan=day_pass).code == "people.day_pass_is_a_day"
    assert give(adri, TODAY, None, plan=day_pass).last_day == TODAY
    give(adri, TODAY + timedelta(days=1), TODAY + timedelta(days=1), plan=day_pass)


def test_only_staff_give_memberships_and_nobody_who_left_gets_one(give, now, manager):
    adri, kim = makers.member("Adri"), makers.member("Kim", is_keyholder=True)
    assert refusal_of(give, adri, TODAY, None, by=kim).code == "people.not_yours_to_do"
    actions.set_standing(person=adri, is_active=False, now=now, by=manager)
    assert refusal_of(give, adri, TODAY, None).code == "people.has_left"
    assert not Membership.objects.exists()


# ---- ending --------------------------------------------------------------------------------------------------------


def test_a_membership_is_ended_on_a_day_and_only_becomes_shorter(give, staff, now):
    kept = give(makers.member("Adri"), TODAY - timedelta(days=30), None)

    def end(on, by=staff):
        return actions.end_membership(membership=kept, on=on, now=now, by=by)

    assert end(date(2026, 12, 31)).last_day == date(2026, 12, 31)
    assert end(date(2026, 12, 1)).last_day == date(2026, 12, 1)
    end(date(2026, 12, 1))
    assert Entry.objects.filter(code="people.membership_ended").count() == 2
    assert refusal_of(end, date(2026, 12, 2)).code == "people.membership_is_over"
    assert refusal_of(end, TODAY - timedelta(days=31)).code == "people.membership_ends_first"
    assert refusal_of(end, TODAY, by=kept.member).code == "people.not_yours_to_do"
    kept.refresh_from_db()
    assert kept.last_day == date(2026, 12, 1)


def test_what_was_given_by_mistake_is_taken_back_that_day_or_before_it_begins(give, staff, now):
    adri = makers.member("Adri")
    today, ahead = give(adri, TODAY, TODAY), give(adri, date(2027, 1, 1), None)
    later = now + timedelta(days=3)
    refusal = refusal_of(actions.take_back_membership, membership=today, now=later, by=staff)
    assert refusal.code == "people.membership_has_run" and Membership.objects.count() == 2
    actions.take_back_membership(membership=ahead, now=later, by=staff)
    actions.take_back_membership(membership=today, now=now, by=staff)
    actions.take_back_membership(membership=today, now=now, by=staff)  # a second press
    assert not Membership.objects.exists()
    assert Entry.objects.filter(code="people.membership_taken_back").count() == 2
    assert refusal_of(actions.take_back_membership, membership=today, now=now, by=adri).code == "people.not_yours_to_do"


# ---- letters -------------------------------------------------------------------------------------------------------


def remind(now, day):
    return actions.remind_of_endings(now=now, today=day)


def test_whoever_s_membership_ends_is_told_fourteen_days_before_and_once(give, staff, now, outbox):
    adri = makers.member("Adri")
    kept = give(adri, date(2026, 6, 1), date(2026, 12, 10))
    assert remind(now, date(2026, 11, 25)) == 0
    assert [remind(now, date(2026, 11, 26)), remind(now, date(2026, 11, 27))] == [1, 0]
    send_due_notices(now=now, render=letters.render)
    assert [mail.to for mail in outbox] == [[adri.email]]
    assert "Thursday 10 December 2026" in outbox[0].subject and "Hello Adri," in outbox[0].body
    assert "Monthly" in outbox[0].body
    # Ended earlier, they are told of the new day.
    actions.end_membership(membership=kept, on=date(2026, 12, 1), now=now, by=staff)
    assert [remind(now, date(2026, 11, 27)), remind(now, date(2026, 11, 28))] == [1, 0]


def test_nobody_is_told_of_what_is_followed_by_another_a_day_pass_a_short_one_or_of_somebody_who_left(
    give, day_pass, manager, now
):
    adri, bente, coen, dirk = (makers.member(name) for name in ("Adri", "Bente", "Coen", "Dirk"))
    give(adri, date(2026, 6, 1), date(2026, 12, 1))
    give(adri, date(2026, 12, 2), date(2027, 12, 1))
    give(bente, date(2026, 12, 1), None, plan=day_pass)
    give(coen, date(2026, 11, 25), date(2026, 12, 1))
    give(dirk, date(2026, 6, 1), date(2026, 12, 1))
    actions.set_standing(person=dirk, is_active=False, now=now, by=manager)
    assert remind(now, TODAY) == 0 and not Notice.objects.exists()
    assert [one.member for one in queries.running_out(TODAY, TODAY + timedelta(days=30))] == [coen]


def test_the_timetable_reminds_in_the_morning_of_the_studio_s_own_day(give, now):
    from studiodesk import tasks

    give(makers.member("Adri"), date(2026, 6, 1), date(2026, 12, 10))
    # 26 November begins at 23:00 UTC in Amsterdam.
    assert tasks.CHORES["memberships"](datetime(2026, 11, 25, 22, 59, tzinfo=UTC)) == 0
    assert tasks.CHORES["memberships"](datetime(2026, 11, 25, 23, 0, tzinfo=UTC)) == 1
    assert Notice.objects.get().due_at == datetime(2026, 11, 26, 8, 0, tzinfo=UTC)
    assert list(tasks.CHORES).index("memberships") < list(tasks.CHORES).index("letters")


# ---- what is known of somebody besides -------------------------------------------------------------------------------


def test_somebody_writes_down_whom_to_call_and_the_journal_keeps_that_and_not_what(house, now):
    adri = makers.member("Adri")
    kept = actions.set_person_facts(
        person=adri, phone=" +31 6 1234567 ", emergency_name="Noor", emergency_phone="(020) 123 45", now=now, by=adri
    )
    assert (kept.phone, kept.emergency_name, kept.emergency_phone) == ("+31 6 1234567", "Noor", "(020) 123 45")
    entry = Entry.objects.get(code="people.facts_set")
    assert entry.facts == {"changed": ["phone", "emergency_name", "emergency_phone"]} and entry.about_id == adri.pk
    actions.set_person_facts(person=adri, phone="+31 6 1234567", now=now, by=adri)
    assert Entry.objects.filter(code="people.facts_set").count() == 1
    adri.refresh_from_db()
    assert adri.emergency_name == "Noor"  # what is not named stays


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"phone": "call me"}, "people.no_phone_number"),
        ({"phone": "12"}, "people.no_phone_number"),
        ({"emergency_name": "Noor"}, "people.call_needs_both"),
        ({"emergency_phone": "020 12345"}, "people.call_needs_both"),
        ({"born_on": date(2026, 11, 26)}, "people.not_a_birthday"),
        ({"born_on": date(1905, 1, 1)}, "people.not_a_birthday"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field_and_nothing_is_kept(house, now, facts, code):
    adri = makers.member("Adri")
    refusal = refusal_of(actions.set_person_facts, person=adri, **facts, now=now, by=adri)
    assert refusal.code == code and refusal.facts["field"]
    adri.refresh_from_db()
    assert (adri.phone, adri.emergency_name, adri.emergency_phone, adri.born_on) == ("", "", "", None)


def test_a_birthday_is_given_once_by_the_person_and_changed_by_staff_only(staff, now):
    adri, bente = makers.member("Adri"), makers.member("Bente")
    actions.set_person_facts(person=adri, born_on=date(2010, 3, 1), now=now, by=adri)
    refusal = refusal_of(actions.set_person_facts, person=adri, born_on=date(2000, 3, 1), now=now, by=adri)
    assert refusal.code == "people.birthday_stands"
    assert refusal_of(actions.set_person_facts, person=adri, phone="12345", now=now, by=bente).code == (
        "people.not_about_others"
    )
    assert actions.set_person_facts(person=adri, born_on=date(2010, 3, 2), now=now, by=staff).born_on == (
        date(2010, 3, 2)
    )
