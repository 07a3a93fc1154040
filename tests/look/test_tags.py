"""What the tags draw, read back from the markup."""

import re
from datetime import date, time, timedelta

import pytest
from bs4 import BeautifulSoup
from django import forms
from django.utils import translation

from tests.statement import keeps

from .samples import at, bath, drawn, line, steps, stretch


def soup(source, **context):
    return BeautifulSoup(drawn(source, **context), "html.parser")


def words(element):
    return " ".join(element.get_text(" ").split())


@pytest.mark.parametrize(
    ("source", "value", "said"),
    [
        ("{{ v|clock }}", at(14, 45), "14:45"),
        ("{{ v|clock }}", time(9, 5), "09:05"),
        ("{{ v|clock }}", None, ""),
        ("{{ v|long_day }}", date(2026, 11, 27), "Friday 27 November 2026"),
        ("{{ v|short_day }}", at(0, 30), "Fri 27 Nov"),
        ("{{ v|short_day }}", at(23, 30), "Fri 27 Nov"),
        ("{{ v|span_words }}", stretch(at(14, 45), at(18), "free"), "14:45 to 18:00"),
        ("{{ v|span_words }}", stretch(at(22), at(22) + timedelta(hours=2), "free"), "22:00 to midnight"),
        (
            "{{ v|span_words }}",
            stretch(at(22), at(22) + timedelta(hours=4), "free"),
            "Fri 27 Nov 22:00 to Sat 28 Nov 02:00",
        ),
        ("{{ v|length_words }}", timedelta(hours=3, minutes=15), "3 h 15 min"),
        ("{{ v|length_words }}", stretch(at(14), at(14, 45), "free"), "45 min"),
        ("{{ v|length_words }}", timedelta(hours=2), "2 h"),
        ("{{ v|ml }}", 1_234_500_000_000, "1,234.5 mL"),
        ("{{ v|ml }}", 12_000_000_000, "12 mL"),
        ("{{ v|ml }}", 0, "0 mL"),
        ("{{ v|ml }}", -3_200_000_000, "−3.2 mL"),
        ("{{ v|ml }}", 40_000_000, "under 0.1 mL"),
        ("{{ v|ml }}", None, ""),
        ("{{ v|litres }}", 9_000_000_000_000, "9 L"),
        ("{{ v|litres }}", 1_250_000_000_000, "1.25 L"),
        ("{{ v|area }}", 2_389_000, "2.39 m²"),
        ("{{ v|area }}", 0, "0.00 m²"),
        ("{{ v|percent }}", 0.63, "63 %"),
        ("{{ v|percent }}", 0.9999, "99 %"),
        ("{{ v|percent }}", 0.001, "under 1 %"),
        ("{{ v|percent }}", 0, "0 %"),
    ],
)
def test_a_filter_says_it_as_a_person_would(source, value, said):
    with translation.override("en-gb"):
        assert drawn(source, v=value) == said


def test_a_free_stretch_is_a_link_that_says_from_when_to_when_and_how_long():
    page = soup(
        "{% day_line l %}", l=line(stretch(at(14, 45), at(18), "free", url="/book"), stretch(at(18), at(22), "taken"))
    )
    free, taken = page.find_all("li")
    assert words(free.a) == "Free 14:45 to 18:00 3 h 15 min"
    assert free.a["href"] == "/book" and free.a["title"] == "Free 14:45 to 18:00, 3 h 15 min"
    assert free["class"] == ["free", "t39", "w5", "h3"]
    assert taken.a is None and words(taken) == "Taken 18:00 to 22:00"


def test_a_processors_stretch_says_how_many_places_are_free():
    page = soup("{% day_line l %}", l=line(stretch(at(10), at(12), "free", free=2, of=4, url="/b")))
    assert words(page.a) == "2 of 4 places free 10:00 to 12:00 2 h"


def test_every_kind_of_stretch_carries_its_word_on_a_plate():
    whats = ["free", "taken", "yours", "class", "clear-up", "closed", "out of service", "past"]
    pieces = [stretch(at(10 + n), at(11 + n), what, label="A label") for n, what in enumerate(whats)]
    page = soup("{% day_line l %}", l=line(*pieces))
    said = [words(plate.b) for plate in page.select("ol > li > .piece > .plate")]
    assert said == ["Free", "Taken", "Yours", "Class", "Clear-up", "Closed", "Out of service", "Past"]
    assert "out-of-service" in page.find_all("li")[6]["class"]


