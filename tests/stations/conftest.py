"""Whoever opens the house, and two weeks of shifts."""

import pytest


@pytest.fixture
def crew(house):
    """A keyholder, a tutor, one of the staff and a member."""
    from tests import makers

    return {
        "kim": makers.member("Kim", is_keyholder=True),
        "toos": makers.member("Toos", is_tutor=True),
        "sef": makers.member("Sef", is_staff=True),
        "adri": makers.member("Adri"),
    }


@pytest.fixture
def shifts(crew, now):
    """From Thursday 26 November on: today's has begun and is not planned."""
    from tests.shifting import planned

    return planned(now, by=crew["sef"])
