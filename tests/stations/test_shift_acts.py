"""Taking shifts, giving them away, handing over, calling off: what is written and who is told."""

from datetime import UTC, datetime, timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.journal.models import Entry
from studiodesk.stations import actions, queries
from studiodesk.stations.models import Shift, ShiftSwap, Studio
from studiodesk.timekeeping import Span
from tests import makers
from tests.shifting import entries, refused, told

HOUR = timedelta(hours=1)


def test_two_weeks_are_planned_once_with_one_entry_and_a_second_time_nothing_is(shifts, crew, now):
    assert len(shifts) == 11 and shifts[0].starts == datetime(2026, 11, 26, 9, tzinfo=UTC)
    assert all(one.person is None for one in shifts)
    assert actions.plan_shifts(first=now.date(), weeks=2, now=now, by=crew["sef"]) == []
    assert Entry.objects.get(code="stations.shifts_planned").facts["shifts"] == 11
    assert len(actions.plan_shifts(first=now.date(), weeks=3, now=now, by=crew["sef"])) == 6
    assert refused(actions.plan_shifts, first=now.date(), weeks=3, now=now, by=crew["kim"]) == "stations.staff_only"


def test_a_shift_of_its_own_stands_where_another_does_but_not_in_the_past_nor_for_days(shifts, crew, now):
    same = Span(shifts[0].starts, shifts[0].ends)
    assert actions.add_shift(span=same, now=now, by=crew["sef"]).person is None
    past = Span(now - HOUR, now + HOUR)
    assert refused(actions.add_shift, span=past, now=now, by=crew["sef"]) == "stations.shift_in_the_past"
    long = Span(now, now + 25 * HOUR)
    assert refused(actions.add_shift, span=long, now=now, by=crew["sef"]) == "stations.shift_too_long"
    assert refused(actions.add_shift, span=same, now=now, by=crew["kim"]) == "stations.staff_only"
    assert Shift.objects.count() == len(shifts) + 1


def test_a_called_off_shift_is_not_planned_anew(shifts, crew, now):
    actions.call_off(shift=shifts[0], now=now, by=crew["sef"])
    assert actions.plan_shifts(first=now.date(), weeks=2, now=now, by=crew["sef"]) == []


def test_the_first_who_takes_a_shift_has_it_and_pressing_twice_takes_it_once(shifts, crew, now):
    for _ in range(2):
        actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert Shift.objects.get(pk=shifts[0].pk).person == crew["kim"]
    assert entries(shifts[0]) == ["stations.shift_taken_by"]
    # Whoever looked at a page from before is told, whatever their row in memory says.
    assert refused(actions.take_shift, shift=shifts[0], now=now, by=crew["toos"]) == "stations.shift_taken"
    assert refused(actions.take_shift, shift=shifts[1], now=now, by=crew["adri"]) == "stations.no_shifts_for"


def test_what_is_given_back_has_nobody_and_everybody_else_who_may_hold_shifts_is_told(shifts, crew, now):
    actions.take_shift(shift=shifts[3], now=now, by=crew["toos"])
    actions.set_supervises(shift=shifts[3], supervises=True, now=now, by=crew["toos"])
    actions.ask_swap(shift=shifts[3], now=now, by=crew["toos"])
    actions.give_back(shift=shifts[3], now=now, by=crew["toos"])
    row = Shift.objects.get(pk=shifts[3].pk)
    assert row.person is None and not row.supervises
    assert told("stations.shift_given_back") == ["Kim", "Sef"]
    assert ShiftSwap.objects.get().settled_at == now and ShiftSwap.objects.get().taken_by is None


