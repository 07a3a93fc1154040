"""With ``--at`` in the past only what was known then counts: files cut there, and rows made here, say the same."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.chemistry import actions as chemistry
from studiodesk.planning.models import KeptForecast
from studiodesk.units import PL_PER_ML
from studiodesk.upkeep.actions import load_studio
from tests import makers
from tests.planning.evenings import SHEET, Past, facts, local, refill, told
from tests.planning.histories import InAnotherDatabase, cut, printed, take_in, to_the_last_digit
from tests.upkeep.files import NOW, example, quarter
from tests.upkeep.invented import Invented

Moments = list[datetime]
DAY = timedelta(days=1)


def differences(studio: bytes, files: dict[str, bytes], moments: Moments) -> Moments:
    """The moments at which the whole history foretells otherwise than the history as it was then."""
    with InAnotherDatabase():
        take_in(studio, files, NOW)
        whole = [(printed(at), to_the_last_digit(at)) for at in moments]
    assert all(any(line["history_sessions"] for line in json) for json, _ in whole), "nothing was known yet"
    out = []
    for at, was in zip(moments, whole, strict=True):
        with InAnotherDatabase():
            take_in(studio, cut(files, at), NOW)
            if (printed(at), to_the_last_digit(at)) != was:
                out.append(at)
    return out


def test_the_quarter_foretells_what_the_quarter_cut_there_would_have(db: Any) -> None:
    moments = [
        datetime(2026, 8, 20, 21, 30, tzinfo=UTC),
        datetime(2026, 10, 1, 18, 30, tzinfo=UTC),
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),  # 02:30 in Amsterdam, the first of the two
    ]
    assert differences(example("studio.toml"), quarter(), moments) == []


def test_the_moments_of_the_quarter_have_something_to_hide(db: Any) -> None:
    """Rows made, and bookings cancelled, after the moment: else the test above could not fail."""
    take_in(example("studio.toml"), quarter(), NOW)
    at = datetime(2026, 10, 1, 18, 30, tzinfo=UTC)
    ahead = Booking.objects.filter(starts__gt=at)
    assert ahead.filter(made_at__lte=at, cancelled_at__gt=at).count() >= 3
    assert ahead.filter(made_at__gt=at).count() > 20
    known_then = {one.made_at for one in facts(at, live=False).stays if one.starts > at and not one.cancelled_at}
    assert known_then != set(ahead.filter(cancelled_at=None, process__isnull=False).values_list("made_at", flat=True))


def test_a_figure_that_was_changed_later_does_not_count(db: Any) -> None:
    take_in(example("studio.toml"), quarter(), NOW)
    hour = timedelta(hours=1)
    then, now = printed(NOW + hour), printed(NOW + 3 * hour)
    smaller = example("studio.toml").replace(b"capacity_m2_per_l = 1.6", b"capacity_m2_per_l = 0.4")
    load_studio(data=smaller, now=NOW + 2 * hour)
    assert printed(NOW + hour) == then
    assert printed(NOW + 3 * hour) != now


@pytest.mark.parametrize("seed", [3])
def test_a_studio_that_nobody_has_seen_foretells_what_its_files_cut_there_would_have(
    db: Any, tmp_path: Path, seed: int
) -> None:
    studio = Invented(seed)
    studio.write(tmp_path)
    files = {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")}
    moments = [studio.start + timedelta(days=day, hours=5) for day in (10, 15, 20)]
    assert differences((tmp_path / "studio.toml").read_bytes(), files, moments) == []


TWO_MACHINES = b"""
[studio]
name = "Drawn studio"
time_zone = "Europe/Amsterdam"
currency = "EUR"
[opening]
tuesday = ["10:00-22:00"]
[[processes]]
code = "rc"
name = "rc"
light = "safelight"
[[processors]]
code = "P1"
name = "One"
process = "rc"
feed_width_mm = 400
booths_at_once = 1
[[processors.baths]]
code = "dev"
name = "Developer"
dosing = "batch"
volume_ml = 3000
capacity_m2_per_l = 1
[[processors]]
code = "P2"
name = "Two"
process = "rc"
feed_width_mm = 400
booths_at_once = 1
[[processors.baths]]
code = "dev"
name = "Developer"
dosing = "batch"
volume_ml = 3000
capacity_m2_per_l = 1
[[stations]]
code = "E1"
name = "One"
kind = "booth"
processes = ["rc"]
[[stations]]
code = "E2"
name = "Two"
kind = "booth"
processes = ["rc"]
[[sheet_sizes]]
code = "203x254"
name = "8x10 in"
width_mm = 203
length_mm = 254
"""


def test_where_a_booking_stands_is_not_told_by_what_was_cancelled_or_booked_later(db: Any) -> None:
    """Two processors: a file's bookings are parted by their starts, those of later days among them."""
    files = {
        "members.csv": b"number,name,email,joined_on\nM1,A,a@example.org,2026-01-01\nM2,B,b@example.org,2026-01-01\n",
        "bookings.csv": b"reference,member,station,process,start,end,made_at,cancelled_at,arrived_at\n"
        b"B0,M1,E1,rc,2026-07-07T10:00:00Z,2026-07-07T12:00:00Z,2026-07-01T10:00:00Z,,\n"
        b"B1,M1,E1,rc,2026-08-04T10:00:00Z,2026-08-04T14:00:00Z,2026-07-01T10:00:00Z,2026-07-20T10:00:00Z,\n"
        b"B2,M2,E2,rc,2026-08-04T11:00:00Z,2026-08-04T14:00:00Z,2026-07-02T10:00:00Z,,\n"
        b"B3,M2,E2,rc,2026-08-11T11:00:00Z,2026-08-11T14:00:00Z,2026-07-03T10:00:00Z,,\n"
        b"B4,M1,E1,rc,2026-08-11T10:00:00Z,2026-08-11T14:00:00Z,2026-07-21T10:00:00Z,,\n",
        "feeds.csv": b"fed_at,processor,member,booking,sheet,sheets,kind\n"
        b"2026-07-07T11:00:00Z,P1,M1,B0,203x254,8,print\n",
    }
    assert differences(TWO_MACHINES, files, [datetime(2026, 7, 10, 12, tzinfo=UTC)]) == []


