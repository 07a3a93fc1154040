"""Logging sheets and writing into a bath's book: what is counted, what the desk is told, what is refused."""

from datetime import timedelta

import pytest

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert, BathEntry, Feed, Fill
from studiodesk.chemistry.rules.past import PastEntry, PastFeed
from studiodesk.journal.models import Entry
from studiodesk.people.models import Tablet
from studiodesk.units import PL_PER_ML
from tests import makers

SHEET = 203 * 254


def log(house, now, **changed):
    asked = {
        "processor": house.processors["P-RC"], "sheet": house.sizes["203x254"], "sheets": 1, "kind": "print",
        "who": "walk-in", "fed_at": now, "now": now,
    } | changed  # fmt: skip
    return actions.log_sheets(**asked)


def write(house, event, at, bath=("P-RC", "fix"), **changed):
    return actions.record_bath_entry(**{"bath": house.baths[bath], "event": event, "at": at, "now": at} | changed)


def line(now, processor="P-RC", bath="fix", **how):
    return next(one for one in queries.standings(now, **how) if (one.processor, one.bath) == (processor, bath))


def open_alerts():
    return {(alert.bath.code, alert.kind) for alert in Alert.objects.filter(cleared_at=None).select_related("bath")}


def code_of(call):
    with pytest.raises(Refused) as refused:
        call()
    return refused.value.refusal.code


def tablet(now):
    return Tablet.objects.create(name="Dry end", made_at=now, made_by=makers.member("Staff", is_staff=True))


def test_sheets_are_counted_into_every_bath_of_their_processor_and_no_other(house, now):
    feed = log(house, now, sheets=5)
    dev, fix, colour = line(now, bath="dev"), line(now), line(now, "P-CO", "dev")
    assert (feed.sheet_area_mm2, dev.area_mm2, fix.area_mm2, colour.area_mm2) == (SHEET, 5 * SHEET, 5 * SHEET, 0)
    assert (dev.due_pl, fix.due_pl) == (5 * SHEET * 240_000, 5 * SHEET * 500_000)
    # 61.8744 mL by a pump of 12: five strokes are given; 128.905 mL by hand wait as two measures of 50
    assert (dev.given_pl, dev.strokes_due) == (60 * PL_PER_ML, 0)
    assert (fix.given_pl, fix.strokes_due, fix.remainder_pl) == (0, 2, 128_905_000_000 - 100 * PL_PER_ML)
    entry = Entry.objects.get(code="chemistry.sheets_through")
    assert (entry.about_id, entry.facts["mm2"]) == (feed.pk, 5 * SHEET)


def test_the_desk_is_told_at_once_and_giving_clears_it(house, now):
    log(house, now)
    assert open_alerts() == set()  # 25.8 mL: less than a measure
    log(house, now)
    assert open_alerts() == {("fix", "replenishment due")}
    log(house, now)
    assert Alert.objects.count() == 1  # one alert a bath and kind
    write(house, "given", now, amount_pl=20 * PL_PER_ML)
    assert open_alerts() == {("fix", "replenishment due")}  # 57 mL still wait
    entry = write(house, "given", now, amount_pl=50 * PL_PER_ML)
    assert open_alerts() == set()
    assert Alert.objects.get().cleared_by == entry


def test_a_bath_at_its_end_is_cleared_only_by_a_change_a_partial_dump_or_a_measured_strip(house, now):
    bath, colour = ("P-CO", "dev"), house.processors["P-CO"]
    write(house, "refill", now - timedelta(days=1), bath)
    log(house, now, processor=colour, sheets=94)  # 4.8 m² of 4.8
    assert open_alerts() == {("dev", "at its end")}
    assert Alert.objects.get().limit == "capacity"
    for event, more in (
        ("working solution", {"amount_pl": 3000 * PL_PER_ML}),
        ("water", {"amount_pl": 100 * PL_PER_ML}),
        ("strip", {"note": "no colour"}),
        ("note", {"note": "looks well"}),
    ):
        write(house, event, now, bath, **more)
        assert open_alerts() == {("dev", "at its end")}, event
    assert line(now, *bath).used < 1
    write(house, "strip", now, bath, silver_ug_per_l=100)
    assert open_alerts() == set()


def test_a_refill_opens_a_new_tank_and_clears_both_alerts(house, now):
    log(house, now, sheets=9)
    write(house, "condemned", now, note="smells")
    assert open_alerts() == {("fix", "replenishment due"), ("fix", "at its end")}
    write(house, "refill", now + timedelta(hours=1))
    assert open_alerts() == set()
    fix = line(now + timedelta(hours=1))
    assert (fix.area_mm2, fix.outstanding_pl, fix.word, fix.since) == (0, 0, "new", now + timedelta(hours=1))
    assert Fill.objects.filter(bath=house.baths["P-RC", "fix"], ended_at=None).count() == 1


