"""Who leaves: asked about on a page, their bookings with them, their sessions at an end."""

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, Hold
from studiodesk.journal.models import Notice
from studiodesk.people.models import Member
from studiodesk.stations import actions as stations
from studiodesk.timekeeping import Span
from tests import makers
from tests.desk.evening import at, book, client_of, text


@pytest.fixture
def staff(house, clock):
    return client_of(makers.member("Sam", is_staff=True))


@pytest.fixture
def adri(house, clock):
    """At 15:00 Adri is in at booth 1, and has two bookings to come."""
    adri = makers.member("Adri")
    bookings.arrive(booking=book(house, adri, "E1", "rc", at(13), at(17)), now=at(13))
    book(house, adri, "S1", None, at(18), at(19))
    book(house, adri, "S1", None, at(11, day=26), at(12, day=26))
    return adri


def test_a_page_asks_first_lists_what_is_booked_and_changes_nothing(adri, staff):
    page = staff.get(f"/people/{adri.number}/standing/")
    said = text(page)
    assert "Has Adri left?" in said and "2 bookings to come" in said
    assert "Thursday 26 November 2026, 11:00 to 12:00" in said and 'id="cancel" checked' in page.content.decode()
    adri.refresh_from_db()
    assert adri.is_active and not Booking.objects.filter(cancelled_at__isnull=False).exists()


@pytest.mark.parametrize(("fields", "cancelled"), [({"here": "0", "cancel": "1"}, 2), ({"here": "0"}, 0)])
def test_whoever_leaves_is_marked_and_their_bookings_are_cancelled_if_that_is_ticked(adri, staff, fields, cancelled):
    page = text(staff.post(f"/people/{adri.number}/standing/", fields, follow=True))
    assert "Adri has left, and can no longer log in." in page
    assert ("2 bookings were cancelled" in page) == bool(cancelled)
    assert Booking.objects.filter(cancelled_at__isnull=False).count() == cancelled
    assert Hold.objects.filter(booking__arrived_at__isnull=False).exists()  # they are in: that stays
    adri.refresh_from_db()
    assert not adri.is_active


def test_an_old_session_is_worth_nothing_after_they_came_back(adri, staff):
    theirs, other = client_of(adri), client_of(makers.member("Bente"))
    assert theirs.get("/you/").status_code == 200
    key = theirs.session.session_key
    staff.post(f"/people/{adri.number}/standing/", {"here": "0"})
    assert not Session.objects.filter(pk=key).exists()
    page = staff.post(f"/people/{adri.number}/standing/", {"here": "1"}, follow=True)
    assert "Adri is here again." in text(page)
    theirs.cookies[settings.SESSION_COOKIE_NAME] = key
    assert theirs.get("/you/").status_code == 302
    assert other.get("/you/").status_code == 200


def test_it_is_not_offered_to_whom_it_would_be_refused(house, clock, staff):
    other, manager = makers.member("Sjoerd", is_staff=True), makers.member("Max", is_staff=True, is_manager=True)
    path = f"/people/{other.number}/standing/"
    assert "Mark as having left" not in text(staff.get(f"/people/{other.number}/"))
    assert staff.get(path).status_code == 409 and staff.post(path, {"here": "0"}).status_code == 409
    assert "Mark as having left" in text(client_of(manager).get(f"/people/{other.number}/"))
    assert "Mark as having left" not in text(client_of(manager).get(f"/people/{manager.number}/"))
    assert client_of(manager).post(path, {"here": "0"}).status_code == 302
    other.refresh_from_db()
    assert not other.is_active


@pytest.mark.parametrize(("roles", "kept"), [([], False), (["tutor"], True)], ids=["no role", "a tutor"])
def test_whoever_may_have_no_shift_any_more_has_none(house, clock, staff, roles, kept):
    kim = makers.member("Kim", is_keyholder=True)
    other = makers.member("Bas", is_keyholder=True)
    sam = Member.objects.get(name="Sam")
    shift = stations.add_shift(span=Span(at(13, day=27), at(22, day=27)), now=at(15), by=sam)
    stations.take_shift(shift=shift, now=at(15), by=kim)
    page = text(staff.post(f"/people/{kim.number}/roles/", dict.fromkeys(roles, "on"), follow=True))
    assert "The roles of Kim are kept." in page and ("1 shift has nobody now" in page) != kept
    shift.refresh_from_db()
    assert shift.person_id == (kim.pk if kept else None)
    told = set(Notice.objects.filter(code="stations.shift_given_back").values_list("person", flat=True))
    assert told == (set() if kept else {other.pk})
