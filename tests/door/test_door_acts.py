"""Coming in and going out: the acts, on both databases."""

from datetime import timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import Booking, Visit
from studiodesk.journal.models import Entry
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Shift
from tests import shifting
from tests.door.world import at, book, refused, rule


def inside(house, now):
    house.studio.refresh_from_db()
    return queries.in_house(now, house.studio)


def names(house, now):
    return [(row.name or row.kind, row.heads) for row in inside(house, now).rows]


def walk_in(kim, now, **more):
    return actions.come_in(**{"kind": "walk-in", "name": "Wim", "now": now, "by": kim} | more)


def shrink(house, heads):
    stations.describe_studio(
        name="Ostermill Darkroom", time_zone="Europe/Amsterdam", currency="EUR", grid_minutes=15, heads_at_once=heads
    )
    house.studio.refresh_from_db()


# ---- the roll-call -------------------------------------------------------------------------------------------------


def test_everybody_in_the_house_is_on_the_roll_once(house, people, booked):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    actions.come_in(kind="keyholder", person=people["kim"], now=at(13, 5), by=people["kim"])
    actions.come_in(kind="tutor", person=people["tess"], now=at(13, 6), by=people["tess"])
    walk_in(people["kim"], at(13, 10), name="  Wim   Jansen ", heads=3, phone="06 1")
    assert names(house, at(15)) == [("Adri", 1), ("Kim", 1), ("Tess", 1), ("Wim Jansen", 3)]
    assert inside(house, at(15)).heads == 6
    # The keyholder sits down at the scanner too: still one person, on one line that says where.
    own = book(house, people["kim"], "S1", at(14), at(16), None)
    actions.arrive(booking=own, now=at(14), by=people["kim"])
    found = inside(house, at(15))
    assert found.heads == 6
    assert [[one.station.code for one in row.bookings] for row in found.rows] == [["E1"], ["S1"], [], []]


def test_a_keyholder_whose_shift_has_begun_is_in_the_house(house, people, now):
    shift = shifting.planned(now, by=people["sef"])[0]
    now = shift.starts
    stations.take_shift(shift=shift, now=now - timedelta(hours=12), by=people["kim"])
    assert inside(house, now).heads == 0
    stations.begin_shift(shift=Shift.objects.get(pk=shift.pk), now=now, by=people["kim"])
    found = inside(house, now + timedelta(minutes=1))
    assert [(row.name, row.kind, row.on_shift) for row in found.rows] == [("Kim", "keyholder", True)]
    actions.come_in(kind="keyholder", person=people["kim"], now=now, by=people["kim"])
    assert inside(house, now + timedelta(minutes=1)).heads == 1
    stations.end_shift(shift=Shift.objects.get(pk=shift.pk), now=now + timedelta(hours=1), by=people["kim"])
    assert not inside(house, now + timedelta(hours=2)).rows[0].on_shift


def test_whoever_forgot_to_sign_out_is_not_in_the_house_for_ever(house, people, booked):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    walk_in(people["kim"], at(13))
    assert inside(house, at(4, 59, day=26)).heads == 2
    assert names(house, at(5, 0, day=26)) == []  # the booking ended at 17:00, the walk-in came at 13:00


# ---- guests come and go with their booking ---------------------------------------------------------------------


@pytest.fixture
def with_guests(house, people):
    rule("guests", 3)
    return book(house, people["adri"], "E1", at(13), at(17), guests=2)


def test_guests_come_in_and_go_out_with_the_booking(house, people, with_guests):
    actions.arrive(booking=with_guests, now=at(13), by=people["adri"])
    guests = Visit.objects.get(booking=with_guests)
    assert (guests.kind, guests.heads, guests.came_at) == ("guest", 2, at(13))
    assert inside(house, at(14)).heads == 3
    actions.leave(booking=with_guests, now=at(16), by=people["adri"])
    guests.refresh_from_db()
    assert guests.left_at == at(16) and inside(house, at(16)).heads == 0
    actions.undo_leave(booking=with_guests, now=at(16, 5), by=people["adri"])
    assert inside(house, at(16, 5)).heads == 3


def test_a_guest_who_went_home_earlier_does_not_come_back_with_an_undo(house, people, with_guests):
    actions.arrive(booking=with_guests, now=at(13), by=people["adri"])
    actions.go_out(visit=Visit.objects.get(), now=at(14), by=people["kim"])
    actions.leave(booking=with_guests, now=at(16), by=people["adri"])
    actions.undo_leave(booking=with_guests, now=at(16, 5), by=people["adri"])
    assert names(house, at(16, 5)) == [("Adri", 1)]


