"""The list of alerts, the page of one, the desk's lines, and the letters to whoever chose them."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk import letters, tasks
from studiodesk.chemistry import actions
from studiodesk.chemistry.models import Alert
from studiodesk.chemistry.rules.alerts import key_of
from studiodesk.journal import actions as journal
from studiodesk.journal.models import ChoreLease, Notice
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def held(house, now, code="P-RC", **more):
    row = house.processors[code]
    key = key_of("processor held", "processor", row.pk)
    return actions.raise_alert(kind="processor held", key=key, processor=row, now=now, **more)


def unlogged(house, now):
    bath = house.baths["P-RC", "dev"]
    return actions.raise_alert(
        kind="unlogged", key=key_of("unlogged", "bath", bath.pk), bath=bath, now=now, facts={"ml": "120", "percent": 8}
    )


def checked(at):
    journal.take_lease(name="baths", holder="test", now=at)
    journal.give_back_lease(name="baths", holder="test", now=at, done=True)


def deed(name, **more):
    return {"deed": name, "key": uuid.uuid4().hex} | more


# ---- the list -------------------------------------------------------------------------------------------------------


def test_without_alerts_the_page_and_the_desk_say_when_it_was_checked(house, people, now):
    client = client_of(people["keyholder"])
    assert "No alerts; the timer has not checked yet" in text_of(client, "/alerts/")
    assert "No alerts , not checked yet: the timer has not run" in text_of(client, "/desk/")
    checked(now - timedelta(minutes=40))
    assert "No alerts, checked 14:20" in text_of(client, "/alerts/")
    assert "No alerts , checked 14:20" in text_of(client, "/desk/")


def test_the_worst_stands_first_with_what_since_when_what_to_do_and_who_has_it(house, people, now):
    log(house, now - HOUR)
    unlogged(house, now)
    held(house, now, since=now - 2 * HOUR, by=people["keyholder"])
    main = soup_of(client_of(people["keyholder"]).get("/alerts/")).main
    heads = [head.get_text(" ", strip=True) for head in main.find_all("h2")]
    assert heads == [
        "RC processor: held, its control strips are past their limits",
        "Fix, RC processor: replenishment is due",
        "Dev, RC processor: more replenisher went than the logged sheets ask 120 mL (8 %)",
    ]
    first, second, _third = main.find("ul").find_all("li", recursive=False)
    said = first.get_text(" ", strip=True)
    assert "since Wed 25 Nov, 13:00 · late: written down only on Wed 25 Nov, 15:00 · nobody has taken it" in said
    assert "Look for the cause; a good strip lets it go again." in said
    assert first.find("svg", class_="octagon") and second.find("svg", class_="triangle")
    ways = [link["href"] for link in second.find_all("a")]
    assert ways == ["/baths/P-RC/fix/replenishment/", f"/alerts/{Alert.objects.get(kind='replenishment due').pk}/"]


def test_members_see_no_alerts(house, people, now):
    alert = held(house, now)
    client = client_of(people["member"])
    for address in ("/alerts/", f"/alerts/{alert.pk}/"):
        assert client.get(address).status_code == 403
    assert client.post(f"/alerts/{alert.pk}/", deed("take")).status_code == 403
    assert Alert.objects.get().taken_by is None
    assert "/alerts/" not in client.get("/baths/").content.decode()


def test_the_list_asks_as_much_of_three_as_of_sixty(house, people, now):
    client = client_of(people["staff"])
    asked = []
    for number in (3, 60):
        for one in range(number):
            row = house.baths["P-RC", "fix"]
            alert = actions.raise_alert(kind="evaporation", key=f"e:{number}:{one}", bath=row, now=now)
            actions.take_alert(alert=alert, now=now, by=people["keyholder"])
        client.get("/alerts/")
        with CaptureQueriesContext(connection) as queries:
            assert client.get("/alerts/").status_code == 200
        asked.append(len(queries))
    assert asked[0] == asked[1] <= 8, [query["sql"] for query in queries.captured_queries]


# ---- one alert ------------------------------------------------------------------------------------------------------


def test_somebody_takes_it_from_the_list_and_gives_it_back_on_its_page(house, people, now):
    alert, client = held(house, now), client_of(people["keyholder"])
    address = f"/alerts/{alert.pk}/"
    answer = client.post(address, deed("take", **{"from": "list"}))
    assert (answer.status_code, answer["Location"]) == (302, f"/alerts/#alert-{alert.pk}")
    assert "taken by Kim , Wed 25 Nov, 15:00" in text_of(client, "/alerts/")
    assert "Kim has taken it" in text_of(client, "/desk/")
    other = client_of(makers.member("Lou", is_keyholder=True))
    page = soup_of(other.get(address)).main
    assert [button["value"] for button in page.find("form").find_all("button")] == ["take-over"]
    assert other.post(address, deed("take")).status_code == 409
    assert other.post(address, deed("give-back")).status_code == 403
    assert client.post(address, deed("give-back"))["Location"] == address
    said = text_of(client, address)
    assert "nobody has taken it" in said and "Taken on · Kim" in said and "Given back · Kim" in said
    assert "Raised · by rule" in said
    assert client.get("/alerts/999999/").status_code == 404
    assert "not known here" in soup_of(client.post(address, deed("burn"), follow=True)).get_text()


def test_it_is_put_off_until_a_time_and_a_wrong_form_keeps_what_was_typed(house, people, now):
    alert, client = held(house, now), client_of(people["keyholder"])
    address = f"/alerts/{alert.pk}/"
    assert soup_of(client.get(address)).find(id="id_until")["value"] == "2026-11-26T10:00"
    wrong = client.post(address, deed("put-off", until="2026-11-25T14:00", reason="the belt comes"))
    page = soup_of(wrong)
    assert wrong.status_code == 422
    assert page.find(id="problems").li.get_text().startswith("Until: Wednesday 25 November 14:00 has passed.")
    assert page.find(id="id_reason").get_text(strip=True) == "the belt comes"
    for until, reason in (("2026-11-26T10:00", ""), ("next week", "x"), ("2026-12-25T10:00", "x")):
        assert client.post(address, deed("put-off", until=until, reason=reason)).status_code == 422
    form = deed("put-off", until="2026-11-25T17:30", reason="the belt comes at five")
    assert [client.post(address, form).status_code for _ in range(2)] == [302, 302]  # pressed twice
    said = text_of(client, "/alerts/")
    assert "put off by Kim until Wed 25 Nov, 17:30: the belt comes at five" in said and "Put off: 1" in said
    desk = text_of(client, "/desk/")
    assert "No alerts" in desk and "1 put off" in desk
    with time_machine.travel(now + 2.5 * HOUR, tick=False):
        assert "was put off by Kim: the belt comes at five" in text_of(client, "/alerts/")
        assert "1 alert" in text_of(client, "/desk/")
    assert client.post(address, deed("bring-back")).status_code == 302
    assert "Put off: 1" not in text_of(client, "/alerts/")


def test_what_no_rule_can_see_is_cleared_by_hand_and_stands_below_for_a_week(house, people, now):
    alert, client = unlogged(house, now), client_of(people["keyholder"])
    address = f"/alerts/{alert.pk}/"
    assert client.post(address, deed("clear", **{"clear-reason": ""})).status_code == 422
    assert client.post(address, deed("clear", **{"clear-reason": "a bottle leaked"})).status_code == 302
    said = text_of(client, "/alerts/")
    assert "cleared Wed 25 Nov, 15:00 by Kim: a bottle leaked" in said
    assert soup_of(client.get(address)).find("form", class_="sheet") is None
    with time_machine.travel(now + 7 * DAY, tick=False):
        assert "a bottle leaked" not in text_of(client_of(people["keyholder"]), "/alerts/")
    other = held(house, now)
    page = soup_of(client.get(f"/alerts/{other.pk}/"))
    assert "It clears by itself" in page.get_text() and page.find(id="id_clear-reason") is None
    assert client.post(f"/alerts/{other.pk}/", deed("clear", **{"clear-reason": "x"})).status_code == 422
    assert Alert.objects.get(pk=other.pk).cleared_at is None


def test_the_desk_counts_all_and_says_the_worst_three_that_its_own_tasks_do_not(house, people, now):
    client = client_of(people["keyholder"])
    log(house, now)  # "Give 2 measures": a task of the desk
    for number in range(3):
        actions.raise_alert(kind="evaporation", key=f"e:{number}", bath=house.baths["P-RC", "fix"], now=now)
    held(house, now)
    page = soup_of(client.get("/desk/")).main
    assert page.find(id="alerts").get_text(strip=True) == "5 alerts"
    lines = page.find(id="alerts").find_parent("p").find_next("ul").find_all("li")
    assert len(lines) == 3 and "RC processor: held" in lines[0].get_text()
    assert page.get_text().count("Give 2 measures") == 1


def test_the_desk_notices_that_an_alert_was_taken(house, people, now):
    alert, client = held(house, now), client_of(people["keyholder"])
    poll = soup_of(client.get("/desk/")).find(attrs={"data-hx-get": True})["data-hx-get"]
    same = client.get(poll, headers={"HX-Request": "true"})
    assert same.headers["HX-Reswap"] == "none"
    actions.take_alert(alert=alert, now=now, by=people["staff"])
    changed = client.get(poll, headers={"HX-Request": "true"})
    assert "HX-Reswap" not in changed.headers and "Sef has taken it" in changed.content.decode()


# ---- letters --------------------------------------------------------------------------------------------------------


@pytest.fixture
def kim(people, now):
    journal.choose_letters(person=people["keyholder"], wanted={"alerts": True}, now=now, by=people["keyholder"])
    return people["keyholder"]


def sweep(at):
    return journal.send_due_notices(now=at, render=letters.render)


def test_alerts_come_by_letter_only_to_who_runs_the_house_and_chose_them(house, people, kim, now, outbox):
    gone = makers.member("Gone", is_keyholder=True, is_active=False)
    for person in (people["member"], gone):  # whatever stands in the table
        journal.choose_letters(person=person, wanted={"alerts": True}, now=now, by=person)
    held(house, now)
    assert actions.tell_of_alerts(now=now) == 1
    assert actions.tell_of_alerts(now=now + HOUR) == 0
    assert list(Notice.objects.values_list("person", "code")) == [(kim.pk, "chemistry.alert")]
    assert sweep(now).sent == 1
    mail = outbox[0]
    assert mail.to == [kim.email]
    assert mail.subject == "RC processor: held, its control strips are past their limits"
    assert "It has been so since Wednesday 25 November 2026, 15:00." in mail.body
    assert "Look for the cause; a good strip lets it go again." in mail.body
    assert f"/alerts/{Alert.objects.get().pk}/" in mail.body and "/you/letters/" in mail.body
    assert "%" not in mail.body and "None" not in mail.body


def test_who_chooses_later_hears_of_what_comes_then(house, people, kim, now, outbox):
    held(house, now)
    actions.tell_of_alerts(now=now)
    journal.choose_letters(person=people["staff"], wanted={"alerts": True}, now=now, by=people["staff"])
    assert actions.tell_of_alerts(now=now + HOUR) == 0
    held(house, now + HOUR, "P-CO")
    assert actions.tell_of_alerts(now=now + HOUR) == 2


def test_no_letter_is_sent_of_what_is_over_or_of_what_the_reader_has_taken(house, people, kim, now, outbox):
    log(house, now)
    actions.tell_of_alerts(now=now)
    assert sweep(now + timedelta(minutes=14)).sent == 0  # mostly given within minutes
    write(house, "given", now, amount_pl=150 * 10**9)
    done = sweep(now + timedelta(minutes=15))
    assert (done.sent, done.called_off) == (0, 1)
    alert = held(house, now)
    actions.tell_of_alerts(now=now)
    actions.take_alert(alert=alert, now=now, by=kim)
    assert sweep(now).called_off == 1 and outbox == []


def test_somebody_else_s_taking_is_said_in_the_letter(house, people, kim, now, outbox):
    alert = held(house, now, since=now - DAY, by=people["staff"])
    actions.tell_of_alerts(now=now)
    actions.take_alert(alert=alert, now=now, by=people["staff"])
    sweep(now)
    assert "Sef has taken it." in outbox[0].body and "It was written down late" in outbox[0].body


def test_the_timetable_tells_of_alerts_after_it_has_looked_at_the_baths(house, kim, now):
    order = list(tasks.CHORES)
    assert order.index("baths") < order.index("alerts") < order.index("letters")
    write(house, "refill", now, ("P-CO", "dev"))
    tasks.CHORES["baths"](now + 21 * DAY)
    assert tasks.CHORES["alerts"](now + 21 * DAY) == 1


def test_who_runs_the_house_is_asked_and_the_tick_is_empty_to_begin_with(house, people):
    for who, asked in (("keyholder", True), ("staff", True), ("member", False)):
        boxes = soup_of(client_of(people[who]).get("/you/letters/")).find_all("input", type="checkbox")
        ticks = {box["name"]: box.has_attr("checked") for box in boxes}
        assert ("alerts" in ticks) is asked
        assert not ticks.get("alerts") and all(on for topic, on in ticks.items() if topic != "alerts")
    tutor = client_of(makers.member("Toos", is_tutor=True))
    assert soup_of(tutor.get("/you/letters/")).find("input", {"name": "alerts"}) is None
    client = client_of(people["keyholder"])
    client.post("/you/letters/", {"alerts": "on", "shifts": "on"})
    box = soup_of(client.get("/you/letters/")).find("input", {"name": "alerts"})
    assert box.has_attr("checked")


def test_the_lease_is_what_checked_means(house, now):
    checked(now)
    assert ChoreLease.objects.get(name="baths").last_done_at == now
