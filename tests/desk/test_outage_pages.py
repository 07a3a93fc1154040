"""Whom something out of service hits, moved and cancelled on its page; hours; and what waits on the desk."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Outage
from studiodesk.journal.models import Notice
from studiodesk.stations import actions as stations
from studiodesk.timekeeping import Span
from tests import makers
from tests.desk.evening import at, book, client_of, text


def shut(house, codes, starts, ends, now, by, **more):
    more = {"reason": "lamp", "cause": "fault"} | more
    things = [house.stations.get(code) or house.processors[code] for code in codes]
    return actions.shut(things=things, span=Span(starts, ends), now=now, by=by, **more).outage


def chosen(page, pk):
    """The move that the page has chosen for a booking."""
    return re.search(rf'name="move-{pk}" value="([^"]+)" checked', page).group(1)


def test_all_are_moved_as_shown_and_the_page_says_what_became_of_them(evening, house, keyholder, now):
    outage = shut(house, ["E3", "S1"], at(10, day=25), at(22, day=26), now, keyholder)
    client = client_of(keyholder)
    page = client.get(f"/out/{outage.pk}/")
    said, html = text(page), page.content.decode()
    assert "2 bookings cannot stay" in said and "Move all 2 as chosen" in said
    assert "Booth 4 ( same time )" in said.replace("(same time)", "( same time )")
    sent = {f"move-{evening[who].pk}": chosen(html, evening[who].pk) for who in ("cato", "dirk")}
    answer = client.post(f"/out/{outage.pk}/settle/", sent, follow=True)
    assert "Moved 2 bookings; everybody is told." in text(answer)
    assert "No booking stands in that time." in text(answer)
    assert "now Wednesday 25 November 2026, 18:00 to 21:00, Booth 1" in text(answer)
    assert Booking.objects.get(pk=evening["cato"].pk).station == house.stations["E1"]
    assert Notice.objects.filter(code="bookings.moved_by_house").count() == 2
    again = client.post(f"/out/{outage.pk}/settle/", sent, follow=True)
    assert "Nothing was chosen to be moved." in text(again)
    assert Notice.objects.filter(code="bookings.moved_by_house").count() == 2


def test_one_is_moved_another_is_cancelled_and_a_third_is_left(evening, house, keyholder, now):
    outage = shut(house, ["P-CO", "S1", "E2"], at(10, day=25), at(22, day=26), now, keyholder)
    client, cato, dirk, bente = client_of(keyholder), evening["cato"], evening["dirk"], evening["bente"]
    html = client.get(f"/out/{outage.pk}/").content.decode()
    sent = {f"move-{bente.pk}": chosen(html, bente.pk), "only": str(bente.pk)}
    client.post(f"/out/{outage.pk}/settle/", sent)
    assert Booking.objects.get(pk=bente.pk).station != house.stations["E2"]
    client.post(f"/out/{outage.pk}/settle/", {"cancel": str(dirk.pk)})
    assert Booking.objects.get(pk=dirk.pk).cancelled_at == now
    left = client.post(f"/out/{outage.pk}/settle/", {f"move-{cato.pk}": ""}, follow=True)
    assert "Nothing was chosen" in text(left) and "1 booking cannot stay" in text(left)
    assert "Dirk : cancelled" in text(left).replace("Dirk: cancelled", "Dirk : cancelled")
    for gone in ({"cancel": str(dirk.pk)}, {"only": "x"}, {"only": str(evening["adri"].pk)}):
        answer = client.post(f"/out/{outage.pk}/settle/", gone, follow=True)
        assert "Nothing stands in the way of that booking any more." in text(answer)


def test_what_cannot_be_had_any_more_is_said_and_stays_on_the_list(evening, house, keyholder, now):
    outage = shut(house, ["S1"], at(10, day=26), at(14, day=26), now, keyholder)
    client, dirk = client_of(keyholder), evening["dirk"]
    move = chosen(client.get(f"/out/{outage.pk}/").content.decode(), dirk.pk)
    book(house, makers.member("Ella"), "S1", None, at(14, day=26), at(18, day=26))
    answer = client.post(f"/out/{outage.pk}/settle/", {f"move-{dirk.pk}": move}, follow=True)
    assert "Dirk could not be moved: Scanning station is taken" in text(answer)
    assert "1 booking cannot stay" in text(answer)
    crafted = f"{house.stations['S1'].pk}-1-2-"
    assert client.post(f"/out/{outage.pk}/settle/", {f"move-{dirk.pk}": crafted}).status_code == 302
    assert Booking.objects.get(pk=dirk.pk).starts == at(11, day=26)


def test_who_is_in_is_moved_for_the_rest_or_signed_out_never_cancelled(evening, house, keyholder, now):
    outage = shut(house, ["E1"], now, at(22), now, keyholder)
    client, adri = client_of(keyholder), evening["adri"]
    page = client.get(f"/out/{outage.pk}/")
    assert "Is in since 13:05." in text(page) and f'name="cancel" value="{adri.pk}"' not in page.content.decode()
    client.post(
        f"/out/{outage.pk}/settle/", {"only": adri.pk, f"move-{adri.pk}": chosen(page.content.decode(), adri.pk)}
    )
    adri.refresh_from_db()
    assert adri.station != house.stations["E1"] and adri.starts == at(13)


def test_one_of_several_things_is_put_back_alone(house, keyholder, clock, now):
    outage = shut(house, ["E1", "S1"], at(10, day=26), at(22, day=26), now, keyholder)
    client = client_of(keyholder)
    html = client.get(f"/out/{outage.pk}/").content.decode()
    form = html[html.index('value="station S1"') :]
    fields = {"thing": "station S1"} | dict(re.findall(r'name="(outage|starts|ends)" value="([^"]+)"', form)[:3])
    assert client.post("/desk/reopen/", fields).status_code == 302
    assert [one.station.code for one in Outage.objects.get().resources.all()] == ["E1"]
    assert client.post("/desk/reopen/", fields | {"outage": "999999"}).status_code == 404


def test_shortened_hours_are_settled_like_an_outage(evening, house, keyholder, now):
    client = client_of(keyholder)
    assert "No booking lies outside of opening hours" in text(client.get("/hit/hours/"))
    stations.set_opening(week={day: [(600, 1200)] for day in range(1, 7)})  # Cato stays until 21:00
    assert "1 booking lies outside of opening hours" in text(client.get("/desk/"))
    page = client.get("/hit/hours/").content.decode()
    told = client.post("/hit/hours/settle/", {"tell": "1"}, follow=True)
    assert "1 person was told." in text(told)
    cato = evening["cato"]
    done = client.post("/hit/hours/settle/", {f"move-{cato.pk}": chosen(page, cato.pk)}, follow=True)
    assert "Moved 1 booking" in text(done) and "No booking lies outside" in text(done)
    assert "outside of opening hours" not in text(client.get("/desk/"))


def test_what_is_unsettled_stays_on_the_desk_until_nothing_is_left(evening, house, keyholder, now):
    client = client_of(keyholder)
    before = client.get("/desk/").content.decode()
    outage = shut(house, ["S1"], at(10, day=26), at(14, day=26), now, keyholder)
    desk = client.get("/desk/")
    assert "Scanning station is out of service: settle 1 booking" in text(desk)
    assert f'href="/out/{outage.pk}/"' in desk.content.decode()
    poll = re.search(r"\?poll=(\w+)", before).group(1)
    fresh = client.get(f"/desk/?poll={poll}", headers={"HX-Request": "true"})
    assert "settle 1 booking" in text(fresh)  # a desk that stands open hears of it
    actions.cancel(booking=evening["dirk"], now=now, by=evening["dirk"].member)
    assert "out of service: settle" not in text(client.get("/desk/"))


def test_a_fault_is_reported_in_two_taps_and_the_desk_shuts_the_thing_or_settles_it(evening, house, keyholder, now):
    adri, booking = client_of(evening["adri"].member), evening["adri"]
    link = re.search(r'href="(/fault/[^"]*)"', adri.get(f"/bookings/{booking.pk}/").content.decode()).group(1)
    page = adri.get(link).content.decode()
    assert '<option value="station E1" selected>' in page and "call the local emergency number" in page
    key = re.search(r'name="key" value="([^"]+)"', page).group(1)
    fields = {"thing": "station E1", "more": "", "kind": "lamp", "key": key}
    first, second = adri.post("/fault/", fields), adri.post("/fault/", fields)
    assert first.status_code == 302 and first["Location"] == second["Location"]
    assert "Lamp or light" in text(adri.get(first["Location"]))
    assert client_of(evening["bente"].member).get(first["Location"]).status_code == 404
    assert "was reported" in text(adri.get(link))
    desk = client_of(keyholder)
    assert "Booth 1: Lamp or light" in text(desk.get("/desk/"))
    pk = first["Location"].rstrip("/").rpartition("/")[2]
    filled = desk.get(f"/desk/close/?report={pk}").content.decode()
    assert re.search(r'value="station E1"[^>]*checked', filled) and 'value="15:00"' in filled
    assert 'value="Lamp or light"' in filled
    wish = {
        "things": "station E1",
        "first_day": "2026-11-25",
        "first_time": "15:00",
        "last_day": "2026-11-25",
        "last_time": "17:00",
        "reason": "lamp",
        "report": pk,
        "key": "shut",
    }
    shown = desk.post("/desk/close/", wish)
    assert shown.status_code == 409 and f'name="report" value="{pk}"' in shown.content.decode()
    seen = re.search(r'name="seen" value="([^"]+)"', shown.content.decode()).group(1)
    desk.post("/desk/close/", wish | {"seen": seen})
    outage = Outage.objects.get()
    assert (outage.cause, outage.faults.get().pk) == ("fault", int(pk))
    assert "Booth 1: Lamp or light" not in text(desk.get("/desk/"))
    assert "Booth 1: Lamp or light" in text(desk.get(f"/out/{outage.pk}/"))
    assert desk.post(f"/fault/{pk}/settle/").status_code == 302
    assert "Settled" in text(adri.get(first["Location"]))


def test_a_danger_is_answered_with_what_to_do_now(evening, house, keyholder):
    adri = client_of(evening["adri"].member)
    fields = {"thing": "processor P-CO", "kind": "fumes", "key": "f"}
    page = adri.post("/fault/", fields, follow=True)
    assert "Get away from it" in text(page) and "local emergency number" in text(page)
    assert "supplier&#x27;s safety data sheet" in page.content.decode()
    desk = text(client_of(keyholder).get("/desk/"))
    assert "Colour processor: Smell or fumes" in desk


@pytest.mark.parametrize(
    "change",
    [{"thing": ""}, {"thing": "member 1"}, {"kind": "x"}, {"kind": "", "more": ""}, {"more": "x" * 151}],
)
def test_a_report_that_says_nothing_is_asked_again_and_keeps_what_was_typed(evening, house, change):
    client = client_of(evening["adri"].member)
    fields = {"thing": "station E1", "kind": "lamp", "more": "dark", "key": "k"} | change
    answer = client.post("/fault/", fields)
    assert answer.status_code == 422 and "to put right" in text(answer)
    assert fields["more"] in answer.content.decode()


@pytest.mark.parametrize(
    "query", ["", "?thing=x", "?thing=station+%00", "?booking=x", "?booking=999999", "?thing=kit+9"]
)
def test_the_page_opens_whatever_its_address_asks(evening, house, query):
    assert client_of(evening["bente"].member).get(f"/fault/{query}").status_code == 200


def test_words_alone_report_something_else(evening, house):
    answer = client_of(evening["adri"].member).post(
        "/fault/", {"thing": "station E1", "more": "The stool wobbles", "key": "w"}, follow=True
    )
    assert "The stool wobbles" in text(answer)


def test_the_tablet_reports_with_tiles(house, keyholder, clock):
    client = client_of(keyholder)
    page = client.get("/tablet/fault/?thing=processor+P-RC").content.decode()
    assert re.search(r'value="processor P-RC"[^>]* checked', page)
    answer = client.post("/tablet/fault/", {"thing": "processor P-RC", "kind": "leak", "key": "t"}, follow=True)
    assert "Reported: RC processor." in text(answer) and "Get away from it" in text(answer)
    assert client.post("/tablet/fault/", {"kind": "leak", "key": "u"}).status_code == 422


def test_the_desk_asks_as_much_with_outages_and_faults_as_without(evening, house, keyholder, now):
    client = client_of(keyholder)
    client.get("/desk/")
    with CaptureQueriesContext(connection) as without:
        client.get("/desk/")
    shut(house, ["S1", "E2"], at(10, day=25), at(14, day=26), now, keyholder)
    for kind in ("lamp", "leak"):
        actions.report_fault(resource=house.stations["E1"].resource, kind=kind, now=now, by=keyholder)
    with CaptureQueriesContext(connection) as many:
        client.get("/desk/")
    assert len(many) == len(without), [query["sql"] for query in many.captured_queries]