def test_a_label_is_said_once_and_never_of_a_free_stretch():
    pieces = [stretch(at(10), at(11), "taken", label="Taken"), stretch(at(11), at(12), "class", label="First prints")]
    page = soup("{% day_line l %}", l=line(*pieces))
    assert [words(li) for li in page.find_all("li")] == ["Taken 10:00 to 11:00", "Class 11:00 to 12:00 First prints"]


def test_what_is_past_is_one_card_and_lifted_it_is_no_card():
    day = line(
        stretch(at(10), at(11), "past", free=1, of=2), stretch(at(11), at(12), "past"), stretch(at(12), at(22), "free")
    )
    assert len(soup("{% day_line l %}", l=day).select("li.past")) == 1
    lifted = soup("{% day_line l True %}", l=day)
    assert not lifted.select("li.past") and len(lifted.select("li.gone")) == 1


def test_a_line_names_its_list_by_its_heading():
    page = soup("{% day_line l %}", l=line(stretch(at(10), at(11), "free"), code="P-RC 1"))
    assert page.section["aria-labelledby"] == page.h2["id"] == "line-p-rc-1"


def test_a_line_without_stretches_says_closed():
    assert words(soup("{% day_line l %}", l=line()).li) == "Closed"


def test_a_step_is_a_link_with_its_number_unless_none_is_free():
    page = soup("{% overview w %}", w=[steps((10, 12, 5, 8), (12, 13, 0, 8), (13, 22, 8, 8))])
    first, none, all_free = page.select("ol.steps > li")
    assert words(first.a) == "10:00 to 12:00 5 of 8 free" and first.a["href"] == "/day?at=10"
    assert none.a is None and words(none) == "12:00 to 13:00 none free" and "s4" in none["class"]
    assert "s0" in all_free["class"] and all_free.a
    assert words(page.h2) == "Enlarger booth" and page.h2.a["href"] == "/kind"


def test_the_card_covers_the_past_of_the_overview_and_cuts_the_step_it_lies_on():
    page = soup("{% overview w now %}", w=[steps((10, 12, 5, 8), (12, 16, 3, 8), (16, 22, 8, 8))], now=at(14, 8))
    said = [words(li) for li in page.select("ol.steps > li")]
    assert said == ["10:00 to 14:10 Past", "14:10 to 16:00 3 of 8 free", "16:00 to 22:00 8 of 8 free"]
    assert [int(li["class"][1][1:]) for li in page.select("ol.steps > li")] == [50, 22, 72]
    assert len(page.select(".scale .now > span")) == 2


def test_the_scale_and_the_strip_share_one_measure():
    page = soup("{% overview w %}", w=[steps((10, 12, 5, 8), (12, 22, 0, 8))])
    total = {
        sum(int(re.search(r"\bt(\d+)", " ".join(e["class"]))[1]) for e in page.select(at_))
        for at_ in (".hours > span", "ol > li")
    }
    assert total == {144}
    assert [span.get_text() for span in page.select(".hours > span")] == [str(hour) for hour in range(10, 22)]


def test_an_empty_overview_draws_nothing_and_does_not_break():
    assert soup("{% overview w %}", w=[]).find("ol") is None


@keeps("table")
def test_the_tables_say_the_same_as_the_strips():
    day = [line(stretch(at(10), at(12), "free", url="/b"), stretch(at(12), at(22), "taken"))]
    strips = [li.div or li.a for li in soup("{% day_line l %}", l=day[0]).find_all("li")]
    rows = soup("{% day_table l %}", l=day).select("tbody tr")
    assert [words(row.td) for row in rows] == [words(piece.select_one(".when")) for piece in strips]
    assert rows[0].a["href"] == "/b" and words(rows[0].a) == "Free Booth 1 10:00 to 12:00"
    wedge_rows = soup("{% overview_table w %}", w=[steps((10, 12, 5, 8), (12, 22, 0, 8))]).select("tbody tr")
    assert [words(row.find_all("td")[1]) for row in wedge_rows] == [
        "5 of 8 free enlarger booth 10:00 to 12:00",
        "none free",
    ]


