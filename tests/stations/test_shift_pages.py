"""The pages of whoever opens the house: the weeks, one shift, planning, handing over, calling off; and the desk."""

from datetime import timedelta

import pytest
import time_machine

from studiodesk.bookings.models import Booking
from studiodesk.stations import actions
from studiodesk.stations.models import Shift, Studio
from tests import makers
from tests.desk.evening import at, book, client_of, text
from tests.shifting import planned


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def crew(house, clock):
    return {
        "kim": makers.member("Kim", is_keyholder=True),
        "toos": makers.member("Toos", is_tutor=True),
        "sef": makers.member("Sef", is_staff=True),
        "adri": makers.member("Adri"),
    }


@pytest.fixture
def shifts(crew, now):
    return planned(now, by=crew["sef"])


def press(who, shift, deed, **fields):
    return client_of(who).post(f"/shifts/{shift.pk}/", {"deed": deed, **fields}, follow=True)


def person_of(shift):
    return Shift.objects.get(pk=shift.pk).person


def test_the_weeks_say_who_has_which_in_words_and_members_do_not_see_them(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    said = text(client_of(crew["kim"]).get("/shifts/"))
    assert "Week of Monday 23 November 2026" in said and "Week of Monday 30 November 2026" in said
    assert "Thu 26 Nov, 10:00 to 22:00 · yours" in said
    assert "Fri 27 Nov, 10:00 to 22:00 · uncovered: nobody has it yet Take this shift: Fri 27 Nov" in said
    assert "Thu 26 Nov, 10:00 to 22:00 · Kim" in text(client_of(crew["toos"]).get("/shifts/"))
    assert "Plan the weeks to come" in text(client_of(crew["sef"]).get("/shifts/")) and "Plan" not in said
    for path in ("/shifts/", f"/shifts/{shifts[0].pk}/", f"/shifts/{shifts[0].pk}/hand-over/"):
        assert client_of(crew["adri"]).get(path).status_code == 403
    assert "Shifts" in said and "Shifts" not in text(client_of(crew["adri"]).get("/"))


def test_the_list_goes_on_to_other_weeks_and_bears_any_day(shifts, crew):
    client = client_of(crew["kim"])
    assert "No shift is planned in these weeks." in text(client.get("/shifts/?from=2026-12-21"))
    assert "Tue 1 Dec" in text(client.get("/shifts/?from=2026-11-30"))
    assert "26 Nov" not in text(client.get("/shifts/?from=2026-11-30"))
    for day in ("", "x", "0001-01-01", "9999-12-31", "2026-13-01", "\x00"):
        assert "Thu 26 Nov" in text(client.get("/shifts/", {"from": day}))


def test_the_list_asks_no_more_however_many_shifts_there_are(shifts, crew, now):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client, counts = client_of(crew["kim"]), []
    client.get("/shifts/")
    for _ in range(2):
        with CaptureQueriesContext(connection) as seen:
            client.get("/shifts/")
        counts.append(len(seen))
        actions.plan_shifts(first=now.date(), weeks=4, now=now, by=crew["sef"])
        for shift in shifts[:6]:
            actions.take_shift(shift=shift, now=now, by=crew["kim"])
            actions.ask_swap(shift=shift, now=now, by=crew["kim"])
    assert counts[0] == counts[1] <= 9


def test_a_shift_is_taken_in_the_list_and_given_back_while_48_hours_are_left(shifts, crew):
    kim, far, near = crew["kim"], shifts[3], shifts[0]
    answer = client_of(kim).post(f"/shifts/{far.pk}/", {"deed": "take", "from": ""})
    assert answer["Location"] == f"/shifts/#shift-{far.pk}"
    answer = client_of(kim).post(f"/shifts/{near.pk}/", {"deed": "take", "from": "2026-11-23"})
    assert answer["Location"] == f"/shifts/?from=2026-11-23#shift-{near.pk}"
    assert "begins in less than 48 hours" in text(client_of(kim).get(f"/shifts/{near.pk}/"))
    answer = press(kim, near, "give-back")
    assert answer.status_code == 409 and "until 48 hours before it begins" in text(answer)
    assert person_of(near) == kim
    assert "The shift is given back." in text(press(kim, far, "give-back")) and person_of(far) is None


def test_whoever_comes_second_is_told_and_keeps_nothing(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    answer = press(crew["toos"], shifts[0], "take")
    assert answer.status_code == 409 and "Somebody else has taken the shift of Thursday 26 November" in text(answer)
    assert person_of(shifts[0]) == crew["kim"]


def test_a_swap_goes_from_one_to_the_other_by_two_buttons(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert "You ask that somebody takes it over." in text(press(crew["kim"], shifts[0], "ask"))
    seen = text(client_of(crew["toos"]).get("/shifts/"))
    assert "Kim Kim asks that somebody takes it over. Take it over: Thu 26 Nov" in seen
    assert "Whoever asked is told." in text(press(crew["toos"], shifts[0], "take-over"))
    assert person_of(shifts[0]) == crew["toos"]
    assert "Keep it after all" not in text(client_of(crew["kim"]).get(f"/shifts/{shifts[0].pk}/"))


def test_a_button_that_there_is_not_changes_nothing(shifts, crew):
    assert "Nothing was changed." in text(press(crew["kim"], shifts[0], "x")) and person_of(shifts[0]) is None


def test_staff_put_somebody_down_and_what_is_wrong_is_said_at_the_field(shifts, crew, now):
    sef, kim = crew["sef"], crew["kim"]
    assert "Kim has the shift." in text(press(sef, shifts[0], "assign", person=str(kim.pk)))
    twin = actions.add_shift(span=at_span(shifts[0]), now=now, by=sef)
    answer = press(sef, twin, "assign", person=str(kim.pk))
    assert answer.status_code == 422 and "Kim has another shift then" in text(answer)
    answer = press(sef, twin, "assign", person=str(crew["adri"].pk))
    assert answer.status_code == 422 and "Who has it: choose one of the list." in text(answer)
    assert press(kim, twin, "assign", person=str(kim.pk)).status_code == 403
    assert person_of(twin) is None


def at_span(shift):
    from studiodesk.timekeeping import Span

    return Span(shift.starts, shift.ends)


def test_a_tutor_says_that_they_are_there_for_beginners_and_a_keyholder_has_no_such_button(shifts, crew, now):
    actions.take_shift(shift=shifts[0], now=now, by=crew["toos"])
    actions.take_shift(shift=shifts[1], now=now, by=crew["kim"])
    assert "yours, there for beginners" in text(press(crew["toos"], shifts[0], "helps"))
    assert "yours, there for beginners" not in text(press(crew["toos"], shifts[0], "helps-not"))
    assert "for beginners" not in text(client_of(crew["kim"]).get(f"/shifts/{shifts[1].pk}/"))
    answer = press(crew["kim"], shifts[1], "helps")
    assert answer.status_code == 409 and "neither a tutor nor staff" in text(answer)


def test_at_the_end_of_a_shift_the_note_is_asked_for_and_shown_to_whoever_comes_next(shifts, crew, now, clock):
    kim, toos, shift = crew["kim"], crew["toos"], shifts[0]
    for number, who in ((0, kim), (1, toos)):
        actions.take_shift(shift=shifts[number], now=now, by=who)
    assert client_of(kim).get(f"/shifts/{shift.pk}/hand-over/").status_code == 409
    clock.move_to(shift.starts)
    assert "began 10:00" in text(press(kim, shift, "begin"))
    clock.move_to(shift.ends + timedelta(minutes=5))
    assert "End it and hand over" in text(client_of(kim).get("/shifts/"))
    page = press(kim, shift, "end")
    assert page.redirect_chain == [(f"/shifts/{shift.pk}/hand-over/", 302)] and "For whoever comes next" in text(page)
    client = client_of(kim)
    wrong = client.post(f"/shifts/{shift.pk}/hand-over/", {"note": "x" * 2001})
    assert wrong.status_code == 422 and "at most 2000 characters" in text(wrong) and "x" * 2001 in text(wrong)
    assert client.post(f"/shifts/{shift.pk}/hand-over/", {"note": " "}).status_code == 422
    client.post(f"/shifts/{shift.pk}/hand-over/", {"note": "Tap drips.\n<b>Fixer</b> is low."})
    assert client_of(toos).get(f"/shifts/{shift.pk}/hand-over/").status_code == 409
    seen = client_of(toos).get("/shifts/").content.decode()
    assert "Tap drips." in seen and "&lt;b&gt;Fixer" in seen and "Kim, Thu 26 Nov at 22:05" in seen
    wil = makers.member("Wil", is_keyholder=True)
    assert "Tap drips." not in text(client_of(wil).get("/shifts/"))
    assert "Tap drips." not in text(client_of(wil).get(f"/shifts/{shift.pk}/"))


# ---- staff plan and call off ---------------------------------------------------------------------------------------


def test_staff_plan_weeks_and_are_told_how_many_shifts_that_made(crew):
    client = client_of(crew["sef"])
    sent = {"first_day": "2026-11-25", "weeks": "2", "longest": "6"}
    assert "23 shifts are planned." in text(client.post("/shifts/plan/", sent, follow=True))
    assert "every opening hour of that time has its shift already" in text(
        client.post("/shifts/plan/", sent, follow=True)
    )
    assert Shift.objects.count() == 23  # of today the part that has not begun


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("first_day", "2026-11-24", "From: this day is over."),
        ("first_day", "2028-01-01", "From: at most a year ahead."),
        ("first_day", "soon", "From: write a day"),
        ("weeks", "27", "How many weeks: at most 26."),
        ("weeks", "0", "How many weeks: at least 1."),
        ("longest", "0", "At most so many hours each: at least 1."),
    ],
)
def test_what_cannot_be_planned_is_said_at_its_field(crew, field, value, said):
    sent = {"first_day": "2026-11-25", "weeks": "2", "longest": "", field: value}
    answer = client_of(crew["sef"]).post("/shifts/plan/", sent)
    assert answer.status_code == 422 and said in text(answer) and f'value="{value}"' in answer.content.decode()
    assert not Shift.objects.exists()


def test_one_more_shift_is_added_once_however_often_the_button_is_pressed(crew):
    client = client_of(crew["sef"])
    sent = {"day": "2026-11-30", "begins": "18:00", "until": "01:00", "key": "one more"}
    for _ in range(2):
        answer = client.post("/shifts/new/", sent)
    assert answer.status_code == 302 and Shift.objects.get().ends == at(1, day=30) + timedelta(days=1)
    past = client.post("/shifts/new/", {**sent, "day": "2026-11-24", "key": "past"})
    assert past.status_code == 422 and "shifts are planned ahead" in text(past)
    # Directive 2000/84/EC: on 28 March 2027 the clock goes from 02:00 to 03:00.
    jumped = client.post("/shifts/new/", {**sent, "day": "2027-03-28", "begins": "02:30", "key": "jump"})
    assert jumped.status_code == 422 and "The clock jumps over that time" in text(jumped)
    assert client.post("/shifts/new/", {**sent, "day": "9999-12-31", "key": "far"}).status_code == 422
    assert Shift.objects.count() == 1


def test_calling_a_shift_off_names_what_is_booked_in_it_and_can_cancel_that(shifts, crew, house, now):
    stays = [book(house, crew["adri"], "S1", None, at(hour, day=26), at(hour + 1, day=26)) for hour in (11, 13)]
    later = book(house, crew["adri"], "S1", None, at(12, day=27), at(13, day=27))
    client, path = client_of(crew["sef"]), f"/shifts/{shifts[0].pk}/call-off/"
    said = text(client.get(path))
    assert "2 bookings stand in that time" in said and "The opening hours stay as they are" in said
    assert "Cancel them too" not in said
    Studio.objects.update(opens_by_shifts=True)
    assert "Cancel them too" in text(client.get(path))
    assert client_of(crew["kim"]).get(path).status_code == 403
    assert Shift.objects.get(pk=shifts[0].pk).called_off_at is None  # looking called nothing off
    page = client.post(path, {"cancel": "1"}, follow=True)
    assert "The shift is called off. 2 bookings were cancelled." in text(page)
    standing = Booking.objects.filter(cancelled_at__isnull=True)
    assert list(standing) == [later] and len(stays) == 2
    assert "called off" in text(client.get("/shifts/"))
    assert "stands again" in text(press(crew["sef"], shifts[0], "put-back"))


def test_bookings_that_another_shift_covers_are_left_alone_where_the_house_opens_by_shifts(shifts, crew, house, now):
    book(house, crew["adri"], "S1", None, at(11, day=26), at(12, day=26))
    Studio.objects.update(opens_by_shifts=True)
    twin = actions.add_shift(span=at_span(shifts[0]), now=now, by=crew["sef"])
    actions.take_shift(shift=twin, now=now, by=crew["toos"])
    path = f"/shifts/{shifts[0].pk}/call-off/"
    assert "No booking stands in that time that no other shift covers." in text(client_of(crew["sef"]).get(path))
    client_of(crew["sef"]).post(path, {"cancel": "1"})
    assert Booking.objects.get().cancelled_at is None


# ---- the desk and people -------------------------------------------------------------------------------------------


def test_the_desk_names_uncovered_shifts_of_the_next_seven_days(shifts, crew, now):
    for shift in shifts[:5]:
        actions.take_shift(shift=shift, now=now, by=crew["kim"])
    said = text(client_of(crew["kim"]).get("/desk/"))
    assert "Uncovered: Wed 2 Dec, 10:00 to 22:00" in said and "Thu 3 Dec" not in said
    actions.take_shift(shift=shifts[5], now=now, by=crew["toos"])
    assert "Uncovered" not in text(client_of(crew["kim"]).get("/desk/"))


def test_a_desk_that_refreshes_notices_that_a_shift_was_taken(shifts, crew, now):
    from studiodesk.desk.queries import desk_now

    before = desk_now(now, Studio.objects.get()).signature
    assert desk_now(now, Studio.objects.get()).signature == before
    actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    assert desk_now(now, Studio.objects.get()).signature != before


def test_the_desk_shows_the_last_note_for_three_days_to_whoever_may_read_it(shifts, crew, now, clock):
    kim, shift = crew["kim"], actions.take_shift(shift=shifts[0], now=now, by=crew["kim"])
    wil = makers.member("Wil", is_keyholder=True)
    actions.hand_over(shift=shift, note="Tap drips.", now=shift.ends, by=kim)
    clock.move_to(shift.ends + timedelta(days=3) - timedelta(minutes=1))
    assert "Tap drips." in text(client_of(kim).get("/desk/")) and "Tap drips." in text(
        client_of(crew["sef"]).get("/desk/")
    )
    assert "Tap drips." not in text(client_of(wil).get("/desk/"))
    actions.assign(shift=shifts[3], person=wil, now=now, by=crew["sef"])
    assert "Tap drips." in text(client_of(wil).get("/desk/"))
    clock.move_to(shift.ends + timedelta(days=3))
    assert "Tap drips." not in text(client_of(crew["sef"]).get("/desk/"))


def test_whoever_leaves_gives_their_shifts_back_with_them(shifts, crew, now):
    for shift in shifts[:2]:
        actions.take_shift(shift=shift, now=now, by=crew["kim"])
    client, path = client_of(crew["sef"]), f"/people/{crew['kim'].number}/standing/"
    assert "They have 2 shifts to come." in text(client.get(path))
    assert "a shift to come" not in text(client.get(f"/people/{crew['toos'].number}/standing/"))
    client.post(path, {"here": "0"})
    assert [person_of(shift) for shift in shifts[:2]] == [None, None]
