"""The pages: a bath's book and the desk's form, as each person meets them."""

import re
import uuid

import pytest

from studiodesk.chemistry import actions
from studiodesk.chemistry.models import BathEntry, Feed
from studiodesk.people.models import Tablet
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of, tablet_client

# --- who may open what ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("address", "stranger", "member", "keyholder"),
    [
        ("/baths/", 302, 200, 200),
        ("/baths/?view=table", 302, 200, 200),
        ("/baths/P-RC/fix/", 302, 200, 200),
        ("/baths/P-RC/nothing/", 302, 404, 404),
        ("/baths/P-RC/fix/replenishment/", 302, 403, 200),
        ("/baths/P-RC/fix/nothing-like-it/", 302, 403, 404),
        ("/sheets/", 302, 403, 200),
        ("/tablet/", 302, 403, 200),
        ("/tablet/processor/P-RC/", 302, 403, 200),
        ("/tablet/processor/P-XX/", 302, 403, 404),
    ],
)
def test_who_may_open_which_page(people, address, stranger, member, keyholder):
    assert client_of().get(address).status_code == stranger
    assert client_of(people["member"]).get(address).status_code == member
    assert client_of(people["keyholder"]).get(address).status_code == keyholder


def test_an_enrolled_tablet_opens_its_pages_and_a_revoked_one_does_not(people, now):
    client, tablet = tablet_client(now, people["staff"])
    assert client.get("/tablet/").status_code == 200
    assert client.get("/baths/").status_code == 302
    Tablet.objects.filter(pk=tablet.pk).update(revoked_at=now)
    assert client.get("/tablet/").status_code == 302


# --- the desk's form -----------------------------------------------------------------------------------------------


def desk_form(**changed):
    return {
        "processor": "P-RC", "sheet": "203x254", "sheets": "3", "kind": "print", "who": "walk-in", "member": "",
        "at": "2026-11-25T14:30", "key": uuid.uuid4().hex,
    } | changed  # fmt: skip


def test_the_desk_logs_the_past_for_any_member_and_takes_it_back(people, now):
    client = client_of(people["keyholder"])
    form = desk_form(who="member", member=people["member"].number.lower(), at="2026-11-20T18:00")
    for _ in range(2):
        page = soup_of(client.post("/sheets/", form, follow=True))
        assert "Logged 3 sheets of 8×10 in." in page.find(id="said").get_text()
    feed = Feed.objects.get()
    assert (feed.member, feed.recorded_by) == (people["member"], people["keyholder"])
    assert feed.fed_at.isoformat() == "2026-11-20T17:00:00+00:00"  # 18:00 on the studio's clock
    soup_of(client.post(f"/sheets/{feed.pk}/undo/", follow=True))
    assert Feed.objects.filter(undoes=feed).count() == 1


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"at": "2026-11-25T15:01"}, "at", "has not come yet"),
        ({"at": "2026-03-29T02:30"}, "at", "jumps over that time"),
        ({"at": "soon"}, "at", "Write a day and a time"),
        ({"who": "member"}, "who", "not said whose sheets"),
        ({"who": ""}, "who", "choose one of the list"),
        ({"member": "nobody"}, "member", "Nobody here has the number nobody."),
        ({"at": "0002-01-01T10:00"}, "at", "Check the year: 1900 to 2200."),
        ({"member": "KIM"}, "member", "Leave the number out"),
        ({"sheets": ""}, "sheets", "How many sheets went through? 1 to 10,000."),
        ({"sheets": "10001"}, "sheets", "How many sheets went through? 1 to 10,000."),
    ],
)
def test_the_desk_form_says_what_is_wrong_at_its_field(people, changed, field, said):
    if changed.get("member") == "KIM":
        changed = {"member": people["keyholder"].number}
    answer = client_of(people["keyholder"]).post("/sheets/", desk_form(**changed))
    page = soup_of(answer)
    assert answer.status_code == 422
    assert said in page.find(id=f"id_{field}_error").get_text()
    assert Feed.objects.count() == 0


