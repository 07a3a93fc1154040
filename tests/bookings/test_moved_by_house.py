"""Whom the house moves is not asked again for what a member may have, only for what keeps people safe."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.people.models import Member
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked
from tests.bookings.test_outages import shut


def rule(code: str, value: int, now: datetime) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=now.date(), now=now, by=None)


QUOTAS: list[dict[str, int]] = [
    {"month_hours": 1},
    {"peak_week_hours": 1, "peak_from": 0, "peak_until": 1440, "peak_days": 127},
    {"days_ahead": 1},
    {"longest_stay_minutes": 60},
]


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


@pytest.mark.parametrize("numbers", QUOTAS, ids=lambda numbers: next(iter(numbers)))
def test_no_share_of_a_member_stands_in_the_way_of_a_move_by_the_house(
    house: Any, adri: Any, kim: Any, now: datetime, numbers: dict[str, int]
) -> None:
    booking = booked(house, adri, now, "S1", process=None)
    for name, value in numbers.items():
        rule(name, value, now)
    outage = shut([house.stations["S1"]], 0, 9, now, kim).outage
    best = queries.moves_of(booking, house.studio, now, kim)[0]
    assert best.starts == TOMORROW + 24 * HOUR and best.why == "other day"
    moved = actions.move_hit(booking=booking, option=best, outage=outage, now=now, by=kim)
    assert (moved.pk, moved.starts) == (booking.pk, best.starts)
    # By themselves they could not go on, to a longer stay of another day.
    back = actions.New(starts=best.starts + 24 * HOUR, ends=best.ends + 25 * HOUR)
    with pytest.raises(Refused):
        actions.change(booking=moved, new=back, now=now, by=adri)


def test_a_minor_is_not_moved_to_a_time_without_an_adult(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    booking = booked(house, adri, now, "S1", process=None)
    outage = shut([house.stations["S1"]], 0, 9, now, kim).outage
    best = queries.moves_of(booking, house.studio, now, kim)[0]
    Member.objects.filter(pk=adri.pk).update(born_on=date(2012, 1, 1))
    with pytest.raises(Refused) as caught:
        actions.move_hit(booking=booking, option=best, outage=outage, now=now, by=kim)
    assert caught.value.refusal.code == "bookings.needs_adult"


def test_a_processor_out_of_service_is_not_to_be_warmed_up_for_what_cannot_stay_there(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    hit = booked(house, adri, now, "E1")
    later = booked(house, makers.member("Bente"), now, "E2", start=5)
    assert [one.first.pk for one in queries.to_warm(TOMORROW.date(), now)] == [hit.pk]
    shut([house.processors["P-RC"]], 0, 4, now, kim)
    warm = queries.to_warm(TOMORROW.date(), now)
    assert [(one.processor.code, one.first.pk) for one in warm] == [("P-RC", later.pk)]
    assert warm[0].ready == later.starts
    shut([house.processors["P-RC"]], 4, 9, now, kim)
    assert queries.to_warm(TOMORROW.date(), now) == []