@pytest.mark.parametrize(
    ("used", "word", "limit", "said"),
    [
        (0.63, "in use", "silver", "in use 63 % used, silver runs out first"),
        (0.0, "new", None, "new 0 % used"),
        (1.2, "spent", "age", "spent 120 % used, shelf life runs out first"),
    ],
)
def test_a_baths_wedge_says_its_word_its_number_and_what_runs_out_first(used, word, limit, said):
    page = soup("{% fill_wedge b %}", b=bath(used, word, limit))
    assert words(page.p) == said
    assert page.svg["aria-hidden"] == "true"
    filled = sum(float(rect["width"]) for rect in page.select("svg.wedge rect") if rect["class"][0].startswith("f"))
    assert filled == pytest.approx(200 * min(used, 1))


@pytest.mark.parametrize(
    ("used", "limit", "said"),
    [(0.82, "capacity", "82 % of its capacity used"), (1.2, "age", "120 % of its shelf life gone"),
     (0.5, "turnovers", "50 % of its turnovers used"), (0.5, "silver", "50 % of its silver limit reached"),
     (1.0, "condemned", "100 % used, condemned by a person"), (0.0, None, "0 % used")],
)  # fmt: skip
def test_where_a_forecast_says_what_comes_first_the_wedge_says_only_of_what_it_is(used, limit, said):
    assert words(soup("{% fill_wedge b a %}", b=bath(used, "in use", limit), a=object()).p) == f"in use {said}"


@pytest.mark.parametrize("ahead", [None, object()])
def test_silver_that_settles_under_its_limit_is_said_to_settle_and_not_to_run_out(ahead):
    fixer = bath(0.94, "tired", "silver")
    fixer.silver_settles_below = True
    assert words(soup("{% fill_wedge b a %}", b=fixer, a=ahead).p) == (
        "tired 94 % of its silver limit, under which it levels off"
    )


class Slip(forms.Form):
    name = forms.CharField(label="Name", help_text="As on your card.")
    process = forms.ChoiceField(label="Process", choices=[("rc", "RC"), ("fb", "Fibre")], widget=forms.RadioSelect)
    agree = forms.BooleanField(label="I have read it", required=False)

    def clean(self):
        self.add_error(None, "The note has a new version.")


def test_the_summary_counts_what_is_wrong_and_links_each_line_to_a_field_that_is_there():
    form = Slip({})
    page = soup("{% error_summary f %}{% for x in f %}{{ x.as_field_group }}{% endfor %}", f=form)
    box = page.select_one("#problems")
    assert words(box.h2) == "3 things to put right"
    assert box["role"] == "alert" and box["tabindex"] == "-1" and box.has_attr("autofocus")
    assert [words(li) for li in box.find_all("li")] == [
        "The note has a new version.",
        "Name: This field is required.",
        "Process: This field is required.",
    ]
    targets = [a["href"][1:] for a in box.find_all("a")]
    assert [page.find(id=target).name for target in targets] == ["input", "input"]


def test_a_good_form_has_no_summary():
    class Good(forms.Form):
        name = forms.CharField()

    assert drawn("{% error_summary f %}", f=Good({"name": "x"})).strip() == ""


def test_a_field_is_tied_to_its_label_its_help_and_its_error():
    page = soup("{% for x in f %}{{ x.as_field_group }}{% endfor %}", f=Slip({}))
    name = page.find(id="id_name")
    assert page.find("label", attrs={"for": "id_name"})
    described = [words(page.find(id=one)) for one in name["aria-describedby"].split()]
    assert described == ["As on your card.", "This field is required."]
    assert page.find("fieldset").legend and page.find("label", attrs={"for": "id_agree"})


def test_each_drawing_of_a_form_has_a_fresh_key():
    keys = {soup("{% once_key %}").input["value"] for _ in range(3)}
    assert len(keys) == 3 and all(len(key) == 36 for key in keys)


def test_nothing_typed_reaches_the_page_as_markup():
    page = drawn("{% day_line l %}", l=line(stretch(at(10), at(11), "class", label="<b>x</b>"), name="<i>"))
    assert "<b>x</b>" not in page and "<i>" not in page
