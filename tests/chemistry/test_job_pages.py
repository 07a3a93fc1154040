"""The pages of the jobs and of a processor's day: the steward goes through them with nothing but the page."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiodesk.bookings import actions
from studiodesk.chemistry.models import Alert
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Job, JobDone, ProcessorOpening
from studiodesk.stations.rules import jobs as rules
from tests.chemistry.pages import client_of, soup_of

DAY = timedelta(days=1)
RC = "/processors/P-RC/day/"


@pytest.fixture
def listed(house: Any, now: Any) -> dict[str, Job]:
    machine = house.processors["P-RC"]
    made = {
        "water": {"name": "Water topped up first", "occasion": rules.OPENING, "processor": machine, "position": 0},
        "temp": {"name": "Developer temperature", "occasion": rules.OPENING, "processor": machine, "position": 1,
                 "asks": rules.NUMBER, "unit": "°C", "at_least": Decimal("33"), "at_most": Decimal("35")},
        "rinse": {"name": "Crossovers rinsed", "occasion": rules.CLOSING, "processor": machine,
                  "caution": "Gloves and eye protection."},
        "spill": {"name": "Spill kit looked through", "occasion": rules.DAYS, "every_days": 30, "how": "Count it."},
    }  # fmt: skip
    return {code: stations.keep_job(code=code, now=now, **fields)[0] for code, fields in made.items()}


def words(response: Any) -> str:
    return " ".join(soup_of(response).main.get_text(" ").split())


def press(client: Any, name: str, address: str = RC, **values: str) -> Any:
    """The button of that name on the page, with what stands in its form and ``values`` by their labels' fields."""
    page = soup_of(client.get(address)).main
    [button] = [one for one in page.find_all("button") if " ".join(one.get_text(" ").split()) == name]
    form = button.find_parent("form")
    sent = {one["name"]: one.get("value", "") for one in form.find_all("input") if one.get("name")}
    if button.get("name"):
        sent[button["name"]] = button.get("value", "")
    for field, value in values.items():
        [found] = [one for one in sent if one.endswith(f"-{field}")]
        sent[found] = value
    return client.post(form.get("action") or address, sent, follow=True)


def test_a_processor_is_opened_step_by_step_and_closed(house: Any, people: Any, listed: Any, now: Any) -> None:
    client = client_of(people["keyholder"])
    assert "RC processor, not opened today" in words(client.get("/baths/P-RC/fix/"))
    assert "Gloves and eye protection." not in words(client.get(RC))  # nothing to close yet
    press(client, "Begin its opening")
    said = soup_of(press(client, "Ready for paper")).get_text(" ")
    assert "still open are Water topped up first, Developer temperature." in said
    assert ProcessorOpening.objects.get().ready_at is None
    press(client, "Done : Water topped up first")
    said = soup_of(press(client, "Done : Developer temperature", value="31.5")).get_text(" ")
    assert "out of its tolerance: put it right and read it again" in said
    page = words(client.get(RC))
    assert "Out of tolerance · 31.5 °C" in page and "From 33 to 35 °C." in page
    press(client, "Ready for paper")
    assert ProcessorOpening.objects.get().ready_at is None
    press(client, "Write it down again : Developer temperature", value="34")
    press(client, "Ready for paper")
    assert ProcessorOpening.objects.get().ready_by == people["keyholder"]
    assert "open since 15:00" in words(client.get("/baths/?view=table"))
    press(client, "Done : Crossovers rinsed")
    press(client, "Closed for today")
    closed = ProcessorOpening.objects.get()
    assert closed.closed_at == now and "closed 15:00" in words(client.get(RC))
    assert not Alert.objects.filter(cleared_at=None, kind="out of tolerance").exists()


def test_a_number_that_is_none_loses_nothing_that_was_written(house: Any, people: Any, listed: Any) -> None:
    client = client_of(people["keyholder"])
    press(client, "Begin its opening")
    for value in ("", "warm", "1e9", "NaN"):
        response = press(client, "Done : Developer temperature", value=value, note="read twice")
        assert response.status_code == 422, value
        assert soup_of(response).main.find("input", attrs={"value": "read twice"})
    assert not JobDone.objects.exists()


