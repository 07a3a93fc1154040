"""The board of the baths and the page of one, as each person meets them."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.chemistry import actions, queries
from studiodesk.planning import actions as planning
from studiodesk.planning.models import KeptForecast
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

FIX = "/baths/P-RC/fix/"


def test_a_member_sees_how_a_bath_stands_and_no_forms(house, people, now):
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=9, kind="print", who="walk-in",
        fed_at=now, now=now,
    )  # fmt: skip
    page = soup_of(client_of(people["member"]).get("/baths/P-RC/fix/"))
    assert "Replenishment due: 4 measures of 50 mL; 32 mL wait for the next measure." in page.main.get_text(
        " ", strip=True
    )
    assert page.main.find("form") is None
    board = soup_of(client_of(people["member"]).get("/baths/"))
    assert board.main.h2.a.get_text() == "Fix"  # the nearest to its end
    assert soup_of(client_of(people["member"]).get("/baths/?view=table")).find("table")


def test_the_board_says_what_to_do_while_nothing_is_described(db, now):
    with time_machine.travel(now, tick=False):
        page = soup_of(client_of(makers.member("Adri")).get("/baths/"))
    assert "No bath is described yet" in page.get_text()


def test_the_room_left_is_said_in_area_and_in_sheets_of_the_usual_size(house, people, now):
    client = client_of(people["member"])
    log(house, now, "P-CO", 80)  # 4.8 − 4.125 m²
    assert "room for about 0.68 m² , 13 sheets of 8×10 in" in text_of(client, "/baths/P-CO/dev/").replace("²,", "² ,")
    assert queries.usual_size(house.processors["P-CO"]).code == "203x254"
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["406x508"], sheets=2, kind="print", who="house",
        fed_at=now, now=now,
    )  # fmt: skip
    assert queries.usual_size(house.processors["P-RC"]).code == "406x508"


@pytest.mark.parametrize(
    ("hours_left", "said"),
    [(2, "change by 17:00 today"), (24, "change by 15:00 tomorrow"), (47, "change by 14:00 on Fri 27 Nov"),
     (49, "change by Friday 27 November 2026")],
)  # fmt: skip
def test_near_its_age_limit_the_hour_is_said(house, people, now, hours_left, said):
    filled = now + timedelta(hours=hours_left) - timedelta(days=21)
    write(house, "refill", filled, ("P-CO", "dev"), now=now)
    assert said in text_of(client_of(people["member"]), "/baths/P-CO/dev/")


def test_the_board_says_each_thing_once_and_a_pump_with_less_than_a_stroke_is_owed_nothing(house, people, now):
    client = client_of(people["member"])
    log(house, now, count=1)
    write(house, "condemned", now, note="smells")
    board = soup_of(client.get("/baths/")).main
    fix = next(item for item in board.find_all("li") if item.h2.a.get_text() == "Fix").get_text(" ", strip=True)
    assert fix.count("Change it before") == fix.count("Not yet seasoned") == 1 and "person called" not in fix
    assert "Its pump gives by itself; 0.4 mL wait for the next stroke." in board.get_text(" ", strip=True)
    table = soup_of(client.get("/baths/?view=table")).main.table
    column = [one.get_text() for one in table.thead.find_all("th")].index("Replenishment due") - 1
    rows = table.tbody.find_all("tr")
    due = {(row.th.get_text(), row.td.find(string=True)): row.find_all("td")[column].get_text() for row in rows}
    assert (due["Dev", "RC processor"], due["Fix", "RC processor"]) == ("–", "25.8 mL")


def test_a_silver_strip_is_at_hand_where_silver_is_set_and_among_the_rest_elsewhere(people):
    client = client_of(people["keyholder"])
    for address, at_hand in ((FIX, True), ("/baths/P-CO/dev/", False)):
        page = soup_of(client.get(address))
        strip = page.main.find("a", href=f"{address}strip/")
        assert strip.get_text() == "Silver strip read"
        assert (strip.find_parent("details") is None) is at_hand


# --- what is foretold ----------------------------------------------------------------------------------------------


def item_of(board, name, processor):
    """The board's piece about one bath."""
    found = [li for li in board.find_all("li") if li.h2 and li.h2.get_text(" ", strip=True) == f"{name} {processor}"]
    assert len(found) == 1
    return found[0].get_text(" ", strip=True)


def test_the_board_says_of_each_bath_when_it_will_be_spent_and_first_which_is_next(foretold, people):
    board = soup_of(client_of(people["member"]).get("/baths/")).main
    first = board.find("p", class_="notice").get_text(" ", strip=True)
    assert re.fullmatch(r"Next: Dev, Colour processor : (about|on|probably) .*, by (use|age|use or age).*", first)
    said = item_of(board, "Dev", "Colour processor")
    assert re.search(r"of its capacity used About \w+ \d+ \w+, by .* \. 4 times in 5 between .*; based on .*\.", said)
    assert "runs out first" not in said  # what comes first is foretold
    # Silver settles in the RC fixer just under its limit, and it has no age: it will last.
    fixer = item_of(board, "Fix", "RC processor")
    assert "Not within the next 17 weeks . At least 9 times in 10; no session" in fixer
    # What the jug is asked stands on its own page.
    assert "The next four weeks ask" not in fixer
    assert "The next four weeks ask" in text_of(client_of(people["member"]), FIX)


