"""Kit: kept with the booking, never more of it than there is, and some of it longer than the stay."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from studiodesk.bookings import actions
from studiodesk.bookings.models import BookingKit, Hold
from studiodesk.stations.models import KitItem, Lane, Resource
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked, refused


def item(code: str, pieces: int, **more: Any) -> KitItem:
    resource = Resource.objects.create(sort="kit")
    Lane.objects.bulk_create(Lane(resource=resource, number=n) for n in range(1, pieces + 1))
    return KitItem.objects.create(code=code, name=code.capitalize(), resource=resource, pieces=pieces, **more)


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_no_more_pieces_are_promised_than_there_are(house: Any, adri: Any, now: datetime) -> None:
    lens = item("lens", 2)
    booked(house, adri, now, "E1", kit={lens: 1})
    booked(house, adri, now, "E2", start=1, kit={lens: 1})
    refusal = refused(house, adri, now, "E3", start=1, kit={lens: 1})
    assert (refusal.code, refusal.facts["left"]) == ("bookings.kit_taken", 0)
    assert refused(house, adri, now, "E3", start=2, kit={lens: 2}).facts["left"] == 1
    assert booked(house, adri, now, "E3", start=3, kit={lens: 2}).kit.get().pieces == 2
    assert refused(house, adri, now, "E4", start=30, kit={lens: 3}).code == "bookings.kit_too_many"


def test_kit_that_fits_between_two_others_may_change_the_piece_midway(house: Any, adri: Any, now: datetime) -> None:
    """Nobody is handed a piece before they come: fewer than all are out at any moment, so one is always there."""
    lens = item("lens", 2)
    booked(house, adri, now, "E1", start=0, hours=1, kit={lens: 1})
    booked(house, adri, now, "E2", start=1.5, hours=1, kit={lens: 1})
    both = booked(house, adri, now, "E3", start=0, hours=2.5, kit={lens: 1})
    assert both.holds.filter(lane__resource=lens.resource).count() >= 1
    assert refused(house, adri, now, "E4", start=0, hours=1, kit={lens: 1}).code == "bookings.kit_taken"


def test_a_place_to_dry_is_kept_from_the_end_of_the_stay_and_over_closing(house: Any, adri: Any, now: datetime) -> None:
    cabinet = item("cabinet", 1, from_end_minutes=0, outlasts_minutes=120)
    last = booked(house, adri, now, "S1", process=None, start=6, hours=3, kit={cabinet: 1})
    held = Hold.objects.get(lane__resource=cabinet.resource)
    assert (held.starts, held.ends) == (last.ends, last.ends + 2 * HOUR)
    washer = item("washer", 1, from_end_minutes=60, outlasts_minutes=60)
    booked(house, adri, now, "E1", start=0, hours=3, kit={washer: 1})
    held = Hold.objects.get(lane__resource=washer.resource)
    assert (held.starts, held.ends) == (TOMORROW + 2 * HOUR, TOMORROW + 4 * HOUR)
    # Somebody who leaves just then finds the washer taken though their own stay was over before.
    assert refused(house, adri, now, "E2", start=0.5, hours=2, kit={washer: 1}).code == "bookings.kit_taken"
    assert booked(house, adri, now, "E2", start=4, hours=2, kit={washer: 1}).pk


def test_kit_goes_with_its_stations_and_processes_only(house: Any, adri: Any, now: datetime) -> None:
    carrier = item("carrier", 1, kinds=["enlarger booth"], process_codes=["rc"])
    assert refused(house, adri, now, "S1", process=None, kit={carrier: 1}).code == "bookings.kit_does_not_fit"
    assert refused(house, adri, now, process="ra4", kit={carrier: 1}).code == "bookings.kit_does_not_fit"
    assert booked(house, adri, now, kit={carrier: 1}).pk


def test_kit_that_is_given_back_is_free_again_and_stays_written_in_the_booking(
    house: Any, adri: Any, now: datetime
) -> None:
    lens = item("lens", 1)
    booking = booked(house, adri, now, kit={lens: 1})
    actions.cancel(booking=booking, now=now, by=adri)
    assert booked(house, adri, now, "E2", kit={lens: 1}).pk
    assert BookingKit.objects.filter(booking=booking).count() == 1
    actions.cancel(booking=booked(house, adri, now, "E1"), now=now, by=adri)
    assert Hold.objects.filter(lane__resource=lens.resource).count() == 1


def test_kit_with_no_pieces_is_no_kit(house: Any, adri: Any, now: datetime) -> None:
    lens = item("lens", 1)
    assert booked(house, adri, now, kit={lens: 0}).kit.count() == 0