def test_a_job_of_days_is_done_left_out_and_taken_back_on_its_page(house: Any, people: Any, listed: Any) -> None:
    client = client_of(people["keyholder"])
    assert "Due today." in words(client.get("/jobs/")) and "Count it." in words(client.get("/jobs/"))
    refused = press(client, "Leave it out : Spill kit looked through", "/jobs/")
    assert refused.status_code == 422 and "not without a reason" in words(refused)
    press(client, "Leave it out : Spill kit looked through", "/jobs/", note="ordered a new one")
    said = words(client.get("/jobs/"))
    assert "Left out · ordered a new one" in said and "Due on Friday 25 December 2026." in said
    press(client, "Take it back : Spill kit looked through", "/jobs/")
    assert "Due today." in words(client.get("/jobs/"))


def test_staff_keep_the_list_and_a_wrong_job_is_said(house: Any, people: Any, now: Any) -> None:
    client = client_of(people["staff"])
    assert "No job is kept yet" in words(client.get("/jobs/"))
    fields = {"name": "Safelight test", "occasion": "every so many days", "every_days": "180", "who": "staff",
              "asks": "a few words", "in_use": "on", "position": "", "processor": ""}  # fmt: skip
    wrong = client.post("/jobs/new/", fields | {"every_days": ""})
    assert wrong.status_code == 422 and "after how many" in words(wrong)
    assert client.post("/jobs/new/", fields).status_code == 302
    job = Job.objects.get()
    assert (job.code, job.first_day, job.every_days) == ("safelight-test", now.date(), 180)
    assert client.post("/jobs/new/", fields).status_code == 302 and Job.objects.filter(code="safelight-test-2").exists()
    edit = f"/jobs/of/{job.code}/"
    assert soup_of(client.get(edit)).main.find(id="id_every_days")["value"] == "180"
    client.post(edit, fields | {"every_days": "90", "first_day": "2027-01-05"})
    job.refresh_from_db()
    assert (job.every_days, str(job.first_day)) == (90, "2027-01-05")
    assert "every 90 days" in words(client.get("/jobs/kept/"))


def test_what_is_not_there_and_who_may_not(house: Any, people: Any, listed: Any) -> None:
    member, keyholder = client_of(people["member"]), client_of(people["keyholder"])
    assert keyholder.get("/processors/none/day/").status_code == 404
    assert keyholder.post("/jobs/of/none/done/").status_code == 404
    assert keyholder.post("/jobs/line/99999/undo/").status_code == 404
    assert keyholder.get("/jobs/kept/").status_code == 403
    for address in ("/jobs/", RC):
        assert member.get(address).status_code == 403
    Job.objects.filter(code="spill").update(who="staff")
    assert "For staff." in words(keyholder.get("/jobs/"))
    assert keyholder.post("/jobs/of/spill/done/").status_code == 403


def test_a_processor_that_nobody_has_opened_today_is_shown_as_such_where_people_book(
    house: Any, people: Any, listed: Any, now: Any
) -> None:
    member = client_of(people["member"])
    today = "/book/?station=E1&process=rc&day=2026-11-25&begins=18:00&until=20:00"
    tomorrow = today.replace("11-25", "11-26")
    assert "RC processor · not opened today : ask whoever" in words(member.get(today))
    assert "not opened today" not in words(member.get(tomorrow))
    assert "not opened today" not in words(member.get(today.replace("rc", "ra4")))  # nothing is kept of that one
    booked = actions.book(
        member=people["member"], by=people["member"], station=house.stations["E1"], process=house.processes["rc"],
        starts=now + timedelta(hours=3), ends=now + timedelta(hours=5), now=now,
    )  # fmt: skip
    assert "not opened today" in words(member.get(f"/bookings/{booked.pk}/"))
    opening = stations.begin_opening(processor=house.processors["P-RC"], now=now, by=people["keyholder"])
    ProcessorOpening.objects.filter(pk=opening.pk).update(ready_at=now)
    for address in (today, f"/bookings/{booked.pk}/"):
        assert "not opened today" not in words(member.get(address))
