"""The tablet at the dry end: tiles, a stepper, one big button, and an undo."""

from datetime import timedelta

import pytest
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings.models import Booking
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Feed
from tests.chemistry.pages import booked, client_of, soup_of, tablet_client, tapped


def test_sheets_tapped_on_the_tablet_are_logged_once_and_can_be_undone(house, people, now):
    client, tablet = tablet_client(now, people["staff"])
    booking = booked(house, people["member"], now)
    start = soup_of(client.get("/tablet/processor/P-RC/"))
    # the only one who is here is chosen; the size is not guessed
    assert [box["value"] for box in start.find_all("input", checked=True)] == ["print", f"b{booking.pk}"]
    form = tapped(who=f"b{booking.pk}")
    for _ in range(2):  # a second press of the button
        answer = client.post("/tablet/processor/P-RC/", form)
        assert answer.status_code == 302
    feed = Feed.objects.get()
    assert (feed.tablet, feed.member, feed.booking, feed.sheets) == (tablet, people["member"], booking, 5)
    page = soup_of(client.get(answer["Location"]))
    assert "Logged 5 sheets of 8×10 in at 15:00." in page.main.get_text(" ", strip=True)
    assert {box["value"] for box in page.find_all("input", checked=True)} == {"203x254", "print", f"b{booking.pk}"}
    gone = client.post(f"/tablet/undo/{feed.pk}/", follow=True)
    assert "Taken back: 5 sheets of 8×10 in." in soup_of(gone).get_text(" ", strip=True)
    assert queries.standings(now)[1].area_mm2 == 0
    again = client.post(f"/tablet/undo/{feed.pk}/", follow=True)
    assert "already taken back" in soup_of(again).find(id="warned").get_text()


def test_the_same_key_with_other_sheets_is_refused_and_a_form_without_key_too(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    form = tapped()
    client.post("/tablet/processor/P-RC/", form)
    assert client.post("/tablet/processor/P-RC/", form | {"sheets": "6"}).status_code == 422
    assert client.post("/tablet/processor/P-RC/", tapped(key="")).status_code == 400
    assert Feed.objects.get().sheets == 5


def test_a_stepper_redraws_the_count_and_logs_nothing(people, now):
    client, _tablet = tablet_client(now, people["staff"])
    for step, sheets, shown in (
        ("1", "5", "6"),
        ("-1", "5", "4"),
        ("-1", "1", "1"),
        ("1", "10000", "10000"),
        ("1", "x", "1"),
    ):
        page = soup_of(client.post("/tablet/processor/P-RC/", tapped(sheets=sheets, step_sheets=step)))
        assert page.find("output").get_text() == shown
        assert page.find("input", {"name": "sheets"})["value"] == shown
    assert Feed.objects.count() == 0


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"sheet": ""}, "Choose a size."),
        ({"sheet": "999x999"}, "choose one of the list"),
        ({"who": ""}, "Choose whose sheets these are."),
        ({"who": "b999999"}, "choose one of the list"),
        ({"sheets": "0"}, "How many sheets went through? 1 to 10,000."),
        ({"sheets": "1.5"}, "How many sheets went through? 1 to 10,000."),
        ({"kind": "cleaning"}, "choose one of the list"),
    ],
)
def test_what_cannot_be_logged_is_said_and_what_was_chosen_is_kept(people, now, changed, said):
    client, _tablet = tablet_client(now, people["staff"])
    answer = client.post("/tablet/processor/P-RC/", tapped() | changed)
    page = soup_of(answer)
    assert answer.status_code == 422
    assert said in page.find(id="problems").get_text()
    targets = [link["href"][1:] for link in page.find(id="problems").find_all("a")]
    assert "sheets" in changed or (targets and all(page.find(id=target) for target in targets))
    assert Feed.objects.count() == 0
    if "sheet" not in changed:
        assert page.find("input", {"name": "sheet", "value": "203x254"}).has_attr("checked")


