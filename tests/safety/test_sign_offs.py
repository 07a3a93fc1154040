"""Sign-offs: what needs one, who signs whom off, until when it holds, and what a booking asks."""

from datetime import UTC, datetime, timedelta

import pytest

from studiodesk import letters
from studiodesk.answers import Refused
from studiodesk.journal.actions import send_due_notices
from studiodesk.journal.models import Entry, Notice
from studiodesk.people import actions as people
from studiodesk.people.models import Member
from studiodesk.safety import actions, queries
from studiodesk.safety.models import SignOff, SignOffNeed
from studiodesk.words import say
from tests import makers

BOOTH = "enlarger booth"


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


@pytest.fixture
def tutor(house):
    return makers.member("Tara", is_tutor=True)


@pytest.fixture
def adri(house):
    return makers.member("Adri")


@pytest.fixture
def needed(manager, house, now):
    """Booths need a sign-off for good, RA-4 one that lasts thirty days."""
    booth, _ = actions.set_sign_off_need(kind=BOOTH, now=now, by=manager)
    ra4, _ = actions.set_sign_off_need(process=house.processes["ra4"], lasts_days=30, now=now, by=manager)
    return booth, ra4


def refusal_of(act, **kwargs):
    with pytest.raises(Refused) as refused:
        act(**kwargs)
    return refused.value.refusal


def lacks(person, house, at, kind=BOOTH, process="ra4"):
    """(the list of names, the two annotations): they have to say the same."""
    row = house.processes[process] if process else None
    names = queries.not_signed_off(person, kind, row, at)
    asked = queries.missing_sign_offs(kind, row.pk if row else None, at)
    found = Member.objects.annotate(**asked).get(pk=person.pk)
    assert [bool(found.lacks_kind), bool(found.lacks_process)] == [kind in names, bool(row and row.name in names)]
    return names


def test_nothing_is_lacking_where_nothing_is_needed(adri, house, now):
    assert lacks(adri, house, now) == [] == lacks(adri, house, now, kind="", process=None)


def test_what_is_needed_is_lacking_until_a_tutor_signs_for_that_very_thing(adri, tutor, needed, house, now):
    assert lacks(adri, house, now) == [BOOTH, "Colour, RA-4"]
    assert lacks(adri, house, now, process="rc") == [BOOTH] == lacks(adri, house, now, process=None)
    assert lacks(adri, house, now, kind="scanning station", process=None) == []
    actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor)
    assert lacks(adri, house, now) == ["Colour, RA-4"]
    assert lacks(makers.member("Bente"), house, now) == [BOOTH, "Colour, RA-4"]
    actions.give_sign_off(member=adri, process=house.processes["ra4"], now=now, by=tutor)
    assert lacks(adri, house, now) == []


def test_a_sign_off_holds_to_the_end_of_its_last_local_day_and_is_lacking_after_it(adri, tutor, needed, house, now):
    """Thirty days after 25 November is 25 December; that day ends at 23:00 UTC in Amsterdam's winter."""
    given = actions.give_sign_off(member=adri, process=house.processes["ra4"], now=now, by=tutor)
    assert given.until == datetime(2026, 12, 25, 23, 0, tzinfo=UTC)
    last = given.until - timedelta(microseconds=1)
    assert lacks(adri, house, last, kind="") == [] and lacks(adri, house, given.until, kind="") == ["Colour, RA-4"]


def test_the_last_day_is_a_local_day_over_the_change_of_the_clock_too(adri, tutor, house, manager):
    """Summer time ends on 25 October 2026 (Directive 2000/84/EC): midnight is 22:00 UTC before and 23:00 after."""
    at = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)
    actions.set_sign_off_need(kind=BOOTH, lasts_days=10, now=at, by=manager)
    assert actions.give_sign_off(member=adri, kind=BOOTH, now=at, by=tutor).until == datetime(
        2026, 10, 30, 23, 0, tzinfo=UTC
    )


def test_a_sign_off_given_before_keeps_the_end_it_was_given(adri, tutor, needed, manager, house, now):
    given = actions.give_sign_off(member=adri, process=house.processes["ra4"], now=now, by=tutor)
    actions.set_sign_off_need(process=house.processes["ra4"], lasts_days=1, now=now, by=manager)
    given.refresh_from_db()
    assert given.until == datetime(2026, 12, 25, 23, 0, tzinfo=UTC)
    assert SignOffNeed.objects.get(process=house.processes["ra4"]).lasts_days == 1


def test_a_revoked_one_is_lacking_and_one_given_anew_counts(adri, tutor, needed, house, now):
    given = actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor)
    actions.revoke_sign_off(sign_off=given, now=now, by=tutor)
    again = actions.revoke_sign_off(sign_off=given, now=now + timedelta(hours=1), by=tutor)
    assert (again.revoked_at, again.revoked_by) == (now, tutor)
    assert lacks(adri, house, now) == [BOOTH, "Colour, RA-4"]
    actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor)
    assert lacks(adri, house, now) == ["Colour, RA-4"]
    assert Entry.objects.filter(code="safety.sign_off_revoked").count() == 1


