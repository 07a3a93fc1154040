import pytest
import time_machine


@pytest.fixture
def clock(now):
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def people(house):
    from tests import makers

    cast = {name.lower(): makers.member(name) for name in ("Adri", "Bente", "Cato", "Dirk")}
    cast["kim"] = makers.member("Kim", is_keyholder=True)
    cast["tess"] = makers.member("Tess", is_tutor=True)
    cast["sef"] = makers.member("Sef", is_staff=True)
    return cast


@pytest.fixture
def booked(house, people):
    """Adri has booth 1 from 13 to 17, Bente booth 2 from 14:30, Cato colour at 18, Dirk booth 1 straight after Adri."""
    from tests.door.world import at, book

    return {
        "adri": book(house, people["adri"], "E1", at(13), at(17)),
        "bente": book(house, people["bente"], "E2", at(14, 30), at(18)),
        "cato": book(house, people["cato"], "E3", at(18), at(21), "ra4"),
        "dirk": book(house, people["dirk"], "E1", at(17, 15), at(20)),
    }