def test_a_size_too_wide_for_the_processor_is_not_offered(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    offered = {
        processor: {
            box["value"]
            for box in soup_of(client.get(f"/tablet/processor/{processor}/")).find_all(attrs={"name": "sheet"})
        }
        for processor in ("P-RC", "P-CO")
    }
    assert offered["P-RC"] == {"50x203", "203x254", "406x508"} == offered["P-CO"]
    house.processors["P-CO"].feed_width_mm = 300
    house.processors["P-CO"].save(update_fields=["feed_width_mm"])
    page = soup_of(client.get("/tablet/processor/P-CO/"))
    assert {box["value"] for box in page.find_all(attrs={"name": "sheet"})} == {"50x203", "203x254"}


def test_a_booking_of_another_processor_cannot_be_charged_here(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    elsewhere = booked(house, people["member"], now, processor="P-CO")
    assert client.post("/tablet/processor/P-RC/", tapped(who=f"b{elsewhere.pk}")).status_code == 422


def test_one_tablet_does_not_see_what_another_logged(house, people, now):
    one, _ = tablet_client(now, people["staff"], "one")
    other, _ = tablet_client(now, people["staff"], "other")
    one.post("/tablet/processor/P-RC/", tapped())
    assert "Logged" not in soup_of(other.get("/tablet/processor/P-RC/")).main.get_text()
    assert other.post(f"/tablet/undo/{Feed.objects.get().pk}/").status_code == 404


def test_the_colours_of_the_tablet_are_kept_and_nothing_else_is_taken_as_one(people, now):
    client, _tablet = tablet_client(now, people["staff"])
    assert soup_of(client.get("/tablet/")).html["class"] == ["dim-red"]
    assert soup_of(client.get("/tablet/?look=plain")).html["class"] == ["plain"]
    assert soup_of(client.get("/tablet/")).html["class"] == ["dim-red"]
    back = client.post("/tablet/look/", {"look": "dim-amber", "next": "/tablet/processor/P-RC/"})
    assert back["Location"] == "/tablet/processor/P-RC/"
    assert soup_of(client.get("/tablet/")).html["class"] == ["dim-amber"]
    for nasty in ("https://elsewhere.example/", "//elsewhere.example/tablet/", "/log-out/"):
        assert client.post("/tablet/look/", {"look": '"><', "next": nasty})["Location"] == "/tablet/"
    assert soup_of(client.get("/tablet/")).html["class"] == ["dim-amber"]


def test_another_light_keeps_what_was_tapped_in(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    sent = {"look": "dim-amber", "next": "/tablet/processor/P-RC/"}
    sent |= {"sheet": "203x254", "sheets": "4", "kind": "reject", "who": "unknown"}
    page = soup_of(client.post("/tablet/look/", sent, follow=True))
    assert page.html["class"] == ["dim-amber"]
    chosen = {field["name"]: field["value"] for field in page.select("input[checked]")}
    assert chosen == {"sheet": "203x254", "kind": "reject", "who": "unknown"}
    assert page.find("input", {"name": "sheets"})["value"] == "4"
    assert [b["formaction"] for b in page.select("button[form=log][name=look]:not([hidden])")] == ["/tablet/look/"] * 2


def test_the_tablet_page_asks_the_same_few_questions_however_much_was_logged(house, people, now, db):
    client, tablet = tablet_client(now, people["staff"])
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(db) as asked:
            client.get("/tablet/processor/P-RC/")
        counts.append(len(asked))
        for _ in range(5):
            booked(house, people["member"], now)
            actions.log_sheets(
                processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=1, kind="print",
                who="house", fed_at=now, now=now, tablet=tablet,
            )  # fmt: skip
    assert counts[0] == counts[1] <= 8


def test_everybody_of_today_can_be_chosen_those_who_are_in_first(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    soon = [booked(house, people["member"], now, hours=2) for _ in range(14)]
    Booking.objects.filter(pk__in=[one.pk for one in soon[:13]]).update(starts=now + timedelta(minutes=30))
    came_early = soon[5]
    Booking.objects.filter(pk=came_early.pk).update(arrived_at=now - timedelta(minutes=5))
    page = soup_of(client.get("/tablet/processor/P-RC/"))
    offered = [box["value"] for box in page.find_all("input", {"name": "who"})]
    assert {f"b{one.pk}" for one in soon} <= set(offered)
    assert set(offered[:2]) == {f"b{came_early.pk}", f"b{soon[13].pk}"}
    hidden = [box["value"] for box in page.details.find_all("input")]
    assert page.details.summary.get_text() == "More" and len(hidden) == 2 and not page.details.has_attr("open")
    wrong = soup_of(client.post("/tablet/processor/P-RC/", tapped(who=hidden[-1], sheets="0")))
    assert wrong.details.has_attr("open") and wrong.details.find("input", checked=True)["value"] == hidden[-1]
    assert client.post("/tablet/processor/P-RC/", tapped(who=hidden[-1])).status_code == 302
    assert f"b{Feed.objects.get().booking_id}" == hidden[-1]
    assert client.post("/tablet/processor/P-RC/", tapped(who="b0")).status_code == 422


def test_whoever_prints_sees_that_a_bath_is_spent(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    desk = client_of(people["staff"])
    said = "The Dev is spent. Change it before anything else goes through."
    assert said not in soup_of(client.get("/tablet/processor/P-CO/")).main.get_text()
    assert desk.get("/sheets/").context["warnings"] == []
    actions.record_bath_entry(bath=house.baths["P-CO", "dev"], event="condemned", at=now, now=now, note="brown")
    assert soup_of(client.get("/tablet/processor/P-CO/")).find("p", class_="notice stop").get_text() == said
    assert queries.warnings_for(house.processors["P-CO"], now) == [said]
    assert queries.warnings_for(house.processors["P-RC"], now) == []
    assert soup_of(client.get("/tablet/processor/P-RC/")).find("p", class_="notice stop") is None
    warning = soup_of(desk.get("/sheets/")).main.find("p", class_="notice stop").get_text()
    assert warning == "Colour processor: the Dev is spent. Change it before anything else goes through."
