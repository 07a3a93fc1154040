"""A studio described in one file: loaded whole, loaded again without a trace, changed, and refused with a reason."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from studiodesk.chemistry.actions import record_bath_entry
from studiodesk.chemistry.models import Bath, BathSetting, SheetSize
from studiodesk.journal.models import Entry
from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Closure, Lane, OpeningSpan, Processor, Station, Studio
from studiodesk.upkeep.actions import load_studio
from studiodesk.upkeep.rules.problems import FileRefused
from studiodesk.upkeep.rules.studio_file import read_studio
from studiodesk.upkeep.words import told
from tests.upkeep.files import (
    BOOKING,
    BOOKINGS,
    FEED,
    FEEDS,
    MEMBERS,
    NOW,
    contents,
    example,
    imported,
    loaded,
    refusals,
)

LEAST = b'[studio]\nname = "A"\ntime_zone = "Asia/Tokyo"\ncurrency = "JPY"\n'
PROCESS = b'[[processes]]\ncode = "rc"\nname = "RC"\nlight = "safelight"\n'
PROCESSOR = (
    PROCESS + b'[[processors]]\ncode = "P"\nname = "P"\nprocess = "rc"\nfeed_width_mm = 508\nbooths_at_once = 2\n'
)
BATH = PROCESSOR + b'[[processors.baths]]\ncode = "dev"\nname = "Dev"\nvolume_ml = 1000\n'


def test_the_example_is_loaded_as_it_stands_in_the_file(db: Any) -> None:
    outcome = loaded()
    assert outcome.warnings == []
    studio = Studio.objects.get()
    assert (studio.name, studio.time_zone, studio.currency, studio.currency_digits) == (
        "Ostermill Darkroom",
        "Europe/Amsterdam",
        "EUR",
        2,
    )
    assert list(OpeningSpan.objects.values_list("weekday", "opens_minute", "closes_minute")) == [
        (1, 780, 1320),
        (2, 780, 1320),
        (3, 780, 1320),
        (4, 600, 1320),
        (5, 600, 1080),
        (6, 600, 1080),
    ]
    processor = Processor.objects.get(code="P-RC")
    assert processor.feed_width_mm == 508
    assert Lane.objects.filter(resource=processor.resource).count() == 4
    fixer = BathSetting.objects.get(bath__code="fix")
    assert fixer.rate_ul_per_m2 == 500_000
    assert fixer.unit_pl == 12_000_000_000
    assert fixer.silver_ug_per_m2 == 950_000
    assert fixer.age_limit_s == 60 * 86_400
    assert fixer.replenisher_minor_per_kl == 260_000
    assert fixer.as_entered["silver_g_per_m2"] == "0.95"
    assert fixer.in_force_from == datetime(1970, 1, 1, tzinfo=UTC)
    assert set(Station.objects.get(code="E3").processes.values_list("code", flat=True)) == {"rc", "ra4"}
    assert SafetyNote.objects.values("processor").distinct().count() == 3
    assert Entry.objects.filter(code="upkeep.studio_loaded").count() == 1


def test_loading_the_same_file_again_writes_nothing(db: Any) -> None:
    loaded()
    before = contents()
    outcome = load_studio(data=example("studio.toml"), now=NOW + timedelta(days=3))
    assert not outcome.wrote
    assert contents() == before


def test_a_dry_run_says_the_same_and_writes_nothing(db: Any) -> None:
    before = contents()
    tried = loaded(dry_run=True)
    assert contents() == before
    assert tried.made == loaded().made


def test_a_changed_figure_is_in_force_from_now_and_not_before(db: Any) -> None:
    loaded()
    record_bath_entry(bath=Bath.objects.get(processor__code="P-RC", code="dev"), event="refill", at=NOW, now=NOW)
    later = NOW + timedelta(days=1)
    changed = example("studio.toml").replace(b"replenish_ml_per_m2 = 240", b"replenish_ml_per_m2 = 260.5")
    outcome = load_studio(data=changed, now=later)
    assert outcome.figures == {"P-RC/dev": ["replenish_ml_per_m2"]}
    versions = BathSetting.objects.filter(bath__code="dev", bath__processor__code="P-RC").order_by("in_force_from")
    assert [(row.in_force_from.year, row.rate_ul_per_m2) for row in versions] == [
        (1970, 240_000),
        (later.year, 260_500),
    ]
    assert versions[1].in_force_from == later
    # twice in one moment: the later entry holds, and no third version appears
    load_studio(data=example("studio.toml"), now=later)
    assert [row.rate_ul_per_m2 for row in versions.all()] == [240_000, 240_000]


@pytest.mark.parametrize("minutes,fits", [(5, True), (15, True), (60, True), (7, False), (50, False), (0, False)])
def test_the_grid_begins_anew_at_every_midnight(minutes: int, fits: bool) -> None:
    data = LEAST + f"grid_minutes = {minutes}\n".encode()
    if fits:
        assert read_studio(data)[0].studio.grid_minutes == minutes
    else:
        with pytest.raises(FileRefused) as refused:
            read_studio(data)
        assert [problem.column for problem in refused.value.problems] == ["studio.grid_minutes"]


def test_a_slip_put_right_before_anything_is_recorded_leaves_no_trace(db: Any) -> None:
    loaded(example("studio.toml").replace(b"replenish_ml_per_m2 = 240", b"replenish_ml_per_m2 = 2400"))
    outcome = load_studio(data=example("studio.toml"), now=NOW + timedelta(days=1))
    assert outcome.figures == {"P-RC/dev": ["replenish_ml_per_m2"]}
    version = BathSetting.objects.get(bath__code="dev", bath__processor__code="P-RC")
    assert (version.in_force_from.year, version.rate_ul_per_m2) == (1970, 240_000)


def test_what_the_file_no_longer_names_stays_and_is_named_in_a_warning(db: Any) -> None:
    loaded()
    text = example("studio.toml").decode()
    start = text.index('[[stations]]\ncode = "S1"')
    shorter = text[:start] + text[text.index('[[stations]]\ncode = "D1"') :]
    said = [told(warning) for warning in loaded(shorter.encode()).warnings]
    assert said == ["studio.toml, stations: “S1” is in the database and not in the file; it was left as it is."]
    assert Station.objects.filter(code="S1").exists()


def test_places_are_added_and_taken_away_but_not_under_a_booking_to_come(db: Any) -> None:
    loaded()
    more = example("studio.toml").replace(b"booths_at_once = 4", b"booths_at_once = 6")
    loaded(more)
    assert Lane.objects.filter(resource__processor__code="P-RC").count() == 6
    to_come = b"B9,M1,E1,rc,2026-12-01T14:00:00Z,2026-12-01T16:00:00Z,2026-11-01T10:00:00Z,,\n"
    too = to_come.replace(b"B9,M1,E1", b"B8,M2,E2")
    assert not imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + to_come + too}).refused
    before = contents()
    one = example("studio.toml").replace(b"booths_at_once = 4", b"booths_at_once = 1")
    with pytest.raises(FileRefused) as refused:
        loaded(one)
    assert told(refused.value.problems[0]).startswith("studio.toml, processors[1].booths_at_once: ")
    assert contents() == before
    loaded(example("studio.toml").replace(b"booths_at_once = 4", b"booths_at_once = 2"))


def test_a_size_of_which_sheets_were_counted_keeps_its_millimetres(db: Any) -> None:
    loaded()
    imported({"members.csv": MEMBERS, "bookings.csv": BOOKINGS + BOOKING, "feeds.csv": FEEDS + FEED})
    changed = example("studio.toml").replace(b"width_mm = 203\nlength_mm = 254", b"width_mm = 204\nlength_mm = 254")
    assert refusals(changed) == [
        "studio.toml, sheet_sizes[3].width_mm: Sheets of 8×10 in were counted with 203 mm here, and what was counted "
        "stays true. Give the other size a code of its own."
    ]
    loaded(example("studio.toml").replace(b"width_mm = 127", b"width_mm = 126"))
    assert SheetSize.objects.get(code="127x178").width_mm == 126


def test_a_studio_of_four_lines_is_a_studio(db: Any) -> None:
    outcome = loaded(b"\xef\xbb\xbf" + LEAST.replace(b"\n", b"\r\n"))
    assert Studio.objects.get().currency_digits == 0
    assert [told(warning) for warning in outcome.warnings] == [
        "studio.toml, opening: No opening hours are given: the studio is closed to members every day."
    ]


def test_unknown_keys_are_named_and_passed_over() -> None:
    data = LEAST + b'colour = "red"\n[opening]\nmonday = ["10:00-12:00"]\ntusday = ["10:00-12:00"]\n[prices]\nx = 1\n'
    plan, findings = read_studio(data)
    assert [warning.column for warning in findings.warnings] == ["studio.colour", "opening.tusday", "prices"]
    assert plan.week == {0: ((600, 720),)}


def test_hours_past_midnight_are_split_into_two_days(db: Any) -> None:
    loaded(LEAST + b'[opening]\nsunday = ["18:00-02:00"]\nmonday = ["02:00-04:00", "05:00-24:00"]\n')
    assert list(OpeningSpan.objects.values_list("weekday", "opens_minute", "closes_minute")) == [
        (0, 0, 120),
        (0, 120, 240),
        (0, 300, 1440),
        (6, 1080, 1440),
    ]


def test_closures_include_both_days(db: Any) -> None:
    loaded(LEAST + b'[[closures]]\nfrom = 2026-12-24\nto = "2026-12-26"\nreason = "midwinter"\n')
    closure = Closure.objects.get()
    assert (closure.first_day.day, closure.last_day.day, closure.reason) == (24, 26, "midwinter")


def test_every_way_of_dosing_and_every_optional_figure_is_taken(db: Any) -> None:
    data = BATH + (
        b'dosing = "Hand"\nreplenish_ml_per_m2 = "240.0005"\nidle_percent_per_day = 1.5\nturnover_limit = 12.5\n'
        b"capacity_m2_per_l = 0.3333333\nsilver_limit_g_per_l = 1e0\nage_limit_days = 0.5\nrefill_cost = 120\n"
        b'[[processors.baths]]\ncode = "wash"\nname = "Wash"\nvolume_ml = 3.5\ndosing = "running water"\n'
        b'[[processors.baths]]\ncode = "film"\nname = "Film"\nvolume_ml = "300"\ndosing = "one-shot"\n'
    )
    loaded(LEAST + data)
    dev = BathSetting.objects.get(bath__code="dev")
    assert dev.unit_pl == 50_000_000_000  # a measure of 50 mL where none is named
    assert dev.rate_ul_per_m2 == 240_000  # 240,000.5 µL/m², half to even
    assert dev.idle_pl_per_day == 15_000_000_000
    assert dev.turnover_limit == Decimal("12.5")
    assert dev.capacity_mm2_per_l == 333_333
    assert dev.age_limit_s == 43_200
    assert dev.refill_cost_minor == 120  # the yen has no smaller coin
    assert dev.as_entered["replenish_ml_per_m2"] == "240.0005"
    assert BathSetting.objects.get(bath__code="wash").volume_pl == 3_500_000_000
    assert Bath.objects.count() == 3


def test_a_zone_of_light_is_shared_and_a_cubicle_is_not(db: Any) -> None:
    stations = b"".join(
        b'[[stations]]\ncode = "%s"\nname = "x"\nkind = "booth"\nlight_zone = "%s"\nlargest_print_mm = %s\n' % row
        for row in (
            (b"a", b"the red room", b"508"),
            (b"b", b"the red room", b"[406, 508]"),
            (b"c", b"Own cubicle", b"1"),
        )
    )
    loaded(LEAST + stations)
    zones = dict(Station.objects.values_list("code", "zone__name"))
    assert zones == {"a": "the red room", "b": "the red room", "c": None}
    assert list(Station.objects.order_by("code").values_list("largest_print_mm", flat=True)) == [508, [406, 508], 1]


@pytest.mark.parametrize(
    ("data", "where", "words"),
    [
        (b"", "studio.toml: ", "[studio] is missing"),
        (b"[studio\nname = 1", "line 1: ", "not TOML"),
        (LEAST + b'x = "\n', "line 5: ", "not TOML"),
        (LEAST + b"a = \xe9\n", "line 5: ", "not UTF-8"),
        (LEAST + b"a = 1\0\n", "line 5: ", "zero byte"),
        (LEAST.decode().encode("utf-16"), "line 1: ", "not UTF-8"),
        (b"a = " + b"[" * 5000, "studio.toml", "not TOML"),
        (b'studio = "x"', "studio: ", "has to be a table"),
        (LEAST + b"stations = 3", "studio.toml", "passed over"),
        (LEAST.replace(b"Asia/Tokyo", b"Asia/Kyoto"), "studio.time_zone: ", "not a time zone"),
        (LEAST.replace(b"JPY", b"yen"), "studio.currency: ", "not a currency"),
        (LEAST.replace(b'"A"', b'""'), "studio.name: ", "it is empty"),
        (LEAST + b"grid_minutes = 0", "studio.grid_minutes: ", "too small"),
        (LEAST + b'[opening]\nmonday = ["10:00-12:00", "11:59-13:00"]', "opening.monday[2]: ", "overlaps"),
        (LEAST + b'[opening]\nmonday = ["18:00-02:00"]\ntuesday = ["01:00-03:00"]', "opening.tuesday[1]: ", "overlaps"),
        (LEAST + b'[opening]\nmonday = ["12:00-12:00"]', "opening.monday[1]: ", "same time"),
        (LEAST + b"[[closures]]\nfrom = 2026-12-26\nto = 2026-12-24", "closures[1].to: ", "comes before"),
        (LEAST + PROCESS.replace(b"safelight", b"dim"), "processes[1].light: ", "none of the words"),
        (LEAST + PROCESS + PROCESS, "processes[2].code: ", "taken already by processes[1]"),
        (LEAST + PROCESSOR.replace(b'process = "rc"', b'process = "fb"'), "processors[1].process: ", "No process has"),
        (LEAST + PROCESSOR.replace(b"508", b"-508"), "processors[1].feed_width_mm: ", "negative"),
        (LEAST + PROCESSOR.replace(b"508", b"508.5"), "processors[1].feed_width_mm: ", "not a whole number"),
        (LEAST + PROCESSOR.replace(b"= 2", b"= inf"), "processors[1].booths_at_once: ", "not a finite number"),
        (LEAST + BATH + b'dosing = "machine"\nstroke_ml = 5', "baths[1].replenish_ml_per_m2: ", "needs its rate"),
        (LEAST + BATH + b'dosing = "hand"', "baths[1].replenish_ml_per_m2: ", "needs its rate"),
        (LEAST + BATH + b'dosing = "machine"\nreplenish_ml_per_m2 = 5', "baths[1].stroke_ml: ", "one stroke"),
        (LEAST + BATH + b'dosing = "guess"', "baths[1].dosing: ", "none of the words"),
        (LEAST + BATH + b'dosing = "batch"\nage_limit_days = nan', "baths[1].age_limit_days: ", "not a finite number"),
        (LEAST + BATH + b'dosing = "batch"\nrefill_cost = -1', "baths[1].refill_cost: ", "negative"),
        (LEAST + BATH + b'dosing = "batch"\ncapacity_m2_per_l = 1e400', "baths[1].capacity_m2_per_l: ", "too large"),
        (LEAST + BATH.replace(b"1000", b"0") + b'dosing = "batch"', "baths[1].volume_ml: ", "too small"),
        (
            LEAST + BATH + b'dosing = "batch"\nidle_percent_per_day = 101',
            "baths[1].idle_percent_per_day: ",
            "too large",
        ),
        (LEAST + b'[[stations]]\nname = "x"\nkind = "y"', "stations[1].code: ", "is missing"),
        (LEAST + b'[[stations]]\ncode = "\\u0000"\nname = "x"\nkind = "y"', "stations[1].code: ", "control sign"),
        (
            LEAST + b'[[sheet_sizes]]\ncode = "a"\nname = "a"\nwidth_mm = 0\nlength_mm = 5',
            "[1].width_mm: ",
            "too small",
        ),
    ],
)
def test_what_is_wrong_is_named_by_key_and_reason_and_nothing_is_written(
    db: Any, data: bytes, where: str, words: str
) -> None:
    before = contents()
    if words == "passed over":
        assert any("passed over" in told(warning) for warning in load_studio(data=data, now=NOW, dry_run=True).warnings)
    else:
        said = refusals(data)
        assert any(where in line and words in line for line in said), said
    assert contents() == before


def test_all_problems_of_a_file_are_told_at_once_up_to_fifty() -> None:
    sizes = b"".join(b'[[sheet_sizes]]\ncode = "%d"\nname = "x"\nwidth_mm = -1\nlength_mm = 5\n' % n for n in range(60))
    with pytest.raises(FileRefused) as refused:
        read_studio(LEAST + sizes)
    assert len(refused.value.problems) == 50
    assert refused.value.more == 10