def test_within_48_hours_only_staff_take_a_shift_off_somebody_who_is_told(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert refused(actions.give_back, shift=shifts[0], now=now, by=crew["kim"]) == "stations.shift_too_near"
    assert Shift.objects.get(pk=shifts[0].pk).person == crew["kim"] and told("stations.shift_given_back") == []
    actions.give_back(shift=shifts[0], now=now, by=crew["sef"])
    assert told("stations.shift_given_back") == ["Toos"] and told("stations.shift_moved") == ["Kim"]


def test_a_swap_is_asked_once_taken_over_and_whoever_asked_is_told(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert refused(actions.take_over, shift=shifts[0], now=now, by=crew["toos"]) == "stations.swap_is_over"
    for _ in range(2):
        actions.ask_swap(shift=shifts[0], now=now, by=crew["kim"])
    assert told("stations.swap_asked") == ["Sef", "Toos"]
    for _ in range(2):
        actions.take_over(shift=shifts[0], now=now, by=crew["toos"])
    assert Shift.objects.get(pk=shifts[0].pk).person == crew["toos"]
    assert told("stations.swap_taken") == ["Kim"]
    assert refused(actions.take_over, shift=shifts[0], now=now, by=crew["sef"]) == "stations.swap_is_over"
    swap = ShiftSwap.objects.get()
    assert (swap.asked_by, swap.taken_by, swap.settled_at) == (crew["kim"], crew["toos"], now)


def test_whoever_asked_may_keep_their_shift_after_all_and_nobody_else_decides_that(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    actions.ask_swap(shift=shifts[0], now=now, by=crew["kim"])
    assert refused(actions.withdraw_swap, shift=shifts[0], now=now, by=crew["toos"]) == "stations.shift_not_yours"
    for _ in range(2):
        actions.withdraw_swap(shift=shifts[0], now=now, by=crew["kim"])
    assert refused(actions.take_over, shift=shifts[0], now=now, by=crew["toos"]) == "stations.swap_is_over"
    actions.ask_swap(shift=shifts[0], now=now, by=crew["kim"])  # and may ask again
    assert queries.open_swaps(shifts)[shifts[0].pk].asked_by == crew["kim"]


def test_staff_put_somebody_down_and_both_are_told(shifts, crew, now):
    actions.assign(shift=shifts[0], person=crew["kim"], now=now, by=crew["sef"])
    actions.ask_swap(shift=shifts[0], now=now, by=crew["kim"])
    actions.assign(shift=shifts[0], person=crew["toos"], now=now, by=crew["sef"])
    assert told("stations.shift_assigned") == ["Kim", "Toos"] and told("stations.shift_moved") == ["Kim"]
    assert ShiftSwap.objects.get().taken_by == crew["toos"]
    with pytest.raises(Refused) as caught:
        actions.assign(shift=shifts[0], person=crew["adri"], now=now, by=crew["sef"])
    assert caught.value.refusal.facts == {"name": "Adri"}
    assert refused(actions.assign, shift=shifts[0], person=crew["kim"], now=now, by=crew["toos"]) == (
        "stations.staff_only"
    )


def test_nobody_gets_two_shifts_at_one_time_from_anybody(shifts, crew, now):
    twin = actions.add_shift(span=Span(shifts[0].starts + HOUR, shifts[0].ends + HOUR), now=now, by=crew["sef"])
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert refused(actions.take_shift, shift=twin, now=now, by=crew["kim"]) == "stations.shifts_overlap"
    assert refused(actions.assign, shift=twin, person=crew["kim"], now=now, by=crew["sef"]) == (
        "stations.shifts_overlap"
    )
    actions.call_off(shift=shifts[0], now=now, by=crew["sef"])
    assert actions.take_shift(shift=twin, now=now, by=crew["kim"]).person == crew["kim"]


def test_beginners_are_helped_only_while_a_tutor_or_staff_has_the_shift(shifts, crew, now):
    whole = Span(shifts[0].starts, shifts[2].ends)
    for shift in shifts[:2]:
        actions.take_shift(shift=shift, now=now, by=crew["toos"])
        actions.set_supervises(shift=shift, supervises=True, now=now, by=crew["toos"])
    assert queries.supervised_spans(whole) == [Span(one.starts, one.ends) for one in shifts[:2]]
    assert queries.supervised_spans(Span(shifts[0].starts, shifts[0].ends)) == [Span(shifts[0].starts, shifts[0].ends)]
    # A keyholder who takes it over does not help beginners; staff who do, still do.
    actions.assign(shift=shifts[0], person=crew["kim"], now=now, by=crew["sef"])
    actions.assign(shift=shifts[1], person=crew["sef"], now=now, by=crew["sef"])
    assert queries.supervised_spans(whole) == [Span(shifts[1].starts, shifts[1].ends)]
    assert refused(actions.set_supervises, shift=shifts[0], supervises=True, now=now, by=crew["sef"]) == (
        "stations.cannot_supervise"
    )
    actions.set_supervises(shift=shifts[1], supervises=False, now=now, by=crew["sef"])
    assert queries.supervised_spans(whole) == []


def test_spans_of_help_that_touch_are_one(shifts, crew, now):
    later = actions.add_shift(span=Span(shifts[0].ends, shifts[0].ends + HOUR), now=now, by=crew["sef"])
    for shift in (shifts[0], later):
        actions.take_shift(shift=shift, now=now, by=crew["toos"])
        actions.set_supervises(shift=shift, supervises=True, now=now, by=crew["toos"])
    over = Span(shifts[0].ends - HOUR, later.ends)
    assert queries.supervised_spans(over) == [Span(shifts[0].starts, later.ends)]


def test_a_house_that_opens_by_shifts_is_open_while_one_is_covered_and_closes_when_it_is_called_off(shifts, crew, now):
    Studio.objects.update(opens_by_shifts=True)
    day = shifts[0].starts.date()
    assert queries.opening(day) == []
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert queries.opening(day) == [Span(shifts[0].starts, shifts[0].ends)]
    for _ in range(2):
        actions.call_off(shift=shifts[0], now=now, by=crew["sef"])
    assert queries.opening(day) == [] and told("stations.shift_called_off") == ["Kim"]
    assert refused(actions.call_off, shift=shifts[1], now=now, by=crew["kim"]) == "stations.staff_only"
    assert refused(actions.take_shift, shift=shifts[0], now=now, by=crew["toos"]) == "stations.shift_called_off"
    actions.put_back(shift=shifts[0], now=now, by=crew["sef"])
    assert actions.take_shift(shift=shifts[0], now=now, by=crew["toos"]).person == crew["toos"]


def test_a_shift_begins_and_ends_when_it_is_said_and_its_note_is_the_last_one_written(shifts, crew, now):
    shift, kim = actions.take_shift(shift=shifts[0], now=now, by=crew["kim"]), crew["kim"]
    assert refused(actions.begin_shift, shift=shift, now=now, by=kim) == "stations.shift_not_yet"
    began, ended = shift.starts - timedelta(minutes=10), shift.ends + timedelta(minutes=20)
    assert refused(actions.end_shift, shift=shift, now=ended, by=kim) == "stations.shift_not_begun"
    for minutes in (0, 5):
        actions.begin_shift(shift=shift, now=began + timedelta(minutes=minutes), by=kim)
        actions.end_shift(shift=shift, now=ended + timedelta(minutes=minutes), by=kim)
    row = Shift.objects.get(pk=shift.pk)
    assert (row.began_at, row.ended_at) == (began, ended)
    assert refused(actions.hand_over, shift=shift, note="  ", now=ended, by=kim) == "stations.note_is_empty"
    actions.hand_over(shift=shift, note="Fixer runs out.", now=ended, by=kim)
    actions.hand_over(shift=shift, note=" Fixer runs out.\nTap drips. ", now=ended + HOUR, by=kim)
    row.refresh_from_db()
    assert row.hand_over == "Fixer runs out.\nTap drips." and row.handed_over_at == ended + HOUR
    assert all("Fixer" not in str(entry.facts) for entry in Entry.objects.all())  # no free text in the journal
    assert entries(shift)[-2:] == ["stations.handed_over"] * 2


def test_a_note_is_read_by_staff_its_writer_and_whoever_has_the_next_shift(shifts, crew, now):
    kim, toos, third = crew["kim"], crew["toos"], makers.member("Wil", is_keyholder=True)
    shift = actions.take_shift(shift=shifts[0], now=now, by=kim)
    actions.hand_over(shift=shift, note="Tap drips.", now=shift.ends, by=kim)
    noted = queries.last_note()
    assert noted == shift
    assert [queries.may_read_note(who, noted) for who in (kim, crew["sef"], toos, third)] == [True, True, False, False]
    actions.take_shift(shift=shifts[2], now=now, by=third)
    actions.take_shift(shift=shifts[1], now=now, by=toos)
    assert [queries.may_read_note(who, noted) for who in (toos, third)] == [True, False]


def test_somebody_is_on_their_shift_from_half_an_hour_before_until_half_an_hour_after(shifts, crew, now):
    shift, kim = actions.take_shift(shift=shifts[0], now=now, by=crew["kim"]), crew["kim"]
    half, second = timedelta(minutes=30), timedelta(seconds=1)
    edges = [shift.starts - half - second, shift.starts - half, shift.ends + half - second, shift.ends + half]
    assert [queries.is_on_shift(kim, at) for at in edges] == [False, True, True, False]
    assert not queries.is_on_shift(crew["toos"], shift.starts)
    assert queries.on_now(shift.starts) == [shift] and queries.on_now(shift.ends) == []
    assert queries.next_shift(now) == shifts[0] and queries.next_shift(shift.starts) == shifts[1]
    actions.call_off(shift=shift, now=now, by=crew["sef"])
    assert not queries.is_on_shift(kim, shift.starts) and queries.next_shift(now) == shifts[1]
