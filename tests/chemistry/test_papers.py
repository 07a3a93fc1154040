"""Sheets, rolls and film: what fits where, what a piece counts, and the studio's list of sizes."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Feed, SheetSize
from studiodesk.chemistry.rules.feeding import (
    FILM,
    LONGEST_MM,
    ROLL,
    Feeder,
    Sheet,
    counted_area_mm2,
    fits,
    right_length,
    right_paper,
)
from studiodesk.chemistry.rules.sizes import may_change_size, may_keep_size
from studiodesk.stations import actions as stations
from tests.chemistry.pages import client_of, soup_of, tablet_client, tapped

PAPER = Feeder("RC processor", 508, 100, papers=frozenset({"rc"}))
LINE = Feeder("Film line", 1, 1, takes_film=True)
WEB = Sheet("61 cm roll", 610, 0, ROLL)
NARROW = Sheet("203 mm roll", 203, 0, ROLL)
#: A 135-36 or 120 roll counts as 80 in² (from memory): 80 × 645.16 mm².
FILM_MM2 = 51_613


def code(refusal: Any) -> str:
    return refusal.code if refusal else ""


# --- the rules ----------------------------------------------------------------------------------------------------


def test_a_roll_counts_its_width_times_the_length_of_the_piece() -> None:
    # 203 mm × 50 m = 10.15 m² (arithmetic; roll widths as in the trade's lists, from memory)
    assert counted_area_mm2(NARROW, "print", 50_000) == 10_150_000
    assert counted_area_mm2(NARROW, "cleaning", 50_000) == 0
    assert code(right_length(NARROW, None)) == "chemistry.length_needed"
    assert code(right_length(NARROW, 0)) == "chemistry.length_absurd"
    assert code(right_length(NARROW, LONGEST_MM + 1)) == "chemistry.length_absurd"
    assert right_length(NARROW, LONGEST_MM) is None
    assert code(right_length(Sheet("8×10 in", 203, 254), 254)) == "chemistry.length_only_of_rolls"


def test_a_roll_goes_in_by_its_width_however_short_the_piece_is() -> None:
    assert code(fits(PAPER, WEB.piece(300))) == "chemistry.too_wide"  # 610 mm never turns round to 300
    assert fits(PAPER, NARROW.piece(100)) is None
    assert code(fits(PAPER, NARROW.piece(99))) == "chemistry.too_short"
    assert fits(PAPER, NARROW) is None  # the list of what fits knows no length yet


def test_film_never_meets_paper() -> None:
    film = Sheet("120 film", 61, 0, FILM, FILM_MM2)
    assert code(fits(PAPER, film)) == "chemistry.film_in_paper"
    assert fits(LINE, film) is None  # no edge to measure: a film is wound on a reel
    assert code(fits(LINE, Sheet("8×10 in", 203, 254))) == "chemistry.paper_in_film"
    assert counted_area_mm2(film, "print") == FILM_MM2


def test_a_class_of_paper_goes_where_its_process_says() -> None:
    assert right_paper(PAPER, "") is None and right_paper(PAPER, "rc") is None
    assert code(right_paper(PAPER, "fibre")) == "chemistry.paper_elsewhere"


@pytest.mark.parametrize(
    ("sort", "width", "length", "area", "said"),
    [
        ("sheet", 203, 254, None, ""),
        ("sheet", 203, None, None, "chemistry.size_needs_length"),
        ("sheet", 0, 254, None, "chemistry.size_absurd"),
        ("sheet", 5001, 254, None, "chemistry.size_absurd"),
        ("sheet", 203, 254, 5, "chemistry.only_film_has_area"),
        ("roll", 610, None, None, ""),
        ("roll", 610, 254, None, "chemistry.roll_has_no_length"),
        ("film", 61, None, FILM_MM2, ""),
        ("film", 61, None, None, "chemistry.film_needs_area"),
    ],
)
def test_what_a_size_needs(sort: str, width: int, length: int | None, area: int | None, said: str) -> None:
    assert code(may_keep_size(sort, width, length, area, name="x")) == said


def test_what_went_through_keeps_its_area() -> None:
    was, other = ("sheet", 203, 254, None), ("sheet", 204, 254, None)
    assert code(may_change_size(was=was, now=other, in_book=True, name="x")) == "chemistry.size_in_the_book"
    assert may_change_size(was=was, now=was, in_book=True, name="x") is None
    assert may_change_size(was=was, now=other, in_book=False, name="x") is None


@given(width=st.integers(1, 5000), length=st.integers(1, LONGEST_MM), pieces=st.integers(1, 50))
def test_pieces_of_a_roll_add_up_to_one_long_piece(width: int, length: int, pieces: int) -> None:
    web = Sheet("web", width, 0, ROLL)
    assert pieces * counted_area_mm2(web, "print", length) == counted_area_mm2(web, "print", pieces * length)


@pytest.mark.parametrize(
    ("sheet", "inches", "mm2", "square_inches"),
    [  # trade sizes: mm by ISO 1008 as quoted, exact areas in in² × 645.16 mm² (identity); nominal mm is 0.1 % less
        ((203, 254), "8×10", 51_562, 80),
        ((279, 356), "11×14", 99_324, 154),
        ((305, 406), "12×16", 123_830, 192),
        ((406, 508), "16×20", 206_248, 320),
        ((508, 610), "20×24", 309_880, 480),
    ],
)
def test_nominal_millimetres_are_what_counts(sheet: tuple[int, int], inches: str, mm2: int, square_inches: int) -> None:
    counted = counted_area_mm2(Sheet(inches, *sheet), "print")
    assert counted == mm2
    assert counted == pytest.approx(float(square_inches * Decimal("645.16")), rel=0.0011)
    assert counted != round(square_inches * 645.16)  # one convention, never both


# --- the acts and pages -------------------------------------------------------------------------------------------


def test_a_piece_of_a_roll_goes_through_and_is_counted(house: Any, now: Any, people: Any) -> None:
    roll = actions.keep_size(code="R203", name="203 mm roll", sort="roll", width_mm=203, now=now, by=people["staff"])
    given = {"processor": house.processors["P-RC"], "sheet": roll, "sheets": 2, "kind": "print", "who": "house"}
    with pytest.raises(Refused) as refused:
        actions.log_sheets(**given, fed_at=now, now=now)
    assert refused.value.refusal.code == "chemistry.length_needed"
    feed = actions.log_sheets(**given, length_mm=1500, fed_at=now, now=now, by=people["staff"])
    assert (feed.sheet_area_mm2, feed.length_mm) == (203 * 1500, 1500)
    [dev] = [line for line in queries.standings(now) if (line.processor, line.bath) == ("P-RC", "dev")]
    assert dev.area_mm2 == 2 * 203 * 1500
    undo = actions.undo_sheets(feed=feed, now=now, by=people["staff"])
    assert undo.length_mm == 1500
    assert queries.standings(now) == queries.standings(now, recount=True)


def test_at_the_desk_a_roll_asks_for_its_length(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["keyholder"])
    assert "Length of one piece" not in soup_of(client.get("/sheets/")).get_text(" ")  # no roll, no question
    actions.keep_size(code="R203", name="203 mm roll", sort="roll", width_mm=203, now=now)
    sent = {"processor": "P-RC", "sheet": "R203", "sheets": "2", "kind": "print", "who": "house", "key": "r",
            "at": now.strftime("%Y-%m-%dT%H:%M")}  # fmt: skip
    answer = client.post("/sheets/", sent)
    assert answer.status_code == 422 and "how long was the piece?" in soup_of(answer).get_text(" ")
    answer = client.post("/sheets/", sent | {"length": "1.5"}, follow=True)
    assert "2 pieces of 203 mm roll, each 1.5 m" in soup_of(answer).get_text(" ")
    assert Feed.objects.get().length_mm == 1500
    answer = client.post("/sheets/", sent | {"sheet": "203x254", "length": "1.5", "key": "s"})
    assert "has its own length" in soup_of(answer).get_text(" ")


def test_two_classes_of_paper_are_asked_for_on_the_tablet(house: Any, now: Any, people: Any) -> None:
    client, _tablet = tablet_client(now, people["staff"])
    page = "/tablet/processor/P-RC/"
    assert client.get(page).content.count(b'name="paper"') == 0
    for name in ("RC", "Baryta"):
        actions.keep_paper(code=name.lower(), name=name, processes=[house.processes["rc"]], now=now)
    answer = client.post(page, tapped())
    assert answer.status_code == 422 and "Choose the paper." in answer.content.decode()
    client.post(page, tapped(paper="baryta"))
    assert Feed.objects.get().paper.code == "baryta"
    assert 'value="baryta" id="id_paper_0" checked' in client.get(page).content.decode()
    assert "P-CO" in house.processors and client.get("/tablet/processor/P-CO/").content.count(b'name="paper"') == 0


def test_a_class_has_its_own_rate_in_the_bath(house: Any, now: Any, people: Any) -> None:
    paper = actions.keep_paper(code="baryta", name="Baryta", processes=[house.processes["rc"]], now=now)
    fix = house.baths["P-RC", "fix"]
    own = {"by_paper": {"baryta": {"rate_ul_per_m2": 1_000_000}}}
    actions.put_figures_in_force(bath=fix, figures=own, since=now, now=now, by=people["staff"])
    given = {"processor": house.processors["P-RC"], "sheet": house.sizes["203x254"], "kind": "print", "who": "house"}
    actions.log_sheets(**given, sheets=3, fed_at=now, now=now)
    actions.log_sheets(**given, sheets=2, paper=paper, fed_at=now, now=now)
    [line] = queries.standings(now, of=[fix])
    assert line.due_pl == 203 * 254 * (3 * 500_000 + 2 * 1_000_000)
    with pytest.raises(Refused) as refused:
        actions.log_sheets(
            **given | {"processor": house.processors["P-CO"]}, sheets=1, paper=paper, fed_at=now, now=now
        )
    assert refused.value.refusal.code == "chemistry.paper_elsewhere"


def test_film_is_refused_by_a_paper_fixer(house: Any, now: Any) -> None:
    film = actions.keep_size(code="120", name="120 film", sort="film", width_mm=61, film_area_mm2=FILM_MM2, now=now)
    with pytest.raises(Refused) as refused:
        actions.log_sheets(
            processor=house.processors["P-RC"], sheet=film, sheets=1, kind="print", who="house", fed_at=now, now=now
        )
    assert refused.value.refusal.code == "chemistry.film_in_paper"
    assert film not in queries.sheets_for(house.processors["P-RC"])
    process, _ = stations.describe_process(code="film", name="Film", light="white", paper="", material="film")
    line, _ = stations.describe_processor(
        code="FL", name="Film line", process=process, feed_width_mm=100, booths_at_once=1, now=now
    )
    assert [one.code for one in queries.sheets_for(line)] == ["120"]
    feed = actions.log_sheets(processor=line, sheet=film, sheets=4, kind="print", who="house", fed_at=now, now=now)
    assert feed.sheet_area_mm2 == FILM_MM2


def test_staff_keep_the_list_of_sizes(house: Any, now: Any, people: Any) -> None:
    client = client_of(people["staff"])
    new = {"name": "20×25", "inches": "8×10 in", "centimetres": "20×25 cm", "sort": "sheet", "width_mm": "203",
           "length_mm": "254", "in_use": "on"}  # fmt: skip
    client.post("/papers/sizes/new/", new)
    made = SheetSize.objects.get(code="203x254-2")  # another size has that code already
    assert made.label == "20×25 cm / 8×10 in"
    assert "20×25 cm / 8×10 in" in soup_of(client.get("/papers/")).get_text(" ")
    answer = client.post("/papers/sizes/new/", new | {"length_mm": ""})
    assert answer.status_code == 422 and "both edges are needed" in soup_of(answer).get_text(" ")
    client.post(f"/papers/sizes/{made.code}/", new | {"in_use": ""})
    made.refresh_from_db()
    assert not made.in_use and made not in queries.all_sheets()
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=1, kind="print", who="house",
        fed_at=now, now=now,
    )  # fmt: skip
    answer = client.post("/papers/sizes/203x254/", new | {"width_mm": "204"})
    assert "keep the area that was counted" in soup_of(answer).get_text(" ")
    client.post("/papers/classes/new/", {"name": "Baryta", "processes": ["rc"]})
    assert [one.name for one in house.processes["rc"].papers.all()] == ["Baryta"]
    client.post("/papers/classes/baryta/", {"name": "Baryta, fibre", "processes": []})
    assert not house.processes["rc"].papers.exists()
