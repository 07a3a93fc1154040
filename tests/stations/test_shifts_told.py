"""Shifts that nobody has, and the letters about shifts."""

from datetime import timedelta

from django.utils import timezone
from django.utils.formats import date_format

from studiodesk import letters, tasks
from studiodesk.journal.actions import send_due_notices
from studiodesk.journal.models import Notice
from studiodesk.people.actions import set_standing
from studiodesk.stations import actions, queries
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import Span
from tests import makers
from tests.shifting import entries, told

HOUR = timedelta(hours=1)


def test_keyholders_and_staff_are_told_of_an_uncovered_shift_at_seven_days_and_at_48_hours_each_once(crew, now):
    makers.member("Gone", is_keyholder=True, is_active=False)
    starts = now + timedelta(days=9)
    shift = actions.add_shift(span=Span(starts, starts + 8 * HOUR), now=now, by=crew["sef"])
    found = [
        actions.flag_uncovered(now=starts - timedelta(hours=hours)) for hours in (170, 168, 167, 60, 48, 47, 1, -1)
    ]
    assert found == [0, 1, 0, 0, 1, 0, 0, 0]
    assert told("stations.shift_open_7d") == told("stations.shift_open_48h") == ["Kim", "Sef"]
    assert entries(shift)[1:] == ["stations.shift_open_7d", "stations.shift_open_48h"]


def test_a_shift_that_comes_up_within_48_hours_is_told_of_once_and_a_covered_or_called_off_one_never(shifts, crew, now):
    actions.take_shift(shift=shifts[1], now=now, by=crew["kim"])
    actions.call_off(shift=shifts[2], now=now, by=crew["sef"])
    # Thursday is within 48 hours, Saturday is called off, Sunday to Wednesday without Monday are within seven days.
    assert tasks.CHORES["shifts"](now) == 4
    assert entries(shifts[0]) == ["stations.shift_open_48h"]
    assert Notice.objects.filter(code="stations.shift_open_7d").count() == 3 * 2
    assert tasks.CHORES["shifts"](now) == 0
    assert list(tasks.CHORES).index("shifts") < list(tasks.CHORES).index("letters")


def test_the_desk_s_list_ends_with_seven_days(shifts, now):
    assert [one.pk for one in queries.uncovered(now)] == [one.pk for one in shifts[:6]]


def test_every_letter_about_a_shift_says_which_with_its_time_and_where_it_stands(shifts, crew, now, outbox):
    kim, toos, sef = crew["kim"], crew["toos"], crew["sef"]
    actions.flag_uncovered(now=now)
    actions.take_shift(shift=shifts[3], now=now, by=toos)
    actions.give_back(shift=shifts[3], now=now, by=toos)
    actions.assign(shift=shifts[3], person=kim, now=now, by=sef)
    actions.ask_swap(shift=shifts[3], now=now, by=kim)
    actions.take_over(shift=shifts[3], now=now, by=toos)
    actions.assign(shift=shifts[3], person=kim, now=now, by=sef)
    actions.call_off(shift=shifts[3], now=now, by=sef)
    codes = set(Notice.objects.values_list("code", flat=True))
    assert codes == {
        f"stations.{name}"
        for name in (
            "shift_open_7d", "shift_open_48h", "shift_given_back", "shift_moved", "shift_assigned", "shift_called_off",
            "swap_asked", "swap_taken",
        )
    }  # fmt: skip
    for notice in Notice.objects.select_related("entry", "person"):
        letter = letters.render(notice, True)
        assert date_format(timezone.localtime(queries.shift(notice.entry.about_id).starts), "l j F Y") in letter.subject
        assert "10:00 to 22:00" in letter.body and f"/shifts/{notice.entry.about_id}/" in letter.body
        assert f"Hello {notice.person.name}," in letter.body and "twice" in letter.body
    asked = Notice.objects.filter(code="stations.swap_asked").first()
    assert "Kim asks that somebody takes this shift over" in letters.render(asked, False).body
    taken = Notice.objects.get(code="stations.swap_taken")
    assert "Toos has it now" in letters.render(taken, False).body
    assert send_due_notices(now=now + HOUR, render=letters.render).failed == 0
    given = letters.render(Notice.objects.filter(code="stations.shift_given_back").first(), False)
    assert "closed" not in given.body
    Studio.objects.update(opens_by_shifts=True)
    given = letters.render(Notice.objects.filter(code="stations.shift_given_back").first(), False)
    assert "Until somebody takes it the house is closed" in given.body


def test_whoever_leaves_is_written_to_no_more(shifts, crew, now):
    actions.take_shift(shift=shifts[3], now=now, by=crew["kim"])
    set_standing(person=crew["kim"], is_active=False, now=now, by=crew["sef"])
    actions.call_off(shift=shifts[3], now=now, by=crew["sef"])
    assert told("stations.shift_called_off") == []