def test_a_sign_in_that_was_a_slip_brings_no_guests(house, people, with_guests):
    actions.arrive(booking=with_guests, now=at(13), by=people["adri"])
    actions.undo_arrive(booking=with_guests, now=at(13, 1), by=people["kim"])
    assert inside(house, at(14)).heads == 0 and not Visit.objects.exists()
    actions.arrive(booking=with_guests, now=at(13, 5), by=people["adri"])
    assert inside(house, at(14)).heads == 3


# ---- how many the house may hold ---------------------------------------------------------------------------------


def test_nobody_signs_in_to_a_full_house_until_somebody_leaves(house, people, booked):
    walk_in(people["kim"], at(14), heads=3)
    shrink(house, 3)
    facts = refused(
        "bookings.house_full_now", actions.arrive, booking=booked["bente"], now=at(14, 30), by=people["kim"]
    )
    assert facts == {"inside": 3, "coming": 1, "heads": 3}
    refused("bookings.house_full_now", walk_in, kim=people["kim"], now=at(14, 30), name="Ype")
    actions.go_out(visit=Visit.objects.get(), now=at(14, 31), by=people["kim"])
    assert actions.arrive(booking=booked["bente"], now=at(14, 32), by=people["bente"]).arrived_at == at(14, 32)


def test_staff_may_let_somebody_into_a_full_house_and_a_keyholder_may_not(house, people, booked):
    walk_in(people["kim"], at(14), heads=3)
    shrink(house, 3)
    why = {"booking": booked["bente"], "now": at(14, 30), "override": "fetches a print"}
    refused("bookings.not_yours_to_override", actions.arrive, by=people["kim"], **why)
    refused("bookings.not_yours_to_override", actions.arrive, by=people["bente"], **why)
    actions.arrive(by=people["sef"], **why)
    facts = Entry.objects.get(code="bookings.arrived").facts
    assert facts == {"reason": "fetches a print", "rules": ["bookings.house_full_now"], "inside": 3}


def test_a_reason_is_not_kept_where_nothing_stood_in_the_way(house, people, booked):
    actions.arrive(booking=booked["bente"], now=at(14, 30), by=people["bente"], override="because")
    assert Entry.objects.get(code="bookings.arrived").facts == {}


# ---- the rule for being alone ------------------------------------------------------------------------------------


@pytest.fixture
def never_alone(house):
    rule("least_heads", 2)


def test_on_their_own_phone_nobody_signs_in_alone(house, people, booked, never_alone):
    alone = {"booking": booked["bente"], "now": at(14, 30), "by": people["bente"]}
    assert refused("bookings.alone", actions.arrive, **alone) == {"least": 2, "inside": 1}
    refused("bookings.not_yours_to_override", actions.arrive, **alone, override="I am careful")
    actions.come_in(kind="keyholder", person=people["kim"], now=at(14, 31), by=people["kim"])
    assert actions.arrive(**(alone | {"now": at(14, 32)})).arrived_at


def test_at_the_desk_whoever_signs_somebody_in_is_there_too(house, people, booked, never_alone):
    assert actions.arrive(booking=booked["bente"], now=at(14, 30), by=people["kim"]).arrived_at
    assert inside(house, at(14, 31)).is_too_few  # nobody said that the keyholder is in the house


def test_a_keyholder_may_set_being_alone_aside_for_themselves_and_the_journal_says_why(house, people, never_alone):
    own = book(house, people["kim"], "S1", at(14), at(16), None)
    refused("bookings.alone", actions.arrive, booking=own, now=at(14), by=people["kim"])
    actions.arrive(booking=own, now=at(14), by=people["kim"], override="scans only")
    assert Entry.objects.get(code="bookings.arrived").facts["rules"] == ["bookings.alone"]


def test_of_three_that_are_asked_for_the_keyholder_at_the_desk_is_one(house, people, booked):
    rule("least_heads", 3)
    alone = {"booking": booked["bente"], "now": at(14, 30), "by": people["kim"]}
    assert refused("bookings.alone", actions.arrive, **alone) == {"least": 3, "inside": 2}
    actions.arrive(**alone, override="Adri comes at three")