def test_people_can_be_signed_off_before_it_is_needed(adri, tutor, manager, house, now):
    assert actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor).until is None
    actions.set_sign_off_need(kind=BOOTH, lasts_days=5, now=now, by=manager)
    assert lacks(adri, house, now + timedelta(days=400), process=None) == []


def test_twice_on_one_day_is_once_and_another_day_renews_it(adri, tutor, needed, house, now):
    def give(at):
        return actions.give_sign_off(member=adri, process=house.processes["ra4"], now=at, by=tutor)

    first = give(now)
    assert give(now + timedelta(minutes=1)) == first
    later = give(now + timedelta(days=10))
    assert later != first and later.until == first.until + timedelta(days=10)
    assert Notice.objects.filter(code="safety.signed_off").count() == 2
    own = queries.own_sign_offs(adri, now + timedelta(days=11))
    assert own.holding == [later] and own.lacking == [BOOTH]


@pytest.mark.parametrize(
    ("what", "code"),
    [
        ({}, "safety.kind_or_process"),
        ({"kind": "rocket"}, "safety.no_such_kind"),
        ({"kind": BOOTH, "process": "rc"}, "safety.kind_or_process"),
    ],
)
def test_a_sign_off_is_for_one_kind_or_one_process_that_there_is(adri, tutor, manager, house, now, what, code):
    what = {name: house.processes[value] if name == "process" else value for name, value in what.items()}
    assert refusal_of(actions.give_sign_off, member=adri, **what, now=now, by=tutor).code == code
    assert refusal_of(actions.set_sign_off_need, **what, now=now, by=manager).code == code
    assert not SignOff.objects.exists() and not SignOffNeed.objects.exists()


def test_nobody_signs_themselves_off_and_members_and_keyholders_sign_nobody(adri, tutor, manager, now):
    for who in (tutor, manager):
        assert refusal_of(actions.give_sign_off, member=who, kind=BOOTH, now=now, by=who).code == (
            "safety.not_for_yourself"
        )
    for who in (adri, makers.member("Kim", is_keyholder=True)):
        refusal = refusal_of(actions.give_sign_off, member=makers.member("Bente"), kind=BOOTH, now=now, by=who)
        assert (refusal.code, refusal.facts["status"]) == ("safety.tutors_sign_off", 403)
    given = actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor)
    assert refusal_of(actions.revoke_sign_off, sign_off=given, now=now, by=adri).code == "safety.tutors_sign_off"
    people.set_standing(person=adri, is_active=False, now=now, by=manager)
    assert refusal_of(actions.give_sign_off, member=adri, kind=BOOTH, now=now, by=tutor).code == "safety.has_left"


@pytest.mark.parametrize("days", [0, 3651])
def test_only_a_manager_says_what_needs_a_sign_off_and_for_a_time_that_can_be(manager, tutor, now, days):
    refusal = refusal_of(actions.set_sign_off_need, kind=BOOTH, now=now, by=tutor)
    assert refusal.code == "safety.needs_are_the_managers"
    refusal = refusal_of(actions.set_sign_off_need, kind=BOOTH, lasts_days=days, now=now, by=manager)
    assert refusal.code == "safety.lasts_from_to" and "1 to 3650" in str(say(refusal))
    assert not SignOffNeed.objects.exists()


def test_what_is_no_longer_needed_is_lacking_for_nobody_and_the_sign_offs_stay(
    adri, tutor, needed, manager, house, now
):
    actions.give_sign_off(member=adri, kind=BOOTH, now=now, by=tutor)
    assert refusal_of(actions.end_sign_off_need, need=needed[0], now=now, by=tutor).code == (
        "safety.needs_are_the_managers"
    )
    for need in (*needed, needed[0]):  # the last one twice: a second press
        actions.end_sign_off_need(need=need, now=now, by=manager)
    assert lacks(makers.member("Bente"), house, now) == [] and SignOff.objects.count() == 1


def test_setting_the_same_again_writes_nothing(needed, manager, now):
    assert actions.set_sign_off_need(kind=BOOTH, now=now, by=manager) == (needed[0], False)
    assert Entry.objects.filter(code="safety.sign_off_needed").count() == 2


def test_who_is_signed_off_is_told_by_letter_and_of_its_end_too(adri, tutor, needed, house, now, outbox):
    given = actions.give_sign_off(member=adri, process=house.processes["ra4"], now=now, by=tutor)
    send_due_notices(now=now, render=letters.render)
    assert [mail.to for mail in outbox] == [[adri.email]]
    body = outbox[0].body
    assert "Colour, RA-4" in outbox[0].subject and "Tara" in body and "Friday 25 December 2026" in body
    actions.revoke_sign_off(sign_off=given, now=now, by=tutor)
    send_due_notices(now=now, render=letters.render)
    assert len(outbox) == 2 and "Colour, RA-4" in outbox[1].subject


def test_one_query_asks_for_both(adri, house, needed, now):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as asked:
        list(Member.objects.annotate(**queries.missing_sign_offs(BOOTH, house.processes["rc"].pk, now)))
    assert len(asked) == 1
