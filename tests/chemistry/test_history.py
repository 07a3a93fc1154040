"""What became of a bath, drawn and as a table: the last point of each curve is the figure that the board shows."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.chemistry import queries
from studiodesk.chemistry.queries.board_history import bath_history, stretch_of
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Job, JobDone
from studiodesk.units import PL_PER_ML
from tests.chemistry.pages import client_of, soup_of
from tests.desk.baths import log, text_of, write

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
FIX = "/baths/P-RC/fix/"


@pytest.fixture
def three_days(house, now):
    write(house, "refill", now - 3 * DAY)
    for days, count in ((2, 40), (1, 25), (0, 10)):
        log(house, now - days * DAY - HOUR, count=count)
        write(house, "given", now - days * DAY, amount_pl=count * 20 * PL_PER_ML)
    write(house, "strip", now - DAY, silver_ug_per_l=700_000)
    return house


def seen(house, now, starts):
    return bath_history(house.baths["P-RC", "fix"], starts, now, stations.zone())


def test_the_last_point_is_what_the_board_shows(three_days, now):
    line = next(one for one in queries.standings(now, now) if (one.processor, one.bath) == ("P-RC", "fix"))
    last = seen(three_days, now, now - 3 * DAY).of.samples[-1]
    assert (last.area_mm2, last.asked_pl, last.given_pl) == (line.area_mm2, line.due_pl, line.given_pl)
    assert last.silver_ug_per_l == pytest.approx(line.silver_ug_per_l)
    assert last.area_mm2 == 75 * 203 * 254


def test_the_days_add_up_to_the_tank_and_a_stretch_cut_anywhere_leaves_its_end_alone(three_days, now):
    whole = seen(three_days, now, now - 3 * DAY)
    assert [(day.sheets, day.given_pl // PL_PER_ML) for day in whole.of.days if day.sheets] == [
        (40, 800), (25, 500), (10, 200),
    ]  # fmt: skip
    assert [day.read_ug_per_l for day in whole.of.days if day.read_ug_per_l] == [[700_000]]
    for hours in (1, 20, 30, 47, 71):
        assert seen(three_days, now, now - hours * HOUR).of.samples[-1] == whole.of.samples[-1]


def test_a_new_tank_begins_at_nothing(three_days, now):
    write(three_days, "refill", now - HOUR / 2)
    tanks = seen(three_days, now, now - 3 * DAY).of.tanks
    assert [tank[-1].area_mm2 for tank in tanks] == [75 * 203 * 254, 0]


def test_as_many_questions_however_long_it_is(three_days, now):
    def asked():
        with CaptureQueriesContext(connection) as found:
            seen(three_days, now, now - 90 * DAY)
        return len(found)

    few = asked()
    for minute in range(30):
        log(three_days, now - minute * HOUR / 60, count=1)
        write(three_days, "note", now, note="x")
    assert asked() == few <= 6


@pytest.mark.parametrize(
    ("word", "shown"), [("7", "7"), ("90", "90"), ("", "28"), ("8", "28"), ("tank", "tank"), ("\u0667", "28")]
)
def test_a_stretch_is_of_whole_local_days_or_the_tank(now, word, shown):
    zone = stations_zone()
    found, starts = stretch_of(word, now - 40 * DAY, now, zone)
    assert found == shown
    if shown != "tank":
        local = starts.astimezone(zone)
        assert (local.hour, local.minute) == (0, 0)
        assert (now.astimezone(zone).date() - local.date()).days == int(shown) - 1


def stations_zone():
    from zoneinfo import ZoneInfo

    return ZoneInfo("Europe/Amsterdam")


def test_the_page_draws_it_and_says_it_as_a_table_with_a_link_for_each_day(three_days, people, now):
    client = client_of(people["member"])
    page = soup_of(client.get(FIX)).main
    chart = page.find("section", attrs={"aria-label": "What became of it"})
    assert chart.svg is not None and len(chart.find_all("path")) >= 2
    table = soup_of(client.get(f"{FIX}?view=table&days=7")).main
    rows = table.find("table").tbody.find_all("tr")
    said = {row.th.get_text(): [cell.get_text(" ", strip=True) for cell in row.find_all("td")] for row in rows}
    assert list(said) == ["Wed 25 Nov", "Tue 24 Nov", "Mon 23 Nov", "Sun 22 Nov"]
    assert said["Tue 24 Nov"][:2] == ["25", "1.29 m²"] and "0.70 g/L" in said["Tue 24 Nov"]
    day = soup_of(client.get(rows[1].th.a["href"])).main
    assert "25 sheets, 1.29 m²." in day.get_text(" ", strip=True)
    assert "Bath change" in text_of(client, f"{FIX}?view=table&days=7") or said["Sun 22 Nov"][-1]


def test_a_bath_of_which_nothing_is_known_says_so(house, people):
    assert "Nothing happened in this time" in text_of(client_of(people["member"]), "/baths/P-CO/dev/")


def test_temperatures_read_at_the_processor_stand_beside_it_and_what_was_undone_does_not(three_days, people, now):
    job = Job.objects.create(
        code="fix-temp", name="Fixer temperature", processor=three_days.processors["P-RC"],
        occasion=Job.Occasion.OPENING, asks=Job.Asks.NUMBER, unit="°C", at_least=22, at_most=26,
    )  # fmt: skip

    def done(value, **more):
        return JobDone.objects.create(job=job, at=now - HOUR, recorded_at=now, value=value, **more)

    done(Decimal("24.5"))
    done(Decimal("29.0"), in_tolerance=False)
    done(None, undoes=done(Decimal("99")))
    assert [one.value for one in seen(three_days, now, now - DAY).read] == [Decimal("24.5"), Decimal("29.0")]
    said = text_of(client_of(people["member"]), f"{FIX}?view=table&days=7")
    assert "Fixer temperature 24.5 °C; Fixer temperature 29 °C out of tolerance" in said and "99 °C" not in said