def test_sheets_at_the_very_instant_of_a_refill_belong_to_the_new_tank(house, now):
    log(house, now, sheets=3)
    write(house, "refill", now)
    assert line(now).area_mm2 == 3 * SHEET
    assert line(now - timedelta(seconds=1), recount=True).area_mm2 == 0
    assert [fill.began_at for fill in Fill.objects.filter(bath=house.baths["P-RC", "fix"])] == [now]


def test_what_was_given_at_the_very_instant_of_a_refill_belongs_to_the_new_tank(house, now):
    write(house, "refill", now)
    write(house, "given", now, amount_pl=70 * PL_PER_ML)
    assert line(now).given_pl == line(now, recount=True).given_pl == 70 * PL_PER_ML


def test_an_earlier_moment_is_answered_from_the_rows_even_if_nobody_asks_for_a_recount(house, now):
    earlier = now - timedelta(hours=2)
    log(house, now, sheets=1, fed_at=earlier)
    log(house, now, sheets=4)
    write(house, "refill", now, ("P-CO", "dev"))
    assert line(earlier).area_mm2 == SHEET
    assert line(earlier, "P-CO", "dev").since is None
    assert queries.standings(earlier) == queries.standings(earlier, recount=True)


def test_a_late_refill_parts_the_tank_that_stood_there(house, now):
    first, second, third = (now - timedelta(hours=h) for h in (6, 4, 2))
    write(house, "refill", first)
    log(house, now, sheets=2, fed_at=first + timedelta(minutes=5))
    log(house, now, sheets=3, fed_at=third)
    write(house, "refill", second, now=now)
    fills = list(Fill.objects.filter(bath=house.baths["P-RC", "fix"]).order_by("began_at"))
    assert [(f.began_at, f.ended_at, f.area_mm2) for f in fills] == [
        (first, second, 2 * SHEET),
        (second, None, 3 * SHEET),
    ]


def test_sheets_logged_late_go_into_the_tank_of_their_time(house, now):
    write(house, "refill", now - timedelta(hours=5))
    write(house, "refill", now - timedelta(hours=1))
    log(house, now, sheets=4, fed_at=now - timedelta(hours=3))
    log(house, now, sheets=7, fed_at=now - timedelta(hours=9))
    fills = {fill.began_at: fill.area_mm2 for fill in Fill.objects.filter(bath=house.baths["P-RC", "fix"])}
    assert fills == {None: 7 * SHEET, now - timedelta(hours=5): 4 * SHEET, now - timedelta(hours=1): 0}


def test_cleaning_sheets_are_logged_and_ask_nothing(house, now):
    log(house, now, kind="cleaning", who="house", sheets=4)
    fix = line(now)
    assert (fix.sheets, fix.area_mm2, fix.due_pl) == (4, 0, 0)


def test_a_sheet_too_wide_for_the_feed_is_refused_and_nothing_is_written(house, now):
    wide = house.sizes["406x508"]
    wide.width_mm = wide.length_mm = 600
    assert code_of(lambda: log(house, now, sheet=wide)) == "chemistry.too_wide"
    assert code_of(lambda: log(house, now, sheets=0)) == "chemistry.no_sheets"
    assert code_of(lambda: log(house, now, fed_at=now + timedelta(minutes=1))) == "chemistry.in_the_future"
    assert code_of(lambda: log(house, now, who="member")) == "chemistry.who_needed"
    assert (Feed.objects.count(), Entry.objects.count(), Fill.objects.count()) == (0, 0, 0)


def test_a_tablet_takes_back_its_last_log_and_the_sums_forget_it(house, now):
    at = tablet(now)
    first = log(house, now, tablet=at, sheets=1)
    before = {one.bath: one for one in queries.standings(now)}
    second = log(house, now, tablet=at, sheets=9)
    assert open_alerts() == {("fix", "replenishment due")}
    later = now + timedelta(minutes=3)
    assert code_of(lambda: actions.undo_sheets(feed=first, now=later, tablet=at)) == "chemistry.too_late_to_undo"
    undo = actions.undo_sheets(feed=second, now=later, tablet=at)
    assert (undo.undoes, undo.sheets) == (second, 9)
    after = {one.bath: one for one in queries.standings(now)}
    assert after["dev"] == before["dev"] and after["fix"].area_mm2 == SHEET
    assert open_alerts() == set()
    assert code_of(lambda: actions.undo_sheets(feed=second, now=later, tablet=at)) == "chemistry.already_undone"
    late = now + timedelta(minutes=16)
    assert code_of(lambda: actions.undo_sheets(feed=first, now=late, tablet=at)) == "chemistry.too_late_to_undo"
    actions.undo_sheets(feed=first, now=late, by=makers.member("Kim", is_keyholder=True))
    assert line(late).area_mm2 == 0


