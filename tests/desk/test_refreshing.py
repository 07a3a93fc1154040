"""The desk that stays open: what a refresh answers, and the pause."""

import re
from datetime import timedelta

import pytest
from django.test import Client

from studiodesk.bookings import actions as bookings
from tests.desk.evening import at, client_of, text


def polled(client, signature):
    return client.get(f"/desk/?poll={signature}", headers={"HX-Request": "true"})


def test_the_desk_refreshes_its_moving_part_and_tells_a_screen_reader_only_what_is_new(evening, keyholder):
    client = client_of(keyholder)
    whole = client.get("/desk/").content.decode()
    address = re.search(r'data-hx-get="([^"]+)" data-hx-trigger="every 20s" data-hx-target="#desk-now"', whole).group(1)
    signature = address.partition("poll=")[2]
    # The region that speaks stands outside what is swapped.
    assert whole.index('id="desk-said" role="status"') < whole.index('id="desk-now"')
    same = polled(client, signature).content.decode()
    assert "<h1" not in same and "has changed" not in same
    bookings.leave(booking=evening["adri"], now=at(15))
    changed = polled(client, signature)
    assert "The desk has changed: 1 thing to do, 0 in, 1 late." in changed.content.decode()
    assert "left 15:00" in changed.content.decode() and "HX-Reswap" not in changed


def signature_of(client):
    return re.search(r"poll=(\w+)", client.get("/desk/").content.decode()).group(1)


def test_a_refresh_that_finds_nothing_new_swaps_nothing_but_when_it_looked(evening, keyholder, clock):
    client = client_of(keyholder)
    signature = signature_of(client)
    clock.move_to(at(15, 1))
    same = polled(client, signature)
    assert same["HX-Reswap"] == "none"
    assert text(same).strip() == "15:01" and 'data-hx-swap-oob="innerHTML:.checked-at"' in same.content.decode()


@pytest.mark.parametrize(("hour", "minute"), [(16, 31), (17, 0), (17, 1), (17, 15)])
def test_what_the_hour_alone_changes_is_new_too(evening, keyholder, clock, hour, minute):
    """Warm-up becomes urgent, somebody may sign in, a time is over, a warm-up is late: no row of a table changed."""
    client = client_of(keyholder)
    clock.move_to(at(hour, minute) - timedelta(minutes=31))
    signature = signature_of(client)
    clock.move_to(at(hour, minute))
    assert "HX-Reswap" not in polled(client, signature)


def test_a_pause_lasts_through_a_press_and_keeps_what_can_be_taken_back(evening, keyholder):
    client, bente = client_of(keyholder), evening["bente"].pk
    assert 'name="pause" value="1"' in client.get("/desk/?pause=1").content.decode()
    assert 'name="pause"' not in client.get("/desk/").content.decode()
    answer = client.post(f"/desk/in/{bente}/", {"pause": "1"})
    assert answer["Location"] == f"/desk/?done=in-{bente}&pause=1"
    page = client.get(answer["Location"]).content.decode()
    assert "Paused." in page and "Undo: Bente is not here" in page and f'href="/desk/?done=in-{bente}"' in page
    page = client.get(f"/desk/?done=in-{bente}").content.decode()
    assert f'href="/desk/?pause=1&amp;done=in-{bente}"' in page
    assert client.post(f"/desk/in/{bente}/", {"pause": "1", "undo": "1"})["Location"] == "/desk/?pause=1"


def test_a_paused_desk_stands_still_and_offers_to_go_on(evening, keyholder):
    page = client_of(keyholder).get("/desk/?pause=1").content.decode()
    assert "every 20s" not in page and "Go on refreshing" in page


def test_when_the_session_is_over_the_whole_desk_goes_to_log_in_and_comes_back(evening):
    answer = Client().get("/desk/?poll=x", headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/desk/"})
    assert answer["HX-Redirect"] == "/log-in/?next=/desk/"
