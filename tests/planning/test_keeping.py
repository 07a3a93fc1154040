"""What the table of forecasts refuses, whoever writes to it."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from studiodesk.planning.models import KeptForecast

DAY = date(2026, 11, 25)


def keep(house, now, **changed):
    given = {"bath": house.baths["P-CO", "dev"], "at": now, "reckoned_at": now, "day": DAY, "why": "nightly"}
    return KeptForecast.objects.create(**(given | changed))


def test_a_night_has_one_forecast_of_a_bath_and_a_day_as_many_as_are_asked_for(house, now):
    keep(house, now)
    keep(house, now, bath=house.baths["P-RC", "dev"])
    keep(house, now, day=DAY + timedelta(days=1))
    for _ in range(2):
        keep(house, now, why="asked")
    with pytest.raises(IntegrityError, match=r"one_nightly_forecast_a_day|UNIQUE"), transaction.atomic():
        keep(house, now)
    assert KeptForecast.objects.count() == 5


@pytest.mark.parametrize(
    ("early", "middle", "late", "stands"),
    [(0, 0, 0, True), (1, 3, 9, True), (1, 3, None, True), (1, None, None, True), (None, None, None, True),
     (3, 1, 9, False), (1, 9, 3, False)],
)  # fmt: skip
def test_the_three_dates_stand_in_order(house, now, early, middle, late, stands):
    dates = [None if n is None else DAY + timedelta(days=n) for n in (early, middle, late)]
    values = dict(zip(("p10", "p50", "p90"), dates, strict=True))
    if stands:
        keep(house, now, **values)
    else:
        with pytest.raises(IntegrityError, match="forecast_dates_stand_in_order"), transaction.atomic():
            keep(house, now, **values)