# --- rows that were made here ---------------------------------------------------------------------------------------

WEDNESDAY = date(2026, 11, 25)
AT = local(WEDNESDAY, 16)
BEFORE = AT - timedelta(hours=1)
AFTER = AT + timedelta(minutes=30)


def sheets(house: Any, fed_at: datetime, now: datetime, many: int = 9) -> Any:
    return chemistry.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes[SHEET], sheets=many, kind="print", who="walk-in",
        fed_at=fed_at, now=now,
    )  # fmt: skip


@pytest.fixture
def at_work(house: Any) -> dict[str, Any]:
    """Three months of one evening a week, two bookings ahead, sheets and an entry of this afternoon."""
    adri, past = makers.member("Adri"), Past(house)
    past.weekly(adri, WEDNESDAY - timedelta(weeks=12), 12, 20)
    past.record(BEFORE - 9 * DAY)
    for bath in house.baths:
        refill(house, BEFORE - 8 * DAY, BEFORE - 8 * DAY, bath)
    booking = bookings.book(
        member=adri, station=house.stations["E2"], process=house.processes["rc"], by=adri, now=BEFORE,
        starts=local(WEDNESDAY + DAY, 13), ends=local(WEDNESDAY + DAY, 19),
    )  # fmt: skip
    given = chemistry.record_bath_entry(
        bath=house.baths["P-RC", "fix"], event="given", at=BEFORE, now=BEFORE, amount_pl=400 * PL_PER_ML
    )
    return {
        "house": house,
        "adri": adri,
        "booking": booking,
        "given": given,
        "feed": sheets(house, BEFORE, BEFORE),
        "keyholder": makers.member("Kim", is_keyholder=True),
    }


def another_booking(w: dict[str, Any]) -> None:
    bookings.book(
        member=w["adri"], station=w["house"].stations["E1"], process=w["house"].processes["rc"], by=w["adri"],
        now=AFTER, starts=local(WEDNESDAY + 2 * DAY, 13), ends=local(WEDNESDAY + 2 * DAY, 19),
    )  # fmt: skip


