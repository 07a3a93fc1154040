"""A class has everything it needs, or nothing: announced, moved, called off, over members' bookings and closures."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import GroupStay, Hold, ZoneHold
from studiodesk.bookings.queries import groups
from studiodesk.classes import actions
from studiodesk.classes.models import Course, Meeting
from studiodesk.journal.models import Notice
from studiodesk.safety import actions as safety
from studiodesk.stations import actions as stations
from studiodesk.stations.rules import Shut
from tests import makers

from .making import HOUR, at, course, outline


def code_of(work) -> str:
    with pytest.raises(Refused) as refused:
        work()
    return refused.value.refusal.code


def kept() -> set[str]:
    return {
        hold.lane.resource.station.code if hold.lane.resource.sort == "station" else hold.lane.resource.processor.code
        for hold in Hold.objects.filter(cause="class").select_related("lane__resource")
    }


def book(house, now, station, span, who=None):
    who = who or makers.member("Guestless")
    return bookings.book(
        member=who,
        station=house.stations[station],
        process=house.processes["rc"] if station != "S1" else None,
        starts=span.starts,
        ends=span.ends,
        now=now,
        by=who,
    )


def test_two_booths_in_one_room_and_two_places_are_kept_with_preparation(house, now) -> None:
    made = course(house, now)
    stay = made.meetings.get().stay
    assert (stay.starts, stay.ends, stay.heads) == (at(now).starts, at(now).ends, 5)
    # The shared room has two booths and takes the class whole; the cubicles stay for others.
    assert kept() == {"E3", "E4", "P-RC"}
    holds = Hold.objects.filter(group=stay)
    assert {(h.starts, h.ends) for h in holds} == {(at(now).starts - HOUR / 2, at(now).ends + HOUR / 2)}
    assert holds.filter(lane__resource__processor__code="P-RC").count() == 2
    assert ZoneHold.objects.get().light == "safelight"
    assert made.decide_at == stay.starts - timedelta(days=3)


def test_one_booth_taken_and_another_set_is_chosen(house, now) -> None:
    book(house, now, "E3", at(now))
    course(house, now)
    assert "E3" not in kept() and len(kept() & {"E1", "E2", "E4"}) == 2


def test_without_room_for_all_nothing_is_kept_or_written(house, now) -> None:
    for station in ("E1", "E3", "E4"):
        book(house, now, station, at(now))
    before = Hold.objects.count()
    assert code_of(lambda: course(house, now)) == "bookings.no_room_for_group"
    assert (Course.objects.count(), GroupStay.objects.count(), Hold.objects.count()) == (0, 0, before)


def test_of_three_evenings_one_that_does_not_fit_keeps_all_three_from_being_made(house, now) -> None:
    book(house, now, "E1", at(now, 21))
    book(house, now, "E2", at(now, 21))
    book(house, now, "E3", at(now, 21))
    three = outline(house, now, meetings=3)
    evenings = [at(now, 14), at(now, 21), at(now, 28)]
    assert code_of(lambda: course(house, now, of=three, spans=evenings)) == "bookings.no_room_for_group"
    assert Hold.objects.filter(cause="class").count() == 0
    made = course(house, now, of=three, spans=[at(now, 14), at(now, 22), at(now, 28)])
    assert made.meetings.count() == 3 and Meeting.objects.count() == 3


def test_the_nearest_days_that_fit_are_named_and_really_do(house, now) -> None:
    for days in (14, 15):
        for station in ("E1", "E3", "E4"):
            book(house, now, station, at(now, days))
    # On Mondays the house is closed to members: staff may teach then, but it is not offered; the eighth is a closure.
    stations.set_closures(closures=[Shut(date(2026, 12, 8), date(2026, 12, 8), "Floor")])
    from studiodesk.classes.queries import wishes_for

    wishes = wishes_for(outline(house, now), [at(now)], 4)
    near = groups.nearest_days(wishes, now=now)
    assert near[:4] == [date(2026, 12, 11), date(2026, 12, 12), date(2026, 12, 6), date(2026, 12, 13)]
    assert date(2026, 12, 8) not in near
    for day in near:
        days = (day - at(now).starts.date()).days
        assert groups.fits(groups.moved_by_days(wishes, days, groups.Facts([], wishes[0].span).zone))[0].clashes == ()


def test_members_find_a_class_taken_and_its_room_in_its_light(house, now) -> None:
    course(house, now)
    assert code_of(lambda: book(house, now, "E3", at(now))) == "bookings.taken"
    who = makers.member("Colour")
    # E4 is free after the class has cleared up, but while it is in, the shared room is not for darkness.
    colour = {"process": house.processes["ra4"], "now": now, "by": who, "member": who}
    near = at(now, 14, 3.5)
    bookings.book(station=house.stations["E4"], starts=near.starts, ends=near.ends, **colour)


def test_a_class_and_members_together_are_never_more_than_the_house_holds(house, now) -> None:
    stations.describe_studio(
        name="Ostermill Darkroom", time_zone="Europe/Amsterdam", currency="EUR", grid_minutes=15, heads_at_once=6
    )
    course(house, now)  # four and the tutor
    book(house, now, "E1", at(now))
    assert code_of(lambda: book(house, now, "S1", at(now))) == "bookings.heads"
    assert code_of(lambda: course(house, now, of=outline(house, now, code="x", heads_most=6), days=15)) == (
        "bookings.no_room_for_group"
    )


def test_a_machine_that_is_put_on_for_a_class_is_warm_for_a_member_too(house, now) -> None:
    """At short notice a booking waits until the machine is warm, unless somebody has it put on before."""
    soon = at(now, 0, 0.25)
    assert code_of(lambda: book(house, now, "E1", soon)) == "bookings.not_warm"
    course(house, now, spans=[at(now, 0, 0.5)])  # prepared from now on
    book(house, now, "E1", at(now, 0, 0.5))


def test_a_class_moves_as_a_whole_or_stays_as_it_is(house, now) -> None:
    staff = makers.member("Staff", is_staff=True)
    made = course(house, now)
    for station in ("E1", "E2", "E3"):
        book(house, now, station, at(now, 15))
    before = set(Hold.objects.filter(cause="class").values_list("lane", "starts"))
    refused = lambda: actions.move_course(course=made, spans=[at(now, 15)], now=now, by=staff)  # noqa: E731
    assert code_of(refused) == "bookings.no_room_for_group"
    assert set(Hold.objects.filter(cause="class").values_list("lane", "starts")) == before
    # Half an hour later its own booths are in nobody's way, its own least of all.
    moved = actions.move_course(course=made, spans=[at(now, 14, 0.5)], now=now, by=staff)
    assert moved.meetings.get().stay.starts == at(now, 14, 0.5).starts
    assert (moved.sequence, moved.meetings.get().stay.sequence) == (1, 1)


def test_calling_off_gives_all_back_and_what_is_out_of_service_takes_it(house, now) -> None:
    staff = makers.member("Staff", is_staff=True)
    made = course(house, now)
    shut = bookings.shut(things=[house.stations["E3"]], span=at(now), reason="Lamp", cause="fault", now=now, by=staff)
    assert {h.cause for h in Hold.objects.filter(lane__resource=house.stations["E3"].resource_id)} == {"class"}
    actions.call_off_course(course=made, because="The tutor is ill", now=now, by=staff)
    assert Hold.objects.filter(cause="class").count() == 0 and ZoneHold.objects.count() == 0
    left = Hold.objects.get(lane__resource=house.stations["E3"].resource_id)
    assert (left.cause, left.outage_id) == ("fault", shut.outage.pk)
    again = actions.call_off_course(course=made, because="The tutor is ill", now=now, by=staff)
    assert again.sequence == 1


def test_reopening_a_station_takes_nothing_from_a_class(house, now) -> None:
    staff = makers.member("Staff", is_staff=True)
    course(house, now)
    before = Hold.objects.filter(cause="class").count()
    refused = lambda: bookings.reopen(thing=house.stations["E3"], span=at(now), now=now, by=staff)  # noqa: E731
    assert code_of(refused) == "bookings.not_closed"
    assert Hold.objects.filter(cause="class").count() == before


def test_a_tutor_is_signed_off_for_what_they_teach_and_in_one_place_at_a_time(house, now) -> None:
    manager = makers.member("Manager", is_staff=True, is_manager=True)
    need, _ = safety.set_sign_off_need(process=house.processes["rc"], now=now, by=manager)
    taught = outline(house, now, tutor_needs=[need])
    tutor = makers.member("Tutor", is_tutor=True)
    assert code_of(lambda: course(house, now, of=taught, tutor=tutor)) == "classes.tutor_not_signed_off"
    safety.give_sign_off(member=tutor, process=house.processes["rc"], now=now, by=manager)
    made = course(house, now, of=taught, tutor=tutor)
    talk = outline(house, now, code="talk", name="Talk", sort="talk", needs=[("scanning station", None, 1)])
    assert code_of(lambda: course(house, now, of=talk, tutor=tutor)) == "classes.tutor_elsewhere"
    assert code_of(lambda: course(house, now, of=talk, tutor=makers.member("Nobody"))) == "classes.not_a_tutor"
    ill = makers.member("Substitute", is_tutor=True)
    assert code_of(lambda: actions.set_tutor(course=made, tutor=ill, now=now, by=manager)) == (
        "classes.tutor_not_signed_off"
    )
    safety.give_sign_off(member=ill, process=house.processes["rc"], now=now, by=manager)
    actions.set_tutor(course=made, tutor=ill, now=now, by=manager)
    assert made.meetings.get().stay.led_by_id == ill.pk
    told = set(Notice.objects.filter(code__startswith="classes.you_teach").values_list("code", "person__name"))
    assert ("classes.you_teach_no_more", "Tutor") in told and ("classes.you_teach", "Substitute") in told


def test_a_room_kept_for_weeks_is_one_long_entry(house, now) -> None:
    show = outline(
        house,
        now,
        code="show",
        sort="room kept",
        needs=[("scanning station", None, 1)],
        heads_most=1,
        heads_least=1,
        before_minutes=0,
        after_minutes=0,
        process=None,
    )
    span = at(now)
    weeks = type(span)(span.starts, span.starts + timedelta(days=21))
    made = course(house, now, of=show, spans=[weeks])
    stay = made.meetings.get().stay
    assert (stay.starts, stay.ends, stay.heads) == (weeks.starts, weeks.ends, 0)
    assert Hold.objects.filter(group=stay).count() == 21
    assert code_of(lambda: book(house, now, "S1", at(now, 20))) == "bookings.taken"


def test_booths_with_a_light_are_kept_over_several_days_too(house, now) -> None:
    span = at(now)
    days = type(span)(span.starts, span.starts + timedelta(days=2, hours=5))
    course(house, now, spans=[days])
    lit = [(hold.starts, hold.ends) for hold in ZoneHold.objects.order_by("starts")]
    assert (lit[0][0], lit[-1][1], len(lit)) == (days.starts, days.ends, 3)


def test_staff_plan_and_tutors_what_they_teach(house, now) -> None:
    tutor = makers.member("Tutor", is_tutor=True)
    of = outline(house, now)
    plan = lambda by: actions.announce(outline=of, spans=[at(now)], tutor=None, now=now, by=by)  # noqa: E731
    assert code_of(lambda: plan(tutor)) == "classes.staff_plan"
    own = actions.announce(outline=of, spans=[at(now, 13)], tutor=tutor, now=now, by=tutor)
    assert own.tutor_id == tutor.pk
    other = makers.member("Other", is_tutor=True)
    assert code_of(lambda: actions.decide(course=own, goes=True, now=now, by=other)) == "classes.staff_plan"
    assert plan(makers.member("Staff", is_staff=True)).tutor is None


def test_the_same_outline_twice_is_written_once(house, now) -> None:
    first = outline(house, now)
    says = {"name": "First prints", "heads_most": 4, "heads_least": 2, "length_minutes": 180}
    needs = [("enlarger booth", house.processes["rc"], None), ("", house.processes["rc"], None)]
    again = actions.write_outline(code=first.code, says=says, needs=needs, papers=[(203, 254, 4)], now=now, by=None)
    assert again == (first, False)
    assert code_of(lambda: actions.write_outline(code="y", says=says, needs=[("loom", None, 1)], now=now, by=None)) == (
        "classes.no_such_kind"
    )
