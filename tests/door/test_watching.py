"""What the house sees to by itself: time that nobody came for, and who sits where the next begins."""

from datetime import timedelta

import pytest

from studiodesk import tasks
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold
from studiodesk.journal.models import Entry, Notice
from tests.door.world import at, book, rule


def released():
    return sorted(Booking.objects.filter(released_at__isnull=False).values_list("member__name", flat=True))


def test_nothing_is_given_back_where_the_house_has_no_rule_for_it(booked):
    assert actions.release_no_shows(now=at(16)) == 0 and released() == []


def test_the_time_of_whoever_does_not_come_is_given_back_after_so_many_minutes(house, people, booked):
    rule("no_show_minutes", 30)
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    assert actions.release_no_shows(now=at(14, 59)) == 0
    assert actions.release_no_shows(now=at(15)) == 1 and released() == ["Bente"]
    assert actions.release_no_shows(now=at(15, 1)) == 0
    assert not Hold.objects.filter(booking=booked["bente"], ends__gt=at(15)).exists()
    notice = Notice.objects.get(code="bookings.released")
    assert (notice.person, notice.due_at) == (people["bente"], at(15))
    # The station is free again: somebody who stands there can have it.
    again = book(house, people["cato"], "E2", at(15), at(17), by=people["sef"])
    assert again.starts == at(15)


def test_who_comes_later_than_that_is_told_that_it_was_given_back(people, booked):
    from tests.door.world import refused

    rule("no_show_minutes", 30)
    actions.release_no_shows(now=at(15))
    refused("bookings.released_before", actions.arrive, booking=booked["bente"], now=at(15, 5), by=people["bente"])


def test_the_past_of_a_file_and_what_is_only_offered_are_left_alone(house, people, booked):
    rule("no_show_minutes", 30)
    Booking.objects.filter(pk=booked["bente"].pk).update(source=Booking.Source.FILE)
    Booking.objects.filter(pk=booked["adri"].pk).update(offered_until=at(20))
    assert actions.release_no_shows(now=at(15, 30)) == 0 and released() == []


# ---- overruns: Adri has booth 1 until 17:00, Dirk from 17:15 --------------------------------------------------------


@pytest.fixture
def sits(people, booked):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    return booked["adri"]


def told():
    return [(notice.person.name, notice.due_at) for notice in Notice.objects.filter(code="bookings.overrun")]


def test_the_next_person_is_told_once_that_somebody_still_sits_there(people, booked, sits):
    for minute in range(60):
        actions.warn_of_overruns(now=at(16, 30) + timedelta(minutes=minute))
    assert told() == [("Dirk", at(17, 5))]
    entry = Entry.objects.get(code="bookings.overrun")
    assert entry.about_id == booked["dirk"].pk
    assert entry.facts == {"sits": sits.pk, "station": sits.station_id}


def test_nobody_is_told_if_the_place_is_empty_by_then(people, booked, sits):
    actions.leave(booking=sits, now=at(17, 4), by=people["adri"])
    assert actions.warn_of_overruns(now=at(17, 10)) == 0 and told() == []


def test_the_house_s_own_minutes_decide(booked, sits):
    rule("overrun_minutes", 3)
    assert actions.warn_of_overruns(now=at(17, 11)) == 0
    assert actions.warn_of_overruns(now=at(17, 12)) == 1


def test_a_booking_that_is_moved_and_again_has_to_wait_is_told_again(people, booked, sits):
    actions.warn_of_overruns(now=at(17, 5))
    new = actions.New(starts=at(17, 30), ends=at(20))
    actions.change(booking=booked["dirk"], new=new, now=at(17, 6), by=people["kim"])
    actions.warn_of_overruns(now=at(17, 20))
    assert [name for name, _due in told()] == ["Dirk", "Dirk"]


def test_a_tick_does_both_before_the_letters_go_out(people, booked, sits, outbox):
    order = list(tasks.CHORES)
    assert order.index("no-shows") < order.index("letters") > order.index("overruns")
    rule("no_show_minutes", 30)
    assert tasks.CHORES["overruns"](at(17, 10)) == 1
    assert tasks.CHORES["no-shows"](at(17, 10)) == 1  # Bente


def test_a_house_that_is_not_described_yet_has_nothing_to_see_to(db):
    assert actions.release_no_shows(now=at(15)) == 0 == actions.warn_of_overruns(now=at(15))


def test_the_letter_about_an_overrun_says_what_it_is_about(booked, sits, outbox, house):
    from studiodesk import letters
    from studiodesk.journal.actions import send_due_notices

    actions.warn_of_overruns(now=at(17, 10))
    Notice.objects.exclude(code="bookings.overrun").update(state=Notice.State.CALLED_OFF)
    send_due_notices(now=at(17, 10), render=letters.render, clock=lambda: at(17, 10))
    [mail] = outbox
    assert mail.to == [booked["dirk"].member.email] and "Booth 1" in mail.body and "17:15" in mail.body
