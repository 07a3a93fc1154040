"""The bath's book as the house writes it: what is asked once more, what may be taken back, how it reads."""

import uuid
from datetime import timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions
from studiodesk.chemistry.models import Alert, BathEntry, Feed
from studiodesk.chemistry.rules.past import PastEntry, PastFeed
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import booked, client_of, soup_of

FIX = "/baths/P-RC/fix/"


def entry(**changed):
    return {"at": "2026-11-25T14:30", "note": "", "key": uuid.uuid4().hex} | changed


def sheets(**changed):
    return {
        "processor": "P-RC", "sheet": "203x254", "sheets": "3", "kind": "print", "who": "walk-in", "member": "",
        "at": "2026-11-25T14:30", "key": uuid.uuid4().hex,
    } | changed  # fmt: skip


def log(house, now, processor="P-RC", count=5, **more):
    return actions.log_sheets(
        processor=house.processors[processor], sheet=house.sizes["203x254"], sheets=count, kind="print",
        who="walk-in", **({"fed_at": now, "now": now} | more),
    )  # fmt: skip


def write(house, event, at, bath=("P-RC", "fix"), **more):
    return actions.record_bath_entry(bath=house.baths[bath], event=event, **({"at": at, "now": at} | more))


def text_of(client, address):
    return soup_of(client.get(address)).main.get_text(" ", strip=True)


def at_its_end():
    return Alert.objects.filter(kind=Alert.Kind.AT_ITS_END, cleared_at=None).count()


# --- asked once more -----------------------------------------------------------------------------------------------


def test_far_more_than_is_due_is_asked_once_more_and_then_taken_at_its_word(house, people, now):
    log(house, now)  # 128.9 mL due of a tank of 9 L
    client = client_of(people["keyholder"])
    form = entry(amount="774")
    page = soup_of(client.post(f"{FIX}replenishment/", form))
    assert page.main.find("p", role="alert").get_text() == "That is 6 times what is due. Press again if it is so."
    assert page.find(id="id_amount")["value"] == "774" and BathEntry.objects.count() == 0
    sure = {"sure": page.find("input", {"name": "sure"})["value"]}
    # the same answer to another amount is no answer
    other = soup_of(client.post(f"{FIX}replenishment/", form | sure | {"amount": "900"}))
    assert "7 times" in other.main.find("p", role="alert").get_text()
    for _ in range(2):  # and a second press writes nothing more
        assert client.post(f"{FIX}replenishment/", form | sure).status_code == 302
    assert BathEntry.objects.get().amount_pl == 774 * PL_PER_ML
    assert "645.1 mL too much was given: the next are less." in text_of(client, FIX)


@pytest.mark.parametrize("amount", ["386", "450", "100"])
def test_up_to_three_times_what_is_due_or_a_twentieth_of_the_tank_is_not_asked(house, people, now, amount):
    log(house, now)
    answer = client_of(people["keyholder"]).post(f"{FIX}replenishment/", entry(amount=amount))
    assert answer.status_code == 302


def test_what_is_more_than_a_year_back_is_asked_once_more(people, now):
    client = client_of(people["keyholder"])
    for address, form, model in (("/sheets/", sheets(), Feed), (f"{FIX}note/", entry(note="lid open"), BathEntry)):
        form |= {"at": "2025-11-25T14:59"}
        page = soup_of(client.post(address, form))
        assert "Tuesday 25 November 2025 is more than a year ago." in page.main.find("p", role="alert").get_text()
        assert model.objects.count() == 0
        assert client.post(address, form | {"sure": page.find("input", {"name": "sure"})["value"]}).status_code == 302
        assert model.objects.count() == 1
        assert client.post(address, form | {"at": "2025-11-25T15:00", "key": uuid.uuid4().hex}).status_code == 302


# --- at its end ----------------------------------------------------------------------------------------------------


