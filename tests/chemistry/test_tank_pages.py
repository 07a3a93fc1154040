"""A tank's whole life by its pages: poured away, bottled, contaminated, corrected; what cannot be is said."""

import uuid
from datetime import timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import queries
from studiodesk.chemistry.models import Alert, BathEntry
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

HOUR = timedelta(hours=1)
FIX, COLOUR = ("P-RC", "fix"), ("P-CO", "dev")


def line_of(of, now):
    return next(one for one in queries.standings(now, now) if (one.processor, one.bath) == of)


def sent(client, address, **fields):
    return client.post(address, {"at": "2026-11-25T15:00", "key": uuid.uuid4().hex} | fields)


def code_of(house, *args, **more):
    with pytest.raises(Refused) as caught:
        write(house, *args, **more)
    return caught.value.refusal.code


def test_poured_away_it_is_empty_until_its_change_and_no_word_of_use_is_said(house, people, now):
    client = client_of(people["keyholder"])
    log(house, now - HOUR, "P-CO", 100)
    assert sent(client, "/baths/P-CO/dev/dumped/", at="2026-11-25T14:30").status_code == 302
    assert line_of(COLOUR, now).is_empty
    board = text_of(client, "/baths/")
    assert "Empty: Dev, Colour processor" in board
    assert code_of(house, "dumped", now, COLOUR) == "chemistry.tank_is_empty"
    assert code_of(house, "partial dump", now, COLOUR, amount_pl=PL_PER_ML) == "chemistry.tank_is_empty"
    page = soup_of(client.get("/baths/P-CO/dev/")).main
    assert page.find("a", href="/baths/P-CO/dev/dumped/") is None
    write(house, "refill", now, COLOUR)
    assert not line_of(COLOUR, now).is_empty and "Empty:" not in text_of(client, "/baths/")


def test_what_comes_late_is_judged_by_how_it_stood_then(house, now):
    log(house, now - 3 * HOUR, count=10)
    write(house, "dumped", now - HOUR)
    # written down now, done before it was poured away
    write(house, "given", now - 2 * HOUR, now=now, amount_pl=100 * PL_PER_ML)
    assert code_of(house, "given", now, amount_pl=100 * PL_PER_ML) == "chemistry.tank_is_empty"


def test_it_goes_into_its_bottle_and_out_of_it_and_never_twice(house, people, now):
    client = client_of(people["keyholder"])
    write(house, "refill", now - 2 * HOUR, COLOUR)
    assert code_of(house, "out of the bottle", now, COLOUR) == "chemistry.not_in_its_bottle"
    assert sent(client, "/baths/P-CO/dev/into-bottle/").status_code == 302
    assert "In its bottle since Wed 25 Nov, 15:00." in text_of(client, "/baths/P-CO/dev/")
    refused = sent(client, "/baths/P-CO/dev/into-bottle/")
    assert refused.status_code == 422 and "is in its bottle already" in soup_of(refused).main.get_text()
    write(house, "out of the bottle", now + HOUR, COLOUR)
    assert line_of(COLOUR, now + HOUR).bottled_at is None


def test_something_got_in_needs_words_and_stops_the_bath_until_it_is_changed(house, people, now):
    client = client_of(people["keyholder"])
    write(house, "refill", now - HOUR, COLOUR)
    without = sent(client, "/baths/P-CO/dev/contaminated/")
    assert without.status_code == 422 and not BathEntry.objects.filter(event="contaminated").exists()
    assert sent(client, "/baths/P-CO/dev/contaminated/", note="bleach-fix splashed in").status_code == 302
    assert "Contaminated since Wed 25 Nov, 15:00" in text_of(client, "/baths/P-CO/dev/")
    line = line_of(COLOUR, now)
    assert line.contaminated_at == now
    write(house, "refill", now + HOUR, COLOUR)
    assert line_of(COLOUR, now + HOUR).contaminated_at is None


def test_a_correction_takes_the_place_of_the_old_line_and_both_can_be_read(house, people, now):
    client = client_of(people["keyholder"])
    log(house, now - HOUR, count=20)
    slip = write(house, "given", now, amount_pl=400 * PL_PER_ML)
    address = f"/baths/P-RC/fix/entry/{slip.pk}/correct/"
    assert soup_of(client.get("/baths/P-RC/fix/")).main.find("a", href=address)
    form = soup_of(client.get(address)).main.form
    assert form.find(id="id_amount")["value"] == "400"
    assert sent(client, address, amount="300").status_code == 302
    new = BathEntry.objects.get(corrects=slip)
    assert (new.event, new.amount_pl) == ("given", 300 * PL_PER_ML) and line_of(FIX, now).given_pl == 300 * PL_PER_ML
    said = text_of(client, "/baths/P-RC/fix/")
    assert "400 mL" in said and "corrected" in said
    # what the board showed before it was known is asked for with known_at
    later = now + HOUR
    write(house, "given", now, now=later, amount_pl=250 * PL_PER_ML, corrects=new)
    then = [next(one for one in queries.standings(later, known, recount=True) if (one.processor, one.bath) == FIX)
            for known in (now, later)]  # fmt: skip
    assert [one.given_pl // PL_PER_ML for one in then] == [300, 250]
    again = client.get(address, follow=True)
    assert again.redirect_chain and "already" in again.content.decode()


@pytest.mark.parametrize("amount", ["", "0", "-5", "1e30", "x", "99999999"])
def test_a_correction_that_cannot_be_changes_nothing_and_loses_nothing(house, people, now, amount):
    log(house, now - HOUR, count=20)
    slip = write(house, "given", now, amount_pl=400 * PL_PER_ML)
    response = sent(
        client_of(people["keyholder"]), f"/baths/P-RC/fix/entry/{slip.pk}/correct/", amount=amount, note="n"
    )
    assert response.status_code == 422 and not BathEntry.objects.filter(corrects=slip).exists()
    assert soup_of(response).main.find(id="id_note").get_text(strip=True) == "n"


def test_millilitres_that_were_perhaps_litres_are_asked_about_once(house, people, now):
    client = client_of(people["keyholder"])
    fields = {"at": "2026-11-25T15:00", "amount": "1.5", "key": uuid.uuid4().hex}
    asked = client.post("/baths/P-RC/fix/partial-dump/", fields)
    assert asked.status_code == 422 and "Was it 1.5 litres?" in asked.content.decode()
    sure = soup_of(asked).main.find("input", attrs={"name": "sure"})["value"]
    assert (
        client.post("/baths/P-RC/fix/partial-dump/", fields | {"sure": sure, "key": uuid.uuid4().hex}).status_code
        == 302
    )
    assert BathEntry.objects.get().amount_pl == 1_500_000_000


def test_what_was_drawn_off_takes_its_silver_along_and_belongs_to_what_is_given_alone(house, now):
    log(house, now - HOUR, count=40)
    before = line_of(FIX, now).silver_ug_per_l
    write(house, "given", now, amount_pl=900 * PL_PER_ML, drawn_pl=900 * PL_PER_ML)
    # a tenth of 9 L is drawn off and made up again: nine tenths stay
    assert line_of(FIX, now).silver_ug_per_l == pytest.approx(before * 0.9)
    assert code_of(house, "water", now, amount_pl=PL_PER_ML, drawn_pl=PL_PER_ML) == "chemistry.drawn_too_much"
    assert code_of(house, "given", now, amount_pl=PL_PER_ML, drawn_pl=10**14) == "chemistry.drawn_too_much"
    assert Alert.objects.filter(kind="at its end").count() == 0
