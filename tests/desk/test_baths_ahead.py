"""What the desk says of the baths ahead, and reckoning again."""

import re
from datetime import date, timedelta

import pytest

from studiodesk.chemistry import actions as chemistry
from studiodesk.planning import actions as planning
from studiodesk.planning.models import KeptForecast
from tests import makers
from tests.chemistry.pages import soup_of
from tests.desk.evening import client_of, text


def section_of(client, address="/desk/"):
    return soup_of(client.get(address)).find("section", attrs={"aria-labelledby": "baths-ahead"})


def lines_of(client):
    return [line.get_text(" ", strip=True) for line in section_of(client).find_all("li")]


def said_of(house, now, **dates):
    """One kept forecast of the colour developer with just these dates: what the model would say some night."""
    bath = house.baths["P-CO", "dev"]
    since = chemistry.record_bath_entry(bath=bath, event="refill", at=now - timedelta(hours=1), now=now).at
    return KeptForecast.objects.create(
        bath=bath, at=now, reckoned_at=now, day=now.date(), why="asked", tank_since=since, nearest="capacity",
        room_mm2=1_000_000, first_limit={"capacity": 1.0}, history_sessions=41, booked_s=3600, **dates,
    )  # fmt: skip


def test_before_the_first_night_the_desk_says_when_it_comes_and_offers_to_reckon_now(house, keyholder, clock):
    section = section_of(client_of(keyholder))
    assert "Nothing is foretold yet: it comes tonight by itself, or now if you press." in section.get_text()
    assert section.form["action"] == "/desk/reckon/" and section.button.get_text() == "Reckon now"


def test_pressing_reckons_every_bath_and_says_so(house, keyholder, clock, now):
    client = client_of(keyholder)
    page = client.post("/desk/reckon/", follow=True)
    assert page.redirect_chain == [("/desk/?reckoned=3#baths-ahead", 302)]
    # It is said where the button stands, out of sight of what is said at the top.
    said = soup_of(page).find("section", attrs={"aria-labelledby": "baths-ahead"}).find(class_="notice")
    assert said.get_text() == "Reckoned again: 3 baths."
    assert section_of(client, "/desk/?reckoned=nine").find(class_="notice") is None
    assert set(KeptForecast.objects.values_list("why", "reckoned_at")) == {("asked", now)}
    section = section_of(client)
    assert "Reckoned today at 15:00." in section.get_text() and section.button.get_text() == "Reckon again"
    assert "No forecast has come due yet" in section.get_text()
    assert client.post("/desk/reckon/", {"pause": "1"})["Location"] == "/desk/?reckoned=3&pause=1#baths-ahead"
    assert client.get("/desk/reckon/").status_code == 405


def test_a_line_a_bath_says_when_how_sure_and_why(house, keyholder, clock, now):
    said_of(house, now, p10=date(2026, 11, 30), p50=date(2026, 12, 4), p90=date(2026, 12, 12))
    client = client_of(keyholder)
    assert lines_of(client) == ["Dev, Colour processor : about Fri 4 December (30 November to 12 December), by use"]
    assert section_of(client).find("a")["href"] == "/baths/P-CO/dev/forecast/"
    assert section_of(client).li.svg["class"] == ["glyph", "triangle"]  # within two weeks
    KeptForecast.objects.update(p50=date(2026, 12, 10), p90=date(2026, 12, 12))
    assert section_of(client).li.svg["class"] == ["glyph", "square"]


def test_a_tired_bath_s_task_carries_the_day_that_is_foretold(house, keyholder, clock, now):
    said_of(house, now, p10=date(2026, 11, 25), p50=date(2026, 11, 26), p90=date(2026, 11, 28))
    chemistry.log_sheets(
        processor=house.processors["P-CO"], sheet=house.sizes["203x254"], sheets=80, kind="print", who="walk-in",
        fed_at=now, now=now,
    )  # fmt: skip
    said = text(client_of(keyholder).get("/desk/"))
    assert "Change soon: Dev, Colour processor: probably tomorrow, by use ; tired, 85 % of its capacity used" in said


