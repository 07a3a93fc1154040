"""Check values from outside for levels and areas; classes as in ``test_published_values``."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.chemistry.rules.events import Given, Lost
from studiodesk.chemistry.rules.giving import giving
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.tank import fold
from studiodesk.units import ML_PER_US_GALLON, MM2_PER_FT2, MM2_PER_M2, MM_PER_INCH, PL_PER_L, pl_from_ml

T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
ZONE = ZoneInfo("UTC")


def gallons(amount: str) -> int:
    from decimal import Decimal

    return pl_from_ml(Decimal(amount) * ML_PER_US_GALLON)


def test_topping_off_a_batch_closes_to_the_level():
    # no. 12, class H: 0.3 gal withdrawn, 0.5 gal of replenisher in, level constant: 0.2 gal were carried out.
    # Source: US Army SS0520-5, mirror page 18 (the 0.2 is 0.5 − 0.3)
    carried, drawn, added = gallons("0.2"), gallons("0.3"), gallons("0.5")
    tank = BathSettings(4 * PL_PER_L, "hand", rate_ul_per_m2=1, unit_pl=1, has_weir=False)
    events = [Lost(T0, carried), Given(T0 + timedelta(minutes=1), added, drawn)]
    state = fold(T0, events, SettingsHistory.always(tank), ZONE)
    assert abs(state.short_pl) <= 1 and abs(state.overflow_pl - drawn) <= 1  # to a picolitre of rounded gallons
    # and the page says to draw off just that, for a tank that stands so low
    said = giving(1, added, short_pl=carried, has_weir=False, most_at_once_pl=None)
    assert abs(said.draw_off_pl - drawn) <= 1


def test_a_threshold_that_was_rounded_in_feet():
    # no. 27, class P: 150 m² a day printed as 1,600 ft²; 1,600 ft² = 148.64 m², 150 m² = 1,614.6 ft².
    # Source: 40 CFR 459.10.  Both are kept, and what is acted on is the m²
    assert float(1600 * MM2_PER_FT2 / MM2_PER_M2) == pytest.approx(148.64, abs=0.01)
    assert float(150 * MM2_PER_M2 / MM2_PER_FT2) == pytest.approx(1614.6, abs=0.05)


def test_a_days_sheets_of_a_busy_processor():
    # no. 31, class H: 50 sheets of 14×17 in a day, one side counted: 0.15355 m² each, 7.677 m² a day.
    # Source: CRCPD leaflet H-7 (50 films a day); the areas are arithmetic
    sheet = float(14 * 17 * MM_PER_INCH**2)
    assert sheet / MM2_PER_M2 == pytest.approx(0.15355, abs=5e-6)
    assert 50 * sheet / MM2_PER_M2 == pytest.approx(7.677, abs=5e-4)