def test_the_board_s_table_has_the_range_in_a_column_of_its_own(foretold, people):
    table = soup_of(client_of(people["member"]).get("/baths/?view=table")).main.table
    heads = [head.get_text() for head in table.thead.find_all("th")]
    about, ranged = heads.index("About") - 1, heads.index("4 times in 5") - 1
    cells = {
        (row.th.get_text(), row.td.get_text()): [cell.get_text() for cell in row.find_all("td")]
        for row in table.tbody.find_all("tr")
    }
    assert cells["Fix", "RC processor"][about] == "not within 17 weeks"
    middle, span = (cells["Dev", "Colour processor"][column] for column in (about, ranged))
    assert re.fullmatch(r"\w{3} \d+ \w+", middle) and re.fullmatch(r"\d+( \w+)? to \d+ \w+", span)
    # Sorted as the wedges are: a day first, without one last.
    assert next(iter(cells)) == ("Dev", "Colour processor")


def test_before_anything_is_foretold_the_pages_stand_as_they_are(house, people):
    client = client_of(people["member"])
    board = soup_of(client.get("/baths/")).main
    assert "Next:" not in board.get_text() and len(board.find_all("h2")) == 3
    assert "How it is foretold" in text_of(client, FIX)
    assert "the first comes tonight" in text_of(client, f"{FIX}forecast/")


def test_a_bath_that_reached_its_limit_since_the_night_is_said_to_have_reached_it(foretold, people, now):
    log(foretold, now, "P-CO", 100)
    board = soup_of(client_of(people["member"]).get("/baths/")).main
    said = item_of(board, "Dev", "Colour processor")
    assert "Change it before anything else goes through." in said and "will be spent" not in said
    notices = [notice.get_text(" ", strip=True) for notice in board.find_all("p", class_="notice")]
    assert notices[0] == "Change now: Dev, Colour processor"
    assert all("Colour processor" not in notice for notice in notices[1:])
    assert board.h2.get_text(" ", strip=True) == "Dev Colour processor"
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    assert (
        "Its capacity has been used up since today, 15:00: change it first." in page.find("p", class_="lede").get_text()
    )
    assert page.find("svg", role="img") is None


def test_spent_baths_stand_first_then_the_soonest_and_those_without_a_day_last(foretold, people, now):
    for days in (50, 40):
        makers.bath(foretold, "P-CO", f"x{days}", dosing="batch", volume_ml=1000, capacity="1", age_days=days)
        write(foretold, "refill", now - timedelta(hours=1), ("P-CO", f"x{days}"), now=now)
    planning.keep_forecasts(now=now)
    day = now.date()
    KeptForecast.objects.filter(bath__code="x50").update(p10=day, p50=day + timedelta(days=1), p90=None)
    KeptForecast.objects.filter(bath__code="x40").update(p10=day + timedelta(days=2), p50=None, p90=None)
    write(foretold, "condemned", now, ("P-RC", "dev"), note="smells")
    for view in ("", "?view=table"):
        board = soup_of(client_of(people["member"]).get(f"/baths/{view}")).main
        places = [link["href"] for link in board.select("h2 a, tbody th a")]
        assert [place.split("/")[-2] for place in places] == ["dev", "x50", "dev", "x40", "fix"]
        assert places[0] == "/baths/P-RC/dev/"


def test_a_bath_that_is_too_old_already_has_a_page_that_says_so(house, people, now):
    filled = now - timedelta(days=30)
    write(house, "refill", filled, ("P-CO", "dev"), now=filled)
    page = soup_of(client_of(people["member"]).get("/baths/P-CO/dev/forecast/")).main
    assert page.find("p", class_="lede").get_text() == (
        "Dev has reached its limit. It has been too old since Mon 16 November, 15:00: change it first."
    )
    # No fan and no table of what can only be behind.
    assert page.find("svg", role="img") is None and page.find("table") is None
    assert "Which limit comes first" not in page.get_text()


def test_what_was_foretold_of_the_tank_before_is_not_said_of_a_new_one(foretold, people, now):
    client = client_of(people["member"])
    says_so = re.compile("Dev (will be spent|is too old)")
    assert says_so.search(text_of(client, "/baths/P-CO/dev/"))
    write(foretold, "refill", now, ("P-CO", "dev"))
    assert not says_so.search(text_of(client, "/baths/P-CO/dev/"))
    comes = "New tank: its forecast comes within a minute."
    for address in ("/baths/", "/baths/?view=table", "/baths/P-CO/dev/"):
        assert text_of(client, address).count(comes) == 1
    planning.keep_forecasts(now=now, why="bath change")
    assert comes not in text_of(client, "/baths/")


def test_a_member_reads_on_the_bath_s_page_until_when_it_is_good(foretold, people):
    said = text_of(client_of(people["member"]), "/baths/P-CO/dev/")
    assert re.search(
        r"Good through (tomorrow|\w+ \d+ \w+) at least 9 times in 10, through \w+ \d+ \w+ at least 1 time in 2\.", said
    )


def test_the_board_asks_as_few_questions_with_forecasts_as_a_few_more_than_without(foretold, people):
    client = client_of(people["member"])
    client.get("/baths/")
    with CaptureQueriesContext(connection) as asked:
        client.get("/baths/")
    assert len(asked) <= 10, [query["sql"] for query in asked.captured_queries]
