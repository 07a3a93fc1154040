"""The page of a bath's fan: the picture, its twin in words and figures, and what was said earlier."""

import re
from datetime import timedelta

from studiodesk.bookings.models import Hold
from studiodesk.planning.models import KeptForecast
from studiodesk.stations.models import Lane
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import write

FIX = "/baths/P-RC/fix/"


def test_the_fan_is_a_picture_with_a_name_and_its_twin_in_words_and_figures(foretold, people):
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    picture = page.find("svg", role="img")
    title, said = (page.find(id=name) for name in picture["aria-labelledby"].split())
    assert title.get_text().strip() == "Dev: recorded use and what is expected"
    sentence = page.find("p", class_="lede").get_text(strip=True)
    # Who hears it is told the shape; the sentence was read before it.
    assert sentence.startswith("Dev ") and sentence not in said.get_text()
    assert re.match(r"\d+ % used now; the middle crosses the limit on \d+ \w+; ", said.get_text().strip())
    assert not picture.find_all(style=True) and len(picture.select("path.band")) == 3
    words = {text.get_text() for text in picture.find_all("text")}
    assert {"now", "limit", "50 %", "too old"} <= words
    heads = [head.get_text() for head in page.table.thead.find_all("th")]
    assert heads == ["By the end of", "Limit reached by then", "4 times in 5", "Middle"]
    rows = page.find("table").tbody.find_all("tr")
    assert [row.th.get_text() for row in rows[:3]] == ["Wed 25 Nov", "Thu 26 Nov", "Fri 27 Nov"]
    assert 8 <= len(rows) <= 24
    chances = [row.find_all("td")[0].get_text() for row in rows]
    assert chances[-1] in {"surely", "over 19 times in 20"}
    assert "By its age, change by" in page.get_text() and "Which limit comes first" in page.get_text()


def test_a_bath_that_only_grows_old_has_no_column_of_a_limit_by_use(house, people, now):
    makers.bath(house, "P-CO", "tray", dosing="batch", volume_ml=1000, age_days=14)
    write(house, "refill", now - timedelta(days=1), ("P-CO", "tray"), now=now)
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/tray/forecast/")).main
    assert [head.get_text() for head in page.table.thead.find_all("th")] == ["By the end of", "4 times in 5", "Middle"]
    terms = [term.get_text() for term in page.find_all("dt")]
    assert "Change by" in terms and "By its age, change by" not in terms
    assert "; too old on 8 December." in page.find(id="fan-said").get_text()


def test_every_word_of_the_fan_stands_on_a_plate_or_off_the_plot(foretold, people):
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    for place in page.find("svg", role="img").select("svg.at"):
        word = place.find("text")
        if word is None or "room0" in word.get("class", []) or "room1" in word.get("class", []):
            continue  # a mark, or a date below the plot
        plate = place.find("rect", class_="plate")
        if plate is None:
            assert "room2" in word["class"]
            continue
        assert float(plate["width"]) >= 7 * len(word.get_text())


def test_the_list_of_earlier_forecasts_says_what_was_said_and_what_came(foretold, people, now):
    at = now - timedelta(days=30)
    KeptForecast.objects.create(
        bath=foretold.baths["P-CO", "dev"], at=at, reckoned_at=at, day=at.date(), why="nightly",
        p10=at.date() + timedelta(days=5), p50=at.date() + timedelta(days=8), p90=at.date() + timedelta(days=12),
        first_limit={"capacity": 1.0}, nearest="capacity", room_mm2=1, scored_at=now, was_inside=False,
        passed_on=at.date() + timedelta(days=20),
    )  # fmt: skip
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    table = page.find_all("table")[-1]
    rows = [[cell.get_text(strip=True) for cell in row.find_all(["th", "td"])] for row in table.tbody.find_all("tr")]
    assert rows == [
        ["Wed 25 Nov, 15:00", rows[0][1], "–", "not known yet"],
        ["Mon 26 Oct, 15:00", "31 October to 7 November", "Sun 15 Nov", "outside"],
    ]
    assert "The one forecast that came due did not come inside its range." in page.get_text()


def test_a_planned_bath_change_stands_in_the_fan_and_in_words(foretold, people, now):
    # No act plans bath changes yet: the plan comes with its own issue.
    lane = Lane.objects.get(resource__processor=foretold.processors["P-CO"], number=1)
    starts = now + timedelta(days=3)
    Hold.objects.create(lane=lane, starts=starts, ends=starts + timedelta(hours=1), cause=Hold.Cause.BATH_CHANGE)
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    assert "Bath changes planned Sat 28 Nov, 15:00" in page.get_text(" ", strip=True)
    assert "bath change" in {word.get_text() for word in page.find("svg", role="img").find_all("text")}


def test_a_bath_that_is_not_there_has_no_forecast(people):
    client = client_of(people["member"])
    assert client.get("/baths/P-CO/none/forecast/").status_code == 404
    assert client_of().get(f"{FIX}forecast/").status_code == 302
