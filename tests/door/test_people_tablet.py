"""The tablet at the dry end: who comes and goes."""

import pytest

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking
from studiodesk.journal.models import Entry
from tests.chemistry.pages import tablet_client
from tests.door.world import at, book, rule, text

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def tablet(people, now):
    return tablet_client(now, people["sef"])


def test_people_sign_in_and_out_at_the_tablet(people, booked, tablet, clock):
    client, row = tablet
    page = text(client.get("/tablet/people/"))
    assert "Sign in Adri Booth 1, 13:00 to 17:00 Bente Booth 2, 14:30 to 18:00" in page
    assert "Later today 17:15 Dirk, Booth 1 18:00 Cato, Booth 3" in page
    page = text(client.post(f"/tablet/people/in/{booked['bente'].pk}/", follow=True))
    assert "Bente is signed in." in page and "Undo: Bente is not here" in page and "Bente Booth 2, until 18:00" in page
    assert Entry.objects.get(code="bookings.arrived").tablet == row
    clock.move_to(at(17, 30))
    page = client.post(f"/tablet/people/out/{booked['bente'].pk}/", follow=True)
    assert "Undo: Bente is still here" in text(page) and "Bente logged nothing in 2 h 30 min." in text(page)
    assert f'href="/tablet/processor/P-RC/?who=b{booked["bente"].pk}"' in page.content.decode()
    page = text(client.post(f"/tablet/people/said/{booked['bente'].pk}/", {"said": "none"}, follow=True))
    assert "Written down: nothing was printed." in page and "logged nothing" not in page
    page = text(client.post(f"/tablet/people/out/{booked['bente'].pk}/", {"undo": "1"}, follow=True))
    assert "Bente is in again." in page


def test_the_tablet_refuses_with_a_sentence_and_lets_nobody_override(people, booked, tablet):
    rule("least_heads", 2)
    client, _row = tablet
    answer = client.post(f"/tablet/people/in/{booked['bente'].pk}/", {"override": "because"})
    assert answer.status_code == 409 and "with you there would be 1" in text(answer)
    assert Booking.objects.get(pk=booked["bente"].pk).arrived_at is None


def test_the_tablet_knows_only_today_s_bookings(house, people, booked, tablet):
    client, _row = tablet
    tomorrow = book(house, people["adri"], "E2", at(13, day=26), at(15, day=26))
    assert client.post(f"/tablet/people/in/{tomorrow.pk}/").status_code == 404
    assert client.post("/tablet/people/said/99999999/", {"said": "none"}).status_code == 404


def test_whoever_sits_where_the_next_begins_reads_it_on_the_tablet(people, booked, tablet, clock):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    clock.move_to(at(17, 5))
    assert "The next person begins here at 17:15." in text(tablet[0].get("/tablet/people/"))
    assert "Adri, Booth 1: the next person begins here at 17:15." in text(tablet[0].get("/tablet/processor/P-RC/"))
