"""Classes in the forecast: heads × show rate × area a head, learned from earlier ones, and what each asks of a bath."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from statistics import fmean, pvariance
from types import SimpleNamespace
from typing import Any

import pytest
from scipy import stats

from studiodesk.chemistry import actions as chemistry
from studiodesk.classes import actions as classes
from studiodesk.planning import words
from studiodesk.planning.actions import forecast_tonight, keep_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import foretell, latest
from studiodesk.planning.queries.classes import classes_known
from studiodesk.planning.rules.class_asks import class_asks, verdict
from studiodesk.planning.rules.classes import (
    DATE_CV2,
    HEAD_CV2,
    Ahead,
    Behind,
    Filled,
    Habits,
    habits,
    moments,
    planned,
    seats_chances,
)
from tests import makers
from tests.classes.making import at as in_days
from tests.classes.making import course, outline
from tests.planning.evenings import AMSTERDAM, refill

AT = datetime(2026, 11, 25, 13, tzinfo=UTC)
DAY = timedelta(days=1)
HEAD_MM2 = 4 * 203 * 254


def ahead(**changed: Any) -> Ahead:
    given: dict[str, Any] = {
        "stay": 1, "outline": 7, "starts": AT + 10 * DAY, "ends": AT + 10 * DAY + timedelta(hours=3),
        "booked": 3, "most": 8, "head_mm2": HEAD_MM2, "machines": {10: 1.0},
    }  # fmt: skip
    return Ahead(**given | changed)


# ---- the sums, without a database ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("booked", "most", "fills"), [(0, 8, 0.4), (3, 8, 0.25), (8, 8, 0.9), (5, 6, 0.0)])
def test_the_chances_of_seats_are_the_binomial_ones_of_scipy(booked: int, most: int, fills: float) -> None:
    found = seats_chances(ahead(booked=booked, most=most), fills)
    law = stats.binom(most - booked, fills)
    assert found == pytest.approx([0.0] * booked + [float(law.pmf(n)) for n in range(most - booked + 1)])
    assert sum(found) == pytest.approx(1)


def test_with_too_few_at_the_day_of_decision_nothing_goes_through() -> None:
    one = ahead(booked=1, most=8, least=4)
    found = seats_chances(one, 0.4)
    assert found[:4] == [0.0] * 4
    assert sum(found) == pytest.approx(float(stats.binom(7, 0.4).sf(2)))  # three more at least
    sure, may_fall = ahead(booked=1, most=8), one
    assert moments(may_fall, Habits(), AT)[0] < moments(sure, Habits(), AT)[0]


def test_mean_and_variance_are_those_of_two_hundred_thousand_simulated_classes() -> None:
    """An independent generator: seats drawn one by one, heads come or not, dates and heads scatter by gamma laws."""
    one, known = ahead(booked=2, most=8, least=4), Habits()
    draw = random.Random(20261127)
    fills = known.fills(10)
    ratio, unsure = known.of(7)
    areas = []
    for _ in range(200_000):
        seats = 2 + sum(draw.random() < fills for _ in range(6))
        if seats < 4:
            areas.append(0.0)
            continue
        heads = sum(draw.random() < known.show for _ in range(seats))
        spread = DATE_CV2 + unsure
        date_factor = draw.gammavariate(1 / spread, spread)
        each = [draw.gammavariate(1 / HEAD_CV2, HEAD_CV2) for _ in range(heads)]
        # heads scatter independently of the date: cv² of a head's area about the date's level
        areas.append(HEAD_MM2 * ratio * (date_factor * heads + sum(one_head - 1 for one_head in each)))
    mean, variance = moments(one, known, AT)
    assert mean == pytest.approx(fmean(areas), rel=0.01)
    assert variance == pytest.approx(pvariance(areas), rel=0.03)


def test_earlier_classes_teach_who_stays_away_what_a_head_uses_and_how_seats_fill() -> None:
    fresh = habits([])
    assert (fresh.show, fresh.of(7)) == (0.9, (1.0, DATE_CV2 / 3))
    assert fresh.fills(10) == 0.4
    taught = habits(
        [Behind(7, seats=8, came=4, head_mm2=100, fed_mm2=800)] * 20 + [Behind(7, seats=9, came=None, head_mm2=100)],
        [Filled(8, [(30.0, 3), (5.0, 4)])] * 5,
    )
    assert taught.show == pytest.approx((18 + 80) / (20 + 160))
    assert taught.of(7)[0] == pytest.approx((3 + 20 * 2) / 23)  # 800 of 4 × 100 expected: twice as much
    assert taught.of(8) == (1.0, DATE_CV2 / 3)  # another outline is another matter
    assert taught.fills(10) == pytest.approx((0.4 * 8 + 5 * 4) / (8 + 5 * 5))
    assert taught.fills(40) == pytest.approx((0.4 * 8 + 5 * 7) / (8 + 5 * 8))
    assert taught.fills(0) == 0.0


def test_what_went_through_already_is_taken_off_and_machines_share() -> None:
    two = ahead(machines={10: 0.75, 11: 0.25}, booked=8, fed={11: 10**9})
    found = planned([two], Habits(), AT)
    mean, variance = moments(two, Habits(), AT)
    assert [(one.processor, one.mean_mm2, one.variance_mm4) for one in found] == [
        (10, pytest.approx(mean * 0.75), pytest.approx(variance * 0.75**2))
    ]
    assert found[0].at == two.ends


@pytest.mark.parametrize(
    ("chance", "used", "said"),
    [(0.1, 0.5, "change"), (0.0999, 0.8, "tired"), (0.0, 0.7999, "carries"), (0.05, None, "no limit")],
)
def test_the_verdict_stands_at_its_edges(chance: float, used: float | None, said: str) -> None:
    assert verdict(chance, used) == said


TODAY = date(2026, 11, 25)
ASK = {
    "starts": "2026-12-05T13:00:00+00:00", "used": 0.86, "chance": 0.02, "before": 0.0, "limit": "capacity",
}  # fmt: skip


@pytest.mark.parametrize(
    ("ask", "verdict", "said"),
    [
        (ASK, "tired", "about 86 % used after it, tired by then: better changed before Saturday 5 December"),
        (
            ASK | {"used": 1.04, "chance": 0.6, "before": 0.2},
            "change",
            "about 104 % used after it, at its end 3 times in 5: change it before Saturday 5 December",
        ),
        (
            ASK | {"used": 1.4, "chance": 1.0, "before": 0.97},
            "change",
            "at its end before the class begins: change it before Saturday 5 December",
        ),
        (
            ASK | {"used": 1.0, "chance": 1.0, "before": 0.0, "limit": "age"},
            "change",
            "too old by then: change it before Saturday 5 December",
        ),
        (ASK | {"used": 0.4}, "carries", "carries it: about 40 % used after it"),
        (ASK | {"used": None}, "no limit", "lasts: no use of it wears it out"),
    ],
)
def test_what_is_said_of_a_bath_before_a_class(ask: dict[str, Any], verdict: str, said: str) -> None:
    assert words.ask_words(ask, verdict, TODAY) == said


def test_what_it_asks_of_the_jug_is_said_in_the_unit_that_reads_best() -> None:
    assert words.jug_words(1_420_000_000_000) == "asks for about 1.4 L of replenisher"
    assert words.jug_words(380_000_000_000) == "asks for about 380 mL of replenisher"
    assert words.jug_words(None) == words.jug_words(0) == ""


def test_class_asks_reads_the_day_on_which_the_class_ends() -> None:
    day = SimpleNamespace
    course_ = day(
        processor=10, first_day=TODAY, mean=[0.0] * 10 + [3e6] * 20, day=lambda n: TODAY + n * DAY, idle_days=()
    )
    held = day(
        passed=None, rooms={"capacity": day(mm2=4e6, idle_mm2=0)}, used={"capacity": 0.2},
        settings=day(rate_ul_per_m2=200_000, replenished=True),
        used_after=lambda limit, area: 0.2 + 0.8 * area / 4e6,
    )  # fmt: skip
    passed = day(reached=[0.0] * 10 + [0.3] * 20, age_day=None)
    one = ahead()
    (found,) = class_asks(course_, held, passed, [one], planned([one], Habits(), AT), AMSTERDAM)  # type: ignore[arg-type]
    assert (found.used, found.chance, found.before, found.limit) == (pytest.approx(0.8), 0.3, 0.0, "capacity")
    assert found.replenisher_pl == pytest.approx(found.mm2 * 200_000, abs=200_000)
    far = ahead(starts=AT + 29 * DAY, ends=AT + 29 * DAY)
    assert class_asks(course_, held, passed, [far], planned([far], Habits(), AT), AMSTERDAM) == []  # type: ignore[arg-type]


# ---- with a house --------------------------------------------------------------------------------------------------


def of_bath(house: Any, at: datetime, which: tuple[str, str] = ("P-RC", "dev")) -> Any:
    return next(one for one in foretell(at, live=True) if one.of.pk == house.baths[which].pk)


def test_a_class_announced_is_in_the_course_on_its_day_and_called_off_it_is_not(house: Any, now: datetime) -> None:
    before = of_bath(house, now)
    made = course(house, now, of=outline(house, now, heads_most=4), days=10)
    for number in range(4):
        classes.sign_up(course=made, heads=1, member=makers.member(f"Head {number}"), now=now)
    after = of_bath(house, now)
    more = [b - a for a, b in zip(before.course.mean, after.course.mean, strict=True)]
    assert all(abs(one) < 1 for one in more[:10])
    assert more[10] == pytest.approx(4 * 0.9 * HEAD_MM2, rel=1e-6)  # four seats, nine in ten come
    assert [(one.stay, one.mm2) for one in after.classes] == [(made.meetings.get().stay_id, round(4 * 0.9 * HEAD_MM2))]
    classes.call_off_course(course=made, because="ill", now=now, by=makers.member("Staff", is_staff=True))
    assert of_bath(house, now).course.mean == pytest.approx(before.course.mean)


def test_of_a_group_that_has_the_processor_nobody_else_books_the_place(house: Any, now: datetime) -> None:
    made = course(house, now, days=10)
    stay = made.meetings.get().stay
    known = classes_known(now, live=True, zone=AMSTERDAM)
    day = stay.starts.astimezone(AMSTERDAM).date()
    assert known.kept == {(house.processors["P-RC"].pk, day): pytest.approx(2 * 4.0)}  # two places, four hours each


def test_sheets_of_a_class_are_its_own_and_teach_the_next_one(house: Any, now: datetime) -> None:
    of = outline(house, now, heads_most=4, decide_days=None)
    tutor = makers.member("Tutor", is_tutor=True)
    first = course(house, now, of=of, days=1, tutor=tutor)
    classes.sign_up(course=first, heads=2, member=makers.member("Ona"), now=now)
    stay = first.meetings.get().stay
    during = stay.starts + timedelta(hours=1)
    chemistry.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=16, kind="print", who="class",
        fed_at=during, now=during,
    )  # fmt: skip
    later = stay.ends + DAY
    second = course(house, later, of=of, days=14, tutor=tutor)
    known = classes_known(later, live=True, zone=AMSTERDAM)
    assert [one.stay for one in known.ahead] == [second.meetings.get().stay_id]
    # 16 sheets of two booked heads, of whom 1.8 come as a rule, who were to use 4 each: 2.2 times as much
    assert known.habits.of(of.pk)[0] == pytest.approx((3 + 16 / (4 * 2 * known.habits.show)) / 4)


def test_while_a_class_is_on_only_the_rest_of_it_is_still_to_come(house: Any, now: datetime) -> None:
    made = course(house, now, days=1, of=outline(house, now, decide_days=None))
    classes.sign_up(course=made, heads=4, member=makers.member("Ona"), now=now)
    stay = made.meetings.get().stay
    during = stay.starts + timedelta(hours=1)
    (whole,) = classes_known(stay.starts, live=True, zone=AMSTERDAM).planned
    chemistry.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=5, kind="print", who="class",
        group=stay, fed_at=during, now=during,
    )  # fmt: skip
    (rest,) = classes_known(during, live=True, zone=AMSTERDAM).planned
    assert rest.mean_mm2 == pytest.approx(whole.mean_mm2 - 5 * 203 * 254)


def test_looking_back_only_what_was_announced_and_booked_by_then_counts(house: Any, now: datetime) -> None:
    made = course(house, now, days=20, of=outline(house, now, decide_days=None))
    classes.sign_up(course=made, heads=3, member=makers.member("Ona"), now=now + 2 * DAY)
    at = now + 5 * DAY
    assert classes_known(now - DAY, live=False, zone=AMSTERDAM).ahead == []
    (then,) = classes_known(now + DAY, live=False, zone=AMSTERDAM).ahead
    (today,) = classes_known(at, live=False, zone=AMSTERDAM).ahead
    assert (then.booked, today.booked) == (0, 3)
    classes.call_off_course(course=made, because="ill", now=at, by=makers.member("Staff", is_staff=True))
    assert [one.stay for one in classes_known(at - DAY, live=False, zone=AMSTERDAM).ahead] == [today.stay]
    assert classes_known(at, live=False, zone=AMSTERDAM).ahead == []


def test_a_class_announced_is_foretold_within_the_next_tick(house: Any, now: datetime) -> None:
    refill(house, now, now)
    forecast_tonight(now=now)
    assert forecast_tonight(now=now + timedelta(minutes=1)) == 0
    made = course(house, now + timedelta(minutes=2), days=10)
    minute = now + timedelta(minutes=3)
    assert forecast_tonight(now=minute) > 0
    assert forecast_tonight(now=minute + timedelta(minutes=1)) == 0
    bath = house.baths["P-RC", "dev"]
    row = latest([bath])[bath.pk]
    assert row.why == KeptForecast.Why.CLASSES
    assert [ask["stay"] for ask in row.classes] == [made.meetings.get().stay_id]
    assert row.classes[0]["title"] == "First prints"


def test_a_drop_in_is_foretold_by_the_tallies_before_it(house: Any, now: datetime) -> None:
    staff = makers.member("Staff", is_staff=True)
    club = outline(house, now, code="club", sort="open evening", decide_days=None, heads_least=1, heads_most=12,
                   heads_a_station=6)  # fmt: skip
    tutor = makers.member("Tutor", is_tutor=True)
    first = classes.announce(outline=club, spans=[in_days(now, 1)], tutor=tutor, now=now, by=staff)
    second = classes.announce(outline=club, spans=[in_days(now, 8)], tutor=tutor, now=now, by=staff)
    known = classes_known(now, live=True, zone=AMSTERDAM)
    assert [one.booked for one in known.ahead] == [6, 6]  # before the first one: half of its room
    meeting = first.meetings.get()
    classes.set_tally(meeting=meeting, came=9, inside=4, now=meeting.stay.starts, by=staff)
    later = meeting.stay.ends + DAY
    assert [one.booked for one in classes_known(later, live=True, zone=AMSTERDAM).ahead] == [9]
    assert second.meetings.get().tally == 0


def test_forecasts_with_classes_are_kept_with_what_each_asks(house: Any, now: datetime) -> None:
    refill(house, now, now)
    course(house, now, days=10)
    keep_forecasts(now=now)
    rows = latest()
    asked = {pk: row.classes for pk, row in rows.items()}
    rc = {bath.pk for (processor, _code), bath in house.baths.items() if processor == "P-RC"}
    assert {pk for pk, many in asked.items() if many} == rc & set(asked)