def test_the_desk_takes_back_only_what_was_logged_today(house, now):
    feed = log(house, now)
    keyholder = makers.member("Kim", is_keyholder=True)
    tomorrow = now + timedelta(days=1)
    assert code_of(lambda: actions.undo_sheets(feed=feed, now=tomorrow, by=keyholder)) == "chemistry.not_of_today"


def test_what_was_known_then_stays_answerable_after_an_undo_and_a_late_log(house, now):
    feed = log(house, now, sheets=5)
    later = now + timedelta(hours=1)
    actions.undo_sheets(feed=feed, now=later, by=makers.member("Kim", is_keyholder=True))
    log(house, later, sheets=2, fed_at=now)
    assert line(now, recount=True).area_mm2 == 2 * SHEET  # at that moment, as known now
    assert line(now, known_at=now).area_mm2 == 5 * SHEET  # what the board showed then
    assert line(later, known_at=later - timedelta(seconds=1)).area_mm2 == 5 * SHEET


def test_an_entry_that_corrects_another_takes_its_place(house, now):
    log(house, now, sheets=9)
    wrong = write(house, "given", now, amount_pl=500 * PL_PER_ML)
    write(house, "given", now, amount_pl=50 * PL_PER_ML, corrects=wrong)
    assert line(now).given_pl == 50 * PL_PER_ML
    refill = write(house, "refill", now - timedelta(minutes=1), now=now)
    assert line(now).since == now - timedelta(minutes=1)
    write(house, "note", now, note="not refilled after all", corrects=refill)
    fix = line(now)
    assert (fix.since, fix.given_pl, fix.area_mm2) == (None, 50 * PL_PER_ML, 9 * SHEET)
    assert BathEntry.objects.count() == 4


@pytest.mark.parametrize(
    ("event", "more", "code"),
    [
        ("given", {}, "chemistry.amount_needed"),
        ("given", {"amount_pl": -1}, "chemistry.amount_needed"),
        ("given", {"amount_pl": 18_001 * PL_PER_ML}, "chemistry.amount_too_great"),
        ("partial dump", {"amount_pl": 9_001 * PL_PER_ML}, "chemistry.amount_too_great"),
        ("refill", {"amount_pl": 9_000 * PL_PER_ML}, "chemistry.no_amount_here"),
        ("condemned", {}, "chemistry.reason_needed"),
        ("note", {"note": "  "}, "chemistry.reason_needed"),
        ("given", {"amount_pl": 0}, "chemistry.amount_needed"),
        ("given", {"amount_pl": 9_001 * PL_PER_ML}, "chemistry.amount_too_great"),
        ("partial dump", {"amount_pl": 9_000 * PL_PER_ML}, "chemistry.whole_tank"),
        ("strip", {"silver_ug_per_l": -1}, "chemistry.silver_out_of_range"),
        ("strip", {"note": " "}, "chemistry.reading_needed"),
        ("given", {"amount_pl": 1, "bath": ("P-CO", "dev")}, "chemistry.not_replenished"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(house, now, event, more, code):
    more = dict(more)
    bath = more.pop("bath", ("P-RC", "fix"))
    assert code_of(lambda: write(house, event, now, bath, **more)) == code
    assert BathEntry.objects.count() == 0


def test_a_second_refill_at_the_same_moment_is_refused(house, now):
    write(house, "refill", now)
    assert code_of(lambda: write(house, "refill", now)) == "chemistry.refilled_already"


def test_time_alone_ends_a_bath_when_the_timer_looks(house, now):
    write(house, "refill", now, ("P-CO", "dev"))
    end = now + timedelta(days=21)
    assert actions.review_baths(now=end - timedelta(seconds=1)) == 0
    assert actions.review_baths(now=end) == 1
    assert actions.review_baths(now=end) == 0
    assert open_alerts() == {("dev", "at its end")}


def test_an_import_raises_nothing_and_settling_sets_the_present_truth(house, now):
    fix, colour = house.baths["P-RC", "fix"], house.baths["P-CO", "dev"]
    sheets = (house.processors["P-RC"].pk, house.sizes["203x254"].pk, 9, SHEET, "print", "walk-in", None, None)
    actions.record_past_feeds([PastFeed(now, *sheets, "f1")], now)
    actions.record_past_entries([PastEntry(now, colour.pk, "condemned", None, None, "brown", "e1")], now)
    assert open_alerts() == set()
    assert actions.settle_alerts(now=now) == 2
    assert open_alerts() == {("fix", "replenishment due"), ("dev", "at its end")}
    later = now + timedelta(minutes=1)
    refills = [PastEntry(later, bath.pk, "refill", None, None, "", f"r{bath.pk}") for bath in (fix, colour)]
    actions.record_past_entries(refills, later)
    assert len(open_alerts()) == 2
    assert actions.settle_alerts(now=now + timedelta(minutes=2)) == -2
    assert open_alerts() == set()
