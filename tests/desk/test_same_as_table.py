"""What is drawn is there as a native table too, line by line: the board of baths and the house on the first page."""

from tests.chemistry.pages import client_of, soup_of
from tests.statement import keeps


def words(element):
    return " ".join(element.get_text(" ").split())


@keeps("table")
def test_the_board_s_table_names_the_same_baths_in_the_same_order(foretold, people):
    client = client_of(people["member"])
    drawn, table = (soup_of(client.get(f"/baths/{way}")).main for way in ("", "?view=table"))
    headings = [heading.a["href"] for heading in drawn.select("ul.plain h2")]
    assert [row.th.a["href"] for row in table.select("tbody tr")] == headings and len(headings) > 1
    assert table.find("svg", class_="wedge") is None


@keeps("table")
def test_the_first_page_s_table_says_each_step_of_each_strip(house, people):
    client = client_of(people["member"])
    drawn, table = (soup_of(client.get(f"/{way}")).main for way in ("", "?view=table"))
    strips = {
        words(strip.h2): [words(step).split(" ", 3)[3] for step in strip.select("ol.steps > li")]
        for strip in drawn.select("section.strip")
    }
    tables = {
        words(one.caption): [words(row.find_all("td")[1]) for row in one.select("tbody tr")]
        for one in table.find_all("table")
    }
    assert tables.keys() == strips.keys() and strips
    for kind, steps in strips.items():
        assert len(tables[kind]) == len(steps), kind