def test_fields_that_the_form_does_not_have_change_nothing(people, now):
    client = client_of(people["keyholder"])
    client.post("/sheets/", desk_form(recorded_by="1", tablet="1", sheet_area_mm2="1", file_key="x", undoes="1"))
    feed = Feed.objects.get()
    assert (feed.sheet_area_mm2, feed.file_key, feed.recorded_by) == (203 * 254, None, people["keyholder"])


# --- the bath's book -----------------------------------------------------------------------------------------------


def entry(**changed):
    return {"at": "2026-11-25T14:30", "note": "", "key": uuid.uuid4().hex} | changed


def test_replenishment_is_offered_as_what_is_due_and_writing_it_clears_it(house, people, now):
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=5, kind="print", who="walk-in",
        fed_at=now, now=now,
    )  # fmt: skip
    client = client_of(people["keyholder"])
    page = soup_of(client.get("/baths/P-RC/fix/replenishment/"))
    assert page.find(id="id_amount")["value"] == "100"  # two measures of 50 mL
    assert "safety data sheet" in page.main.get_text()
    form = entry(amount="100", at="2026-11-25T15:00")
    for _ in range(2):
        done = client.post("/baths/P-RC/fix/replenishment/", form, follow=True)
    assert "No replenishment due: 28.9 mL so far" in soup_of(done).main.get_text(" ", strip=True)
    assert BathEntry.objects.get().amount_pl == 100 * PL_PER_ML


@pytest.mark.parametrize(
    ("slug", "sent", "event"),
    [
        ("change", {}, "refill"),
        ("water", {"amount": "150"}, "water"),
        ("working-solution", {"amount": "500.5"}, "working solution"),
        ("partial-dump", {"amount": "1000"}, "partial dump"),
        ("lost", {"amount": "20"}, "lost"),
        ("strip", {"silver": "1.4"}, "strip"),
        ("spent", {"note": "smells"}, "condemned"),
        ("note", {"note": "lid left open"}, "note"),
    ],
)
def test_every_entry_can_be_written_and_stands_in_the_book(people, slug, sent, event):
    client = client_of(people["keyholder"])
    soup_of(client.get(f"/baths/P-RC/fix/{slug}/"))
    page = soup_of(client.post(f"/baths/P-RC/fix/{slug}/", entry(**sent), follow=True))
    row = BathEntry.objects.get()
    assert (row.event, row.recorded_by) == (event, people["keyholder"])
    assert row.amount_pl == (None if "amount" not in sent else int(float(sent["amount"]) * PL_PER_ML))
    assert row.silver_ug_per_l == (1_400_000 if slug == "strip" else None)
    client.post(f"/baths/P-RC/fix/entry/{row.pk}/undo/")
    assert "taken back" in soup_of(client.get("/baths/P-RC/fix/")).main.get_text()
    assert page.find(id="said").get_text(strip=True).startswith("Written down:")


@pytest.mark.parametrize(
    ("slug", "sent", "field"),
    [
        ("replenishment", {"amount": ""}, "amount"),
        ("replenishment", {"amount": "99999"}, "amount"),
        ("replenishment", {"amount": "NaN"}, "amount"),
        ("spent", {}, "note"),
        ("replenishment", {"amount": "-1"}, "amount"),
        ("replenishment", {"amount": "0"}, "amount"),
        ("partial-dump", {"amount": "9000"}, "amount"),
        ("strip", {"silver": "-1"}, "silver"),
        ("strip", {}, "silver"),
        ("change", {"at": "0002-01-01T10:00"}, "at"),
        ("change", {"at": "2027-01-01T10:00"}, "at"),
    ],
)
def test_an_entry_that_cannot_be_is_said_at_its_field(people, slug, sent, field):
    answer = client_of(people["keyholder"]).post(f"/baths/P-RC/fix/{slug}/", entry(**sent))
    page = soup_of(answer)
    assert answer.status_code == 422
    assert page.find(id=f"id_{field}_error")
    assert BathEntry.objects.count() == 0


def test_no_page_says_that_anything_may_go_down_a_drain(people):
    client = client_of(people["keyholder"])
    for slug in ("change", "replenishment", "partial-dump", "lost"):
        text = soup_of(client.get(f"/baths/P-RC/fix/{slug}/")).get_text().lower()
        assert not re.search(r"down the (drain|sink)|sewer", text)
        assert "come before these notes" in text