def test_a_condemned_bath_stays_spent_until_it_is_changed_or_the_entry_is_taken_back(house, people, now):
    client, colour = client_of(people["keyholder"]), ("P-CO", "dev")
    assert "until it is changed or this entry is taken back" in text_of(client, "/baths/P-CO/dev/spent/")
    condemned = write(house, "condemned", now, colour, note="brown")
    write(house, "partial dump", now, colour, amount_pl=2_900 * PL_PER_ML)
    write(house, "strip", now, colour, silver_ug_per_l=0)
    assert at_its_end() == 1
    text = text_of(client, "/baths/P-CO/dev/")
    assert text.count("Change it before anything else goes through.") == 1 and "person called" not in text
    client.post(f"/baths/P-CO/dev/entry/{condemned.pk}/undo/")
    assert at_its_end() == 0
    write(house, "condemned", now, colour, note="brown")
    write(house, "refill", now + timedelta(minutes=1), colour)
    assert at_its_end() == 0


def test_a_partial_dump_ends_it_only_if_the_bath_is_then_under_its_limit(house, now):
    colour = ("P-CO", "dev")
    log(house, now, "P-CO", 187)  # 9.6 m² of 4.8: twice what it can do
    write(house, "partial dump", now + timedelta(minutes=1), colour, amount_pl=1_400 * PL_PER_ML)
    assert at_its_end() == 1
    write(house, "partial dump", now + timedelta(minutes=2), colour, amount_pl=1_400 * PL_PER_ML)
    assert at_its_end() == 0


@pytest.mark.parametrize(
    ("slug", "sent", "said"),
    [
        ("replenishment", {"amount": "150.0"}, "150 mL given"),
        ("lost", {"amount": "1234.50"}, "1,234.5 mL spilled or leaked"),
        ("strip", {"silver": "1.40"}, "1.4 g/L of silver read"),
        ("strip", {"note": "pale"}, "Silver strip read"),
        ("spent", {"note": "brown"}, "Called spent"),
        ("change", {}, "Bath change"),
    ],
)
def test_what_was_written_down_is_said(people, slug, sent, said):
    page = soup_of(client_of(people["keyholder"]).post(f"{FIX}{slug}/", entry(**sent), follow=True))
    assert page.find(id="said").get_text(strip=True) == f"Written down: {said}."


# --- taking back ---------------------------------------------------------------------------------------------------


def test_a_taken_back_entry_says_by_whom_and_its_note_is_no_line_of_its_own(house, people, now):
    client = client_of(people["keyholder"])
    page = soup_of(client.post(f"{FIX}water/", entry(amount="150"), follow=True))
    assert page.find(id="said").get_text(strip=True) == "Written down: topped up with 150 mL of water."
    row = BathEntry.objects.get()
    button = page.main.find("form", action=f"{FIX}entry/{row.pk}/undo/").button
    assert button.get_text(" ", strip=True) == "Take back Topped up with water 150 mL, 14:30"
    page = soup_of(client.post(f"{FIX}entry/{row.pk}/undo/", follow=True))
    assert "taken back 15:00 by Kim" in page.main.get_text(" ", strip=True)
    assert len(page.main.find_all("ul", class_="plain")[-1].find_all("li")) == 1
    assert "by Kim" not in text_of(client_of(people["member"]), FIX)


def test_neither_a_note_that_took_back_nor_a_row_of_a_file_is_taken_back(house, people, now):
    client, bath = client_of(people["keyholder"]), house.baths["P-RC", "fix"]
    mine = write(house, "water", now, amount_pl=PL_PER_ML)
    client.post(f"{FIX}entry/{mine.pk}/undo/")
    undo = BathEntry.objects.get(corrects=mine)
    actions.record_past_entries([PastEntry(now, bath.pk, "water", PL_PER_ML, None, "", "e1")], now)
    old = write(house, "water", now - timedelta(days=1), amount_pl=PL_PER_ML)
    for row, said in (
        (mine, "already taken back"),
        (undo, "took another one's place"),
        (BathEntry.objects.get(file_key="e1"), "came from a file"),
        (old, "Only what was logged today"),
    ):
        page = soup_of(client.post(f"{FIX}entry/{row.pk}/undo/", follow=True))
        assert said in page.find(id="warned").get_text()
    assert BathEntry.objects.filter(corrects__isnull=False).count() == 1