def test_whoever_opens_the_house_is_the_first_and_a_tutor_waits_for_them(house, people, never_alone):
    refused("bookings.alone", actions.come_in, kind="tutor", person=people["tess"], now=at(10), by=people["tess"])
    assert actions.come_in(kind="keyholder", person=people["kim"], now=at(10), by=people["kim"])
    assert actions.come_in(kind="tutor", person=people["tess"], now=at(10), by=people["tess"])


def test_the_house_says_when_too_few_remain(house, people, booked, never_alone):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["kim"])
    actions.arrive(booking=booked["bente"], now=at(14, 30), by=people["bente"])
    assert not inside(house, at(14, 31)).is_too_few
    actions.leave(booking=booked["bente"], now=at(15), by=people["bente"])  # nobody is kept in the house
    assert inside(house, at(15)).is_too_few
    actions.leave(booking=booked["adri"], now=at(16), by=people["adri"])
    assert not inside(house, at(16)).is_too_few


# ---- without a booking ---------------------------------------------------------------------------------------------


def test_who_may_come_in_without_a_booking_and_who_says_so(house, people):
    adri, kim, tess = people["adri"], people["kim"], people["tess"]
    refused("bookings.walk_in_at_the_desk", walk_in, kim=adri, now=at(14))
    refused("bookings.not_that_role", actions.come_in, kind="keyholder", person=adri, now=at(14), by=adri)
    refused("bookings.not_that_role", actions.come_in, kind="tutor", person=kim, now=at(14), by=kim)
    refused("bookings.walk_in_at_the_desk", actions.come_in, kind="keyholder", person=kim, now=at(14), by=tess)
    refused("bookings.name_needed", walk_in, kim=kim, now=at(14), name="  ")
    refused("bookings.heads_needed", walk_in, kim=kim, now=at(14), heads=21)
    with pytest.raises(ValueError, match="guest"):
        walk_in(kim, at(14), kind="guest")
    assert actions.come_in(kind="tutor", person=tess, now=at(14), by=kim).noted_by == kim


def test_coming_in_and_going_out_twice_is_done_once(house, people):
    kim = people["kim"]
    first = actions.come_in(kind="keyholder", person=kim, now=at(10), by=kim)
    assert actions.come_in(kind="keyholder", person=kim, now=at(11), by=kim) == first
    actions.go_out(visit=first, now=at(12), by=kim)
    actions.go_out(visit=first, now=at(13), by=kim)
    first.refresh_from_db()
    assert (
        first.left_at == at(12)
        and Entry.objects.filter(code__in=["bookings.came_in", "bookings.went_out"]).count() == 2
    )


def test_a_keyholder_who_forgot_to_leave_yesterday_can_come_in_today(house, people):
    kim = people["kim"]
    forgot = actions.come_in(kind="keyholder", person=kim, now=at(10), by=kim)
    again = actions.come_in(kind="keyholder", person=kim, now=at(10, day=26), by=kim)
    forgot.refresh_from_db()
    assert again != forgot and forgot.left_at == at(2, day=26)  # sixteen hours: until when, nobody knows
    assert inside(house, at(11, day=26)).heads == 1


def test_only_the_desk_says_that_somebody_else_has_left(house, people):
    visit = walk_in(people["kim"], at(14))
    with pytest.raises(Refused) as caught:
        actions.go_out(visit=visit, now=at(15), by=people["adri"])
    assert caught.value.refusal.code == "bookings.not_yours_to_let_out"
    assert inside(house, at(15)).heads == 1


# ---- what became of the sheets -------------------------------------------------------------------------------------


def test_what_is_said_of_the_sheets_is_kept_and_can_be_put_right(house, people, booked):
    say = {"booking": booked["adri"], "now": at(17), "by": people["adri"]}
    refused("bookings.not_arrived", actions.say_of_sheets, said="none", **say)
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    refused("bookings.unknown_answer", actions.say_of_sheets, said="plenty", **say)
    for said in ("none", "none", "unknown"):
        actions.say_of_sheets(said=said, **say)
    assert Booking.objects.get(pk=booked["adri"].pk).sheets_said == "unknown"
    said = Entry.objects.filter(code="bookings.sheets_said").order_by("pk").values_list("facts", flat=True)
    assert list(said) == [{"said": "none"}, {"said": "unknown"}]
    scanner = book(house, people["kim"], "S1", at(14), at(16), None)
    actions.arrive(booking=scanner, now=at(14), by=people["kim"])
    refused(
        "bookings.no_sheets_here", actions.say_of_sheets, booking=scanner, said="none", now=at(16), by=people["kim"]
    )