LATER: dict[str, Callable[[dict[str, Any]], Any]] = {
    "sheets of before that were written down later": lambda w: sheets(w["house"], BEFORE, AFTER),
    "sheets fed later": lambda w: sheets(w["house"], AFTER, AFTER),
    "sheets taken back later": lambda w: chemistry.undo_sheets(feed=w["feed"], now=AFTER),
    "a booking cancelled later": lambda w: bookings.cancel(booking=w["booking"], now=AFTER, by=w["adri"]),
    "a booking made later": another_booking,
    "an entry corrected later": lambda w: chemistry.record_bath_entry(
        bath=w["given"].bath, event="given", at=BEFORE, now=AFTER, amount_pl=4 * PL_PER_ML, corrects=w["given"]
    ),
    "an entry taken back later": lambda w: chemistry.take_back_entry(entry=w["given"], note="a slip", now=AFTER),
    "a filling of before that was written down later": lambda w: refill(w["house"], BEFORE, AFTER),
}
SEEN_IN_THE_REPLENISHER = ("an entry corrected later", "an entry taken back later")


@pytest.mark.parametrize("what", LATER)
def test_what_was_done_after_the_moment_changes_what_is_foretold_now_and_not_what_was_foretold_then(
    at_work: dict[str, Any], what: str
) -> None:
    def now_seen() -> list[Any]:
        later = AFTER + timedelta(minutes=1)
        standing = [one.turnovers for one in chemistry_standings(later)]
        return [to_the_last_digit(later), standing if what in SEEN_IN_THE_REPLENISHER else None]

    then, now = to_the_last_digit(AT), now_seen()
    assert [line.course.mean for line in everything(AT)] == [line[2] for line in then]
    LATER[what](at_work)
    assert to_the_last_digit(AT) == then
    assert now_seen() != now


def everything(at: datetime) -> list[Any]:
    from studiodesk.planning.queries import foretell

    return foretell(at, live=True)


def chemistry_standings(at: datetime) -> list[Any]:
    from studiodesk.chemistry.queries import standings

    return standings(at)


def test_sheets_of_a_stay_that_the_house_called_off_still_went_through(at_work: dict[str, Any]) -> None:
    """They are nobody's stay then: else the area of that evening would be lost."""
    booking, late = at_work["booking"], local(WEDNESDAY + DAY, 17)
    chemistry.log_sheets(
        processor=booking.processor, sheet=at_work["house"].sizes[SHEET], sheets=4, kind="print", who="booking",
        booking=booking, fed_at=late, now=late,
    )  # fmt: skip
    assert sum(one.area_mm2 for one in facts(late).loose) == 9 * 203 * 254
    bookings.cancel(booking=booking, now=late, by=at_work["keyholder"])
    assert sum(one.area_mm2 for one in facts(late).loose) == 13 * 203 * 254
    assert all(stay.cancelled_at is None or not stay.fed for stay in facts(late).stays)


# No act writes a share that was wished for: these rows stand for nights that were far off.
def missed(bath: Any, at: datetime, reckoned_at: datetime, share: float) -> None:
    KeptForecast.objects.create(
        bath=bath, at=at, reckoned_at=reckoned_at, day=at.date(), why="nightly", shares={"7": share}, widened=1
    )


def test_kept_forecasts_widen_only_what_is_foretold_after_they_were_reckoned(at_work: dict[str, Any]) -> None:
    bath = at_work["house"].baths["P-RC", "dev"]
    for weeks in (2, 3, 4, 5):
        missed(bath, AT - timedelta(weeks=weeks), AFTER, 0.9999)  # a look back, reckoned later
    assert told(AT, live=False).widened == 1
    assert told(AFTER + DAY, live=False).widened > 2
    plain = told(AT, live=False).course
    wide = told(AT, live=True).course  # as if ``AT`` were now: what is here is known
    assert [v / p for v, p in zip(wide.variance, plain.variance, strict=True)] == pytest.approx(
        [told(AT, live=True).widened] * len(plain.variance)
    )
    assert wide.mean == plain.mean


def test_a_span_that_is_not_over_at_the_moment_does_not_widen_whatever_offset_the_moment_is_written_with(
    at_work: dict[str, Any],
) -> None:
    bath = at_work["house"].baths["P-RC", "dev"]
    night = local(WEDNESDAY - 7 * DAY, 3)
    for weeks in (0, 1, 2, 3):
        missed(bath, night - timedelta(weeks=weeks), night, 0.9999)
    until = [local(WEDNESDAY, 23.9), local(WEDNESDAY + DAY, 0.1)]
    three, four = (told(at, live=False).widened for at in until)
    assert four > three > 1
    assert [told(at.astimezone(UTC), live=False).widened for at in until] == [three, four]
    assert [told(at.astimezone(local_zone()), live=False).widened for at in until] == [three, four]


def local_zone() -> Any:
    from zoneinfo import ZoneInfo

    return ZoneInfo("Pacific/Auckland")