def test_the_baths_ahead_stand_before_who_comes_today_and_tomorrow(house, keyholder, clock):
    heads = [
        head.get_text(strip=True) for head in soup_of(client_of(keyholder).get("/desk/")).main.find_all(["h2", "h3"])
    ]
    assert heads.index("To do") < heads.index("Baths ahead") < heads.index("Next") < heads.index("Tomorrow")


def test_the_soonest_stand_first_and_the_rest_is_a_link_away(house, keyholder, clock, now):
    filled = now - timedelta(hours=1)
    for number in range(7):
        makers.bath(house, "P-CO", f"x{number}", dosing="batch", volume_ml=1000, capacity="1", age_days=60 - number)
        chemistry.record_bath_entry(bath=house.baths["P-CO", f"x{number}"], event="refill", at=filled, now=now)
    said_of(house, now, p10=date(2026, 11, 26), p50=date(2026, 11, 26), p90=date(2026, 11, 27))
    planning.keep_forecasts(now=now - timedelta(seconds=1))
    lines = lines_of(client_of(keyholder))
    assert len(lines) == 6
    assert lines[0] == "Dev, Colour processor : probably tomorrow (tomorrow to 27 November), by use"
    said = section_of(client_of(keyholder))
    # Seven and two with limits make nine; the RC developer's age is not known.
    assert said.find("a", href="/baths/").get_text() == "and 3 more"


def test_a_spent_bath_stands_first_whatever_was_foretold(house, keyholder, clock, now):
    said_of(house, now, p10=date(2026, 11, 30), p50=date(2026, 12, 4), p90=date(2026, 12, 12))
    chemistry.log_sheets(
        processor=house.processors["P-CO"], sheet=house.sizes["406x508"], sheets=24, kind="print", who="walk-in",
        fed_at=now, now=now,
    )  # fmt: skip
    assert lines_of(client_of(keyholder))[0] == "Dev, Colour processor : has reached its limit"


def test_the_score_is_read_beside_it(house, keyholder, clock, now):
    said_of(house, now, p10=date(2026, 11, 30), p50=date(2026, 12, 4), p90=date(2026, 12, 12))
    for number in range(20):
        at = now - timedelta(days=60 + number)
        KeptForecast.objects.create(
            bath=house.baths["P-RC", "fix"], at=at, reckoned_at=at, day=at.date(), why="nightly", scored_at=now,
            was_inside=number < 15,
        )  # fmt: skip
    assert "Of the last 20 forecasts 15 came inside their range." in section_of(client_of(keyholder)).get_text()


def test_an_older_reckoning_says_its_day(house, keyholder, clock, now):
    planning.keep_forecasts(now=now - timedelta(days=2))
    assert "Reckoned on Mon 23 Nov at 15:00." in section_of(client_of(keyholder)).get_text()


def test_a_new_forecast_is_news_to_an_open_desk(house, keyholder, clock, now):
    client = client_of(keyholder)

    def polled():
        signature = re.search(r"poll=(\w+)", client.get("/desk/").content.decode()).group(1)
        return lambda: client.get(f"/desk/?poll={signature}", headers={"HX-Request": "true"})

    ask = polled()
    assert ask()["HX-Reswap"] == "none"
    planning.keep_forecasts(now=now)
    assert "HX-Reswap" not in ask()
    ask = polled()
    assert ask()["HX-Reswap"] == "none"


def test_a_member_may_not_reckon(house, clock):
    assert client_of(makers.member("Adri")).post("/desk/reckon/").status_code == 403
    assert KeptForecast.objects.count() == 0


@pytest.mark.parametrize("role", ["is_keyholder", "is_staff"])
def test_whoever_runs_the_house_may(house, clock, role):
    client_of(makers.member("Kim", **{role: True})).post("/desk/reckon/")
    assert KeptForecast.objects.count() == 3
