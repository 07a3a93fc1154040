"""Groups that hire: everything or nothing is kept, enough look after them, they shrink and grow, and are told."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import pytest

from studiodesk import tasks
from studiodesk.bookings.models import GroupStay, Hold, ZoneHold
from studiodesk.classes import actions, queries
from studiodesk.classes.models import Course, Hire, Outline, Seat
from studiodesk.classes.queries.hires import ALL, NEEDED, AskedHire, needs_of, wanted_of
from studiodesk.classes.rules.hires import Group
from studiodesk.journal.models import Entry, Notice
from studiodesk.stations import actions as stations
from studiodesk.stations.rules import Shut
from studiodesk.timekeeping import Span
from tests import makers

from .making import at
from .test_dates import book, code_of, kept

SCHOOL = Group("Vlietschool", "Noor Vos", "noor@example.org", "+31 6 1234567", 6, 1, 8)


@pytest.fixture
def staff(db):
    return makers.member("Staff", is_staff=True)


def asked(house, now, *, group=SCHOOL, kinds=None, processes=None, **more):
    """Six pupils, two at a booth, with a place at the RC processor for each booth."""
    rc = house.processes["rc"]
    kinds = {"enlarger booth": NEEDED} if kinds is None else kinds
    processes = {rc: NEEDED} if processes is None else processes
    plain = {"spans": [at(now)], "process": rc, "heads_a_station": 2, "needs": needs_of(kinds, processes, rc)}
    return AskedHire(group=group, **{**plain, **more})


def hired(house, now, staff, **more) -> Hire:
    return actions.hire(asked=asked(house, now, **more), now=now, by=staff)


def test_what_they_need_is_kept_and_the_contact_is_told(house, now, staff, outbox) -> None:
    row = hired(house, now, staff)
    stay = row.course.meetings.get().stay
    # Six at two a booth are three booths; with them are one who looks after them and one of the house.
    assert (stay.sort, stay.heads, stay.shows_title, stay.title) == ("hire", 8, False, "Vlietschool")
    assert len(kept() & {"E1", "E2", "E3", "E4"}) == 3 and "P-RC" in kept()
    assert set(ZoneHold.objects.values_list("light", flat=True)) == {"safelight"}
    assert (row.course.is_private, row.course.heads_most) == (True, 6)
    outline = row.course.outline
    assert outline.retired_at == outline.made_at and not queries.outlines().exists()
    assert not queries.public_ahead(now).exists()
    tasks.CHORES["letters"](now)
    assert outbox[-1].to == ["noor@example.org"] and "Hello Noor Vos," in outbox[-1].body
    assert "For 6 people, and 1 who looks after them" in outbox[-1].body and "Booth" in outbox[-1].body


def test_too_few_supervisors_no_address_nothing_to_keep_and_nobody_but_staff(house, now, staff) -> None:
    good = asked(house, now)

    def code(by=staff, needs=good.needs, **change):
        group = dataclasses.replace(SCHOOL, **change)
        return code_of(lambda: actions.hire(asked=dataclasses.replace(good, group=group, needs=needs), now=now, by=by))

    assert code(heads=9) == "classes.too_few_supervisors"
    assert code(contact_email="") == "classes.hire_no_contact"
    assert code(heads=0) == "classes.hire_no_heads"
    assert code(needs=[]) == "classes.nothing_to_keep"
    assert code(needs=[("loom", None, 1)]) == "classes.no_such_kind"
    assert code(by=makers.member("Tutor", is_tutor=True)) == "classes.staff_hire_out"
    assert (Hire.objects.count(), Course.objects.count(), Outline.objects.count(), Hold.objects.count()) == (0,) * 4
    assert actions.hire(asked=good, now=now, by=staff).heads == 6


def test_the_whole_house_is_everything_whatever_it_does_and_one_booking_stops_all_of_it(house, now, staff) -> None:
    whole = {
        "kinds": {"enlarger booth": ALL, "scanning station": ALL},
        "processes": {house.processes["rc"]: ALL, house.processes["ra4"]: ALL},
    }
    book(house, now, "S1", at(now, 21))
    two = [at(now, 14), at(now, 21)]
    assert code_of(lambda: hired(house, now, staff, spans=two, **whole)) == "bookings.no_room_for_group"
    assert (Hire.objects.count(), GroupStay.objects.count(), Outline.objects.count()) == (0, 0, 0)
    row = hired(house, now, staff, spans=[at(now, 14), at(now, 22)], **whole)
    assert kept() == {"E1", "E2", "E3", "E4", "S1", "P-RC", "P-CO"}
    assert Hold.objects.filter(lane__resource__processor__isnull=False).count() == 2 * (4 + 2)
    assert code_of(lambda: book(house, now, "S1", at(now, 22))) == "bookings.taken"
    kinds, processes = wanted_of(row)
    assert set(kinds.values()) | set(processes.values()) == {ALL} and len(kinds) == len(processes) == 2


def test_all_booths_for_colour_are_kept_though_one_of_them_does_none(house, now, staff) -> None:
    colour = house.processes["ra4"]
    needs = needs_of({"enlarger booth": ALL, "scanning station": 1}, {}, colour)
    assert needs == [("enlarger booth", colour, 3), ("enlarger booth", None, 1), ("scanning station", None, 1)]
    hired(house, now, staff, needs=needs, process=colour)
    assert kept() == {"E1", "E2", "E3", "E4", "S1"}
    assert ZoneHold.objects.get().light == "total darkness"


def test_a_group_shrinks_and_grows_with_its_stations_at_the_same_times(house, now, staff) -> None:
    row = hired(house, now, staff)
    span = at(now)
    assert len(kept()) == 4
    two = dataclasses.replace(SCHOOL, heads=2)
    smaller = actions.change_hire(hire=row, group=two, now=now, by=staff)
    stay = smaller.course.meetings.get().stay
    assert (smaller.heads, smaller.course.heads_most, stay.heads, len(kept())) == (2, 2, 4, 2)
    assert (stay.starts, stay.ends) == (span.starts, span.ends)
    assert Hold.objects.filter(lane__resource__processor__code="P-RC").count() == 1
    # One booth is somebody else's now: eight people would need all four.
    taken = next(code for code in ("E1", "E2", "E3", "E4") if code not in kept())
    book(house, now, taken, span)
    before = set(Hold.objects.values_list("lane", "starts"))
    eight = dataclasses.replace(SCHOOL, heads=8)
    assert code_of(lambda: actions.change_hire(hire=row, group=eight, now=now, by=staff)) == (
        "bookings.no_room_for_group"
    )
    row.refresh_from_db()
    assert (row.heads, set(Hold.objects.values_list("lane", "starts"))) == (2, before)
    grown = actions.change_hire(hire=row, group=dataclasses.replace(SCHOOL, heads=5), now=now, by=staff)
    assert (grown.heads, len(kept() & {"E1", "E2", "E3", "E4"})) == (5, 3)


def test_the_ratio_holds_for_those_who_come_now(house, now, staff) -> None:
    row = hired(house, now, staff)
    nine = dataclasses.replace(SCHOOL, heads=9)
    change = lambda group: actions.change_hire(hire=row, group=group, now=now, by=staff)  # noqa: E731
    assert code_of(lambda: change(nine)) == "classes.too_few_supervisors"
    assert code_of(lambda: change(dataclasses.replace(SCHOOL, heads_a_supervisor=5))) == "classes.too_few_supervisors"
    assert change(dataclasses.replace(SCHOOL, heads=5, heads_a_supervisor=5)).heads_a_supervisor == 5


def test_fewer_people_are_never_refused_though_the_day_was_closed_since(house, now, staff) -> None:
    row = hired(house, now, staff)
    before = kept()
    stations.set_closures(closures=[Shut(at(now).starts.date(), at(now).starts.date(), "Floor")])
    actions.change_hire(hire=row, group=dataclasses.replace(SCHOOL, heads=4), now=now, by=staff)
    assert (row.course.meetings.get().stay.heads, kept()) == (6, before)
    more = dataclasses.replace(SCHOOL, heads=5)
    assert code_of(lambda: actions.change_hire(hire=row, group=more, now=now, by=staff)) == "bookings.no_room_for_group"


def test_other_things_are_kept_instead_and_a_corrected_address_gets_what_stands(house, now, staff, outbox) -> None:
    row = hired(house, now, staff)
    right = dataclasses.replace(SCHOOL, contact_email="n.vos@example.org")
    needs = needs_of({"scanning station": ALL}, {})
    actions.change_hire(hire=row, group=right, needs=needs, now=now, by=staff)
    assert kept() == {"S1"} and not ZoneHold.objects.exists()
    tasks.CHORES["letters"](now)
    assert [(one.to, one.subject.split(":")[0]) for one in outbox] == [(["n.vos@example.org"], "Changed")]
    assert "Scanning station" in outbox[0].body
    same = actions.change_hire(hire=row, group=right, needs=needs, now=now, by=staff)
    assert same.course.sequence == 1 and Entry.objects.filter(code="classes.hire_changed").count() == 1


def test_once_the_last_date_has_begun_only_the_contact_can_be_corrected(house, now, staff) -> None:
    row = hired(house, now, staff)
    then = at(now).starts + timedelta(hours=1)
    fewer = dataclasses.replace(SCHOOL, heads=2)
    assert code_of(lambda: actions.change_hire(hire=row, group=fewer, now=then, by=staff)) == "classes.hire_has_begun"
    other = dataclasses.replace(SCHOOL, contact_name="Wim Vos")
    assert actions.change_hire(hire=row, group=other, now=then, by=staff).contact_name == "Wim Vos"


def test_a_quote_is_mailed_agreed_to_once_and_another_one_wants_another_yes(house, now, staff, outbox) -> None:
    row = hired(house, now, staff)
    assert code_of(lambda: actions.agree(hire=row, now=now, by=staff)) == "classes.no_quote"
    terms = "Within 30 days.\nFree until a week before."
    actions.quote(hire=row, amount_minor=10_000, terms="Mistyped", now=now, by=staff)
    actions.quote(hire=row, amount_minor=24_050, terms=terms, now=now, by=staff)
    tasks.CHORES["letters"](now)
    quotes = [one for one in outbox if one.subject.startswith("A quote")]
    assert len(quotes) == 1 and "240.50" in quotes[0].body and terms in quotes[0].body
    first = actions.agree(hire=row, now=now, by=staff)
    again = actions.agree(hire=row, now=now + timedelta(hours=1), by=staff)
    assert first.agreed_at == again.agreed_at == now
    assert Notice.objects.filter(code="classes.hire_agreed").count() == 1
    assert actions.quote(hire=row, amount_minor=24_050, terms=terms, now=now, by=staff).agreed_at == now
    assert actions.quote(hire=row, amount_minor=20_000, terms=terms, now=now, by=staff).agreed_at is None
    tutor = makers.member("Tutor", is_tutor=True)
    assert code_of(lambda: actions.quote(hire=row, amount_minor=1, terms="", now=now, by=tutor)) == (
        "classes.staff_hire_out"
    )
    # No word of anybody stands in the journal.
    assert not any("Vlietschool" in str(facts) or "30 days" in str(facts) for facts in _facts())


def _facts():
    return Entry.objects.values_list("facts", flat=True)


def test_moving_and_calling_off_are_told_and_what_waits_is_not_said_any_more(house, now, staff, outbox) -> None:
    row = hired(house, now, staff)
    actions.move_course(course=row.course, spans=[at(now, 15)], now=now, by=staff)
    stay = row.course.meetings.get().stay
    assert (stay.starts, stay.heads, len(kept())) == (at(now, 15).starts, 8, 4)
    actions.call_off_course(course=row.course, because="No water", now=now, by=staff)
    assert not Hold.objects.exists()
    tasks.CHORES["letters"](now)
    assert [(one.to, one.subject.split(":")[0]) for one in outbox] == [(["noor@example.org"], "Called off")]
    assert "Why: No water" in outbox[0].body
    for act in (
        lambda: actions.quote(hire=row, amount_minor=1, terms="", now=now, by=staff),
        lambda: actions.agree(hire=row, now=now, by=staff),
        lambda: actions.change_hire(hire=row, group=SCHOOL, now=now, by=staff),
    ):
        assert code_of(act) == "classes.hire_off"


def test_pupils_sign_up_by_the_private_link_and_a_group_that_grows_has_seats_for_them(house, now, staff) -> None:
    row = hired(house, now, staff, group=dataclasses.replace(SCHOOL, heads=2))
    actions.sign_up(course=row.course, heads=2, name="Pupils", email="p@example.org", now=now)
    waits = actions.sign_up(course=row.course, heads=1, name="Late", email="l@example.org", now=now, wait=True)
    assert waits.state == "waiting"
    actions.change_hire(hire=row, group=SCHOOL, now=now, by=staff)
    waits.refresh_from_db()
    assert (waits.state, Seat.objects.count()) == ("offered", 3)


def test_a_room_kept_for_six_weeks_is_one_long_entry_with_nobody_in_it(house, now, staff) -> None:
    weeks = Span(at(now).starts, at(now).starts + timedelta(weeks=6))
    row = hired(house, now, staff, sort="room kept", spans=[weeks], kinds={"scanning station": 1}, processes={})
    stay = row.course.meetings.get().stay
    assert (stay.sort, stay.starts, stay.ends, stay.heads) == ("room kept", weeks.starts, weeks.ends, 0)
    assert Hold.objects.filter(group=stay).count() == 42
    assert code_of(lambda: book(house, now, "S1", at(now, 14 + 41))) == "bookings.taken"
    later = Span(weeks.starts + timedelta(days=1), weeks.ends + timedelta(days=1))
    actions.move_course(course=row.course, spans=[later], now=now, by=staff)
    assert row.course.meetings.get().stay.ends == later.ends


def test_a_contact_is_taken_out_once_it_is_over(house, now, staff, outbox) -> None:
    row = hired(house, now, staff)
    assert code_of(lambda: actions.forget_contact(hire=row, now=now, by=staff)) == "classes.hire_stands"
    over = at(now).ends
    gone = actions.forget_contact(hire=row, now=over, by=staff)
    assert (gone.contact_name, gone.contact_email, gone.contact_phone, gone.organisation) == ("", "", "", "Vlietschool")
    actions.forget_contact(hire=row, now=over, by=staff)
    assert Entry.objects.filter(code="classes.hire_contact_forgotten").count() == 1
    tasks.CHORES["letters"](over)
    assert outbox == []
