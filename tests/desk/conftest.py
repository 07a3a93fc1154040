from datetime import timedelta

import pytest
import time_machine


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def keyholder(house):
    from tests import makers

    return makers.member("Kim", is_keyholder=True)


@pytest.fixture
def people(house, clock):
    """A member, a keyholder and one of the staff, with the clock standing at ``now``."""
    from tests import makers

    return {
        "member": makers.member("Adri"),
        "keyholder": makers.member("Kim", is_keyholder=True),
        "staff": makers.member("Sef", is_staff=True),
    }


@pytest.fixture
def evening(house, now, clock):
    """15:00: Adri is in, Bente should be, Cato comes in the evening for colour, Dirk tomorrow."""
    from studiodesk.bookings import actions as bookings
    from tests import makers
    from tests.desk.evening import at, book

    adri, bente, cato, dirk = (makers.member(name) for name in ("Adri", "Bente", "Cato", "Dirk"))
    made = {
        "adri": book(house, adri, "E1", "rc", at(13), at(17)),
        "bente": book(house, bente, "E2", "rc", at(14, 30), at(18)),
        "cato": book(house, cato, "E3", "ra4", at(18), at(21)),
        "dirk": book(house, dirk, "S1", None, at(11, day=26), at(12, day=26)),
    }
    bookings.arrive(booking=made["adri"], now=at(13, 5))
    return made


@pytest.fixture
def foretold(house, people, now):
    """Colour was printed for four weeks, 9 sheets on each of four days a week, and the bath filled two days ago."""
    from studiodesk.planning import actions as planning
    from tests.desk import baths

    for days in range(28, 0, -1):
        if days % 7 < 4:
            baths.log(house, now - timedelta(days=days), "P-CO", 9)
    baths.write(house, "refill", now - timedelta(days=2), ("P-CO", "dev"), now=now - timedelta(days=2))
    planning.keep_forecasts(now=now)
    return house