def test_sheets_of_a_file_are_not_taken_back_at_the_desk(house, people, now):
    row = PastFeed(
        now, house.processors["P-RC"].pk, house.sizes["203x254"].pk, 2, 203 * 254, "print", "walk-in", None, None, "f1"
    )
    actions.record_past_feeds([row], now)
    client = client_of(people["keyholder"])
    page = soup_of(client.post(f"/sheets/{Feed.objects.get().pk}/undo/", follow=True))
    assert "came from a file" in page.find(id="warned").get_text()
    own = log(house, now)
    client.post(f"/sheets/{own.pk}/undo/")
    assert [feed.undoes for feed in Feed.objects.exclude(undoes=None)] == [own]


# --- before the first filling --------------------------------------------------------------------------------------


def test_nothing_is_written_down_before_the_first_filling_but_an_earlier_filling(house, people, now):
    write(house, "refill", now - timedelta(hours=1))  # 14:00 on the studio's clock
    client = client_of(people["keyholder"])
    page = soup_of(client.post(f"{FIX}replenishment/", entry(amount="50", at="2026-11-25T13:00")))
    assert "Wednesday 25 November 14:00: no earlier tank is known" in page.find(id="id_at_error").get_text()
    assert "Earlier tanks" not in text_of(client, FIX)
    assert client.post(f"{FIX}change/", entry(at="2026-11-25T12:00")).status_code == 302
    assert client.post(f"{FIX}replenishment/", entry(amount="50", at="2026-11-25T13:00")).status_code == 302


# --- how it reads --------------------------------------------------------------------------------------------------


def test_what_was_written_down_later_says_when_it_went_through_and_the_rest_of_the_list_is_reached(house, people, now):
    client = client_of(people["keyholder"])
    log(house, now, fed_at=now - timedelta(days=24, hours=15, minutes=30))
    assert "went through Sat 31 Oct 23:30, written down 15:00" in text_of(client, "/sheets/")
    for _ in range(26):
        log(house, now, count=1)
    text = text_of(client, "/sheets/")
    assert text.count("1 × 8×10 in, 15:00") == 25 and "2 more today" in text and "went through Sat" not in text
    assert "went through Sat 31 Oct 23:30" in text_of(client, "/sheets/?logged=all")


def test_the_desk_says_which_processor_a_booking_is_at_and_keeps_what_was_typed(house, people, now):
    client = client_of(people["keyholder"])
    later = booked(house, people["member"], now)
    booked(house, people["staff"], now, hours=-0.5)
    type(later).objects.filter(pk=later.pk).update(starts=now + timedelta(hours=1))
    here = booked(house, people["keyholder"], now, processor="P-CO")
    page = soup_of(client.get("/sheets/"))
    headings = [group["label"] for group in page.find(id="id_who").find_all("optgroup")]
    assert headings == ["In now", "Earlier today", "Later today", "Others"]
    assert {page.find(id=f"id_{name}").option.get_text() for name in ("processor", "sheet", "who")} == {"Choose"}
    answer = client.post("/sheets/", sheets(who=f"b{here.pk}", sheets="7"))
    wrong = soup_of(answer)
    assert (
        "That booking is at Colour processor, not at RC processor." in wrong.find(id="id_who_error").get_text()
        and wrong.find(id="id_sheets")["value"] == "7"
    )
    assert client.post("/sheets/", sheets(who=f"b{here.pk}", processor="P-CO")).status_code == 302


def test_a_correction_is_refused_by_the_act_itself_too(house, now):
    first = write(house, "water", now, amount_pl=PL_PER_ML)
    undo = actions.take_back_entry(entry=first, note="taken back", now=now)
    for entry_, code in ((first, "chemistry.already_corrected"), (undo, "chemistry.is_a_correction")):
        with pytest.raises(Refused) as refused:
            actions.take_back_entry(entry=entry_, note="taken back", now=now)
        assert refused.value.refusal.code == code
