"""Each figure of a bath leads in one click to the lines that it was summed from, and they sum to it."""

import re
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Feed
from studiodesk.units import PL_PER_ML
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

HOUR = timedelta(hours=1)
FIX = "/baths/P-RC/fix/"


@pytest.fixture
def worked(house, now):
    """A refill, sheets before and after it, one log and one giving taken back, water, working solution and a strip."""
    log(house, now - 3 * HOUR, count=9)
    write(house, "refill", now - 2 * HOUR)
    log(house, now - HOUR, count=20)
    gone = log(house, now - HOUR, count=4)
    actions.undo_sheets(feed=gone, now=now)
    write(house, "given", now - HOUR, amount_pl=300 * PL_PER_ML)
    slip = write(house, "given", now - HOUR, amount_pl=70 * PL_PER_ML)
    actions.take_back_entry(entry=slip, note="a slip", now=now)
    write(house, "water", now - HOUR, amount_pl=100 * PL_PER_ML)
    write(house, "working solution", now - HOUR, amount_pl=50 * PL_PER_ML)
    write(house, "strip", now - HOUR, silver_ug_per_l=800_000)
    return house


def line_of(now):
    return next(one for one in queries.standings(now, now) if (one.processor, one.bath) == ("P-RC", "fix"))


def lede(client, address):
    return soup_of(client.get(address)).main.find(class_="lede").get_text(" ", strip=True)


def test_the_links_of_the_sums_lead_to_lines_with_the_same_sum(worked, people, now):
    client, line = client_of(people["member"]), line_of(now)
    assert (line.sheets, line.area_mm2) == (20, 20 * 203 * 254) and line.given_pl == 300 * PL_PER_ML
    sums = soup_of(client.get(FIX)).main.find(attrs={"aria-labelledby": "sums"})
    figures = {one.get_text(" ", strip=True): one.find_next("dd").a for one in sums.find_all("dt")}
    said = {name: (a.get_text(" ", strip=True), lede(client, a["href"])) for name, a in figures.items() if a}
    assert said["Sheets through"][0] == "20 · 1.03 m²" and "20 sheets, 1.03 m²." in said["Sheets through"][1]
    assert said["Replenishment given"][0] == "300 mL" and "300 mL in all." in said["Replenishment given"][1]
    assert said["Working solution added"][0] == "50 mL" and "50 mL in all." in said["Working solution added"][1]
    assert said["Water added"][0] == "100 mL" and "100 mL in all." in said["Water added"][1]
    assert "Since Wednesday 25 November 2026, 13:00." in said["Filled"][1]


def test_what_was_taken_back_stands_there_and_is_not_counted(worked, people, now):
    client = client_of(people["keyholder"])
    rows = soup_of(client.get(f"{FIX}book/?kind=sheets")).main.tbody.find_all("tr")
    said = [row.get_text(" ", strip=True) for row in rows]
    assert len(said) == 3 and sum("taken back" in one for one in said) == 1
    assert "29 sheets" in lede(client, f"{FIX}book/?kind=sheets")  # with those of the tank before
    given = text_of(client, f"{FIX}book/?kind=given")
    assert given.count("taken back") == 1 and "370 mL" not in given


def test_a_stretch_is_from_its_first_moment_up_to_but_not_with_its_last(worked, people, now):
    client = client_of(people["member"])
    at = Feed.objects.filter(sheets=20).get().fed_at
    inside = f"{FIX}book/?kind=sheets&from={at.isoformat().replace('+', '%2B')}"
    assert "20 sheets" in lede(client, inside)
    before = f"{FIX}book/?kind=sheets&until={at.isoformat().replace('+', '%2B')}"
    assert "9 sheets" in lede(client, before)


@pytest.mark.parametrize(
    "asked",
    [
        "from=2026-11-25T13:00&until=2026-11-24T13:00",
        "from=yesterday",
        "kind=nothing",
        "from=0001-01-01T00:00",
        "from=%00",
    ],
)
def test_a_stretch_that_cannot_be_is_said_and_nothing_breaks(worked, people, asked):
    response = client_of(people["member"]).get(f"{FIX}book/?{asked}")
    assert response.status_code == 422 and soup_of(response).main.find(class_="problems")


@pytest.mark.parametrize("page", ["0", "-1", "99", "x", "1e9"])
def test_a_page_that_there_is_not_is_the_nearest(worked, people, page):
    client = client_of(people["member"])
    assert client.get(f"{FIX}book/?page={page}").status_code == 200


def test_many_lines_are_parted_into_pages_that_keep_what_was_asked(house, people, now):
    for minute in range(60):
        log(house, now - timedelta(minutes=minute), count=1)
    page = soup_of(client_of(people["member"]).get(f"{FIX}book/?kind=sheets")).main
    assert len(page.tbody.find_all("tr")) == 50 and "Page 1 of 2" in page.get_text()
    further = page.find("a", string="Earlier")["href"]
    assert parse_qs(urlsplit(further).query) == {"kind": ["sheets"], "page": ["2"]}
    rest = soup_of(client_of(people["member"]).get(f"{FIX}book/{further}")).main
    assert len(rest.tbody.find_all("tr")) == 10 and "60 sheets" in rest.find(class_="lede").get_text()


def test_a_member_sees_no_names_and_whoever_runs_the_house_does(house, people, now):
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=2, kind="print", who="member",
        member=people["member"], fed_at=now, now=now,
    )  # fmt: skip
    name, other = people["member"].name, makers.member("Bo")
    shown = [re.sub(r"\s+", " ", text_of(client_of(who), f"{FIX}book/")) for who in (other, people["keyholder"])]
    assert [name in one for one in shown] == [False, True]


def test_a_bath_that_there_is_not_is_not_there(house, people):
    assert client_of(people["member"]).get("/baths/P-RC/none/book/").status_code == 404
