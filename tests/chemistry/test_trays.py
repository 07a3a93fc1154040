"""Fixing in two baths, and lines of trays opened and closed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Bath, BathEntry, BathSetting
from studiodesk.chemistry.queries.mixing import content_of
from studiodesk.chemistry.rules.events import SheetsThrough
from studiodesk.chemistry.rules.rotating import capacity_of_the_pair_mm2, may_rotate, rotated
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.tank import Filling, fold, silver_ug_per_l
from studiodesk.chemistry.rules.tank_state import TankState
from studiodesk.chemistry.rules.using import capacity_used, life_used
from studiodesk.units import PL_PER_L
from tests import makers
from tests.chemistry.pages import client_of, soup_of
from tests.chemistry.shelf import mixed, shelf
from tests.desk.baths import log

T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Amsterdam")
DAY = timedelta(days=1)
FIXER = BathSettings(
    2 * PL_PER_L, "batch", capacity_mm2_per_l=2_580_000, age_limit_s=7 * 86_400, silver_ug_per_m2=969_000,
    bottle_limit_s=30 * 86_400,
)  # fmt: skip
SHEET = 203 * 254


def through(at: datetime, sheets: int, began: Any = T0) -> TankState:
    return fold(began, [SheetsThrough(at, SHEET, sheets)], SettingsHistory.always(FIXER), ZONE)


# --- the rule -----------------------------------------------------------------------------------------------------


def test_fifty_prints_a_litre_and_four_rotations_are_two_hundred_and_fifty() -> None:
    # no. 13, class P: two-bath hypo, 50 prints a litre before the change, then three more changes: 50·(1+3+1) = 250.
    # Source: analogue-photography.org "Fixing prints" (class S2)
    a_litre = BathSettings(PL_PER_L, "batch", capacity_mm2_per_l=50 * SHEET)
    assert capacity_of_the_pair_mm2(a_litre, 4) == 250 * SHEET
    assert capacity_of_the_pair_mm2(BathSettings(PL_PER_L, "batch"), 4) is None


def test_the_count_begins_again_and_the_shelf_life_goes_on() -> None:
    first, second = through(T0 + DAY, 100), through(T0 + DAY, 3)
    at = T0 + 2 * DAY
    begins = rotated(first, second, FIXER, FIXER, at)
    state = fold(Filling(at, begins.age_from, begins.rotation), [], SettingsHistory.always(FIXER), ZONE)
    assert state.rotation == 1 and capacity_used(state, FIXER) == 0
    assert life_used(state, FIXER, at) == pytest.approx(2 / 7, abs=1e-9)
    assert life_used(state, FIXER, at + DAY) == pytest.approx(3 / 7, abs=1e-9)


@given(days=st.floats(0, 6), bottled=st.floats(0, 1), sheets=st.integers(0, 40), limit=st.integers(1, 60))
def test_the_share_that_is_used_up_stays_whatever_it_was_used_in(
    days: float, bottled: float, sheets: int, limit: int
) -> None:
    """Also where it stood in its bottle for a part of that time, and the first bath has another limit."""
    at = T0 + timedelta(days=days)
    second = TankState(since=T0, idle_from=T0, bottled_s=int(bottled * days * 86_400))
    figures = BathSettings(2 * PL_PER_L, "batch", age_limit_s=limit * 86_400)
    begins = rotated(TankState(since=T0), second, figures, FIXER, at)
    state = fold(Filling(at, begins.age_from, 1), [], SettingsHistory.always(figures), ZONE)
    assert life_used(state, figures, at) == pytest.approx(life_used(second, FIXER, at) or 0, abs=1e-6)


def test_what_is_refused_of_a_rotation() -> None:
    given = {"name": "Fix 1", "next_name": "Fix 2", "at": T0, "now": T0}
    good = TankState(since=T0)
    assert may_rotate(good, good, None, **given) is None
    assert may_rotate(TankState(since=T0, rotation=3), good, 4, **given) is None
    for first, second, limit, more, code in (
        (TankState(since=T0, rotation=4), good, 4, {}, "chemistry.rotations_used"),
        (good, TankState(since=T0, dumped_at=T0), None, {}, "chemistry.tank_is_empty"),
        (good, TankState(since=T0, condemned_at=T0), None, {}, "chemistry.next_bath_is_spent"),
        (good, TankState(since=T0, contaminated_at=T0), None, {}, "chemistry.next_bath_is_spent"),
        (good, good, None, {"at": T0 + DAY}, "chemistry.in_the_future"),
    ):
        refusal = may_rotate(first, second, limit, **given | more)
        assert refusal is not None and refusal.code == code


# --- the acts -----------------------------------------------------------------------------------------------------


@pytest.fixture
def pair(house: Any, now: Any) -> tuple[Bath, Bath]:
    """Two fixing baths of the colour processor's line, filled two days ago; the second takes the place of the first."""
    made = [
        makers.bath(
            house, "P-CO", code, dosing="batch", volume_ml=2000, capacity="2.58", age_days=7, silver=("0.969", "8")
        )
        for code in ("fix1", "fix2")
    ]
    for one in made:
        actions.record_bath_entry(bath=one, event="refill", at=now - 2 * DAY, now=now - 2 * DAY)
    figures = {"rotations_limit": 2, "source": "x"}
    actions.put_figures_in_force(
        bath=made[0], figures=figures, since=now - DAY, now=now - DAY, next_bath=made[1], keep_next=False
    )
    return Bath.objects.get(pk=made[0].pk), made[1]


def stands(bath: Bath, at: datetime) -> Any:
    [line] = queries.standings(at, of=[bath])
    assert [line] == queries.standings(at, of=[bath], recount=True)
    return line


def test_the_second_bath_becomes_the_first(house: Any, now: Any, pair: Any) -> None:
    first, second = pair
    log(house, now - DAY, "P-CO", 60)
    was = stands(second, now)
    assert was.silver_ug_per_l == pytest.approx(60 * SHEET * 0.969 / 2, rel=1e-9)
    actions.rotate_baths(bath=first, at=now, now=now)
    one, two = stands(first, now), stands(second, now)
    assert (one.area_mm2, one.rotation, one.since) == (0, 1, now)
    assert one.parts["age"] == pytest.approx(was.parts["age"]) and two.parts["age"] == 0
    assert one.silver_ug_per_l == pytest.approx(was.silver_ug_per_l, abs=1) and two.silver_ug_per_l == 0
    log(house, now + DAY, "P-CO", 10)
    actions.rotate_baths(bath=first, at=now + 2 * DAY, now=now + 2 * DAY)
    assert stands(first, now + 2 * DAY).rotation == 2
    with pytest.raises(Refused) as refused:
        actions.rotate_baths(bath=first, at=now + 3 * DAY, now=now + 3 * DAY)
    assert refused.value.refusal.code == "chemistry.rotations_used"
    for bath in pair:  # both go: the count of rotations begins again
        actions.record_bath_entry(bath=bath, event="refill", at=now + 4 * DAY, now=now + 4 * DAY)
    assert stands(first, now + 4 * DAY).rotation == 0
    actions.rotate_baths(bath=first, at=now + 5 * DAY, now=now + 5 * DAY)


def test_a_bath_without_a_second_is_not_rotated(house: Any, now: Any, pair: Any) -> None:
    with pytest.raises(Refused) as refused:
        actions.rotate_baths(bath=pair[1], at=now, now=now)
    assert refused.value.refusal.code == "chemistry.no_next_bath"


def test_a_rotation_by_its_page(house: Any, now: Any, people: Any, pair: Any) -> None:
    client = client_of(people["keyholder"])
    bath = soup_of(client.get("/baths/P-CO/fix1/")).main
    [link] = [one for one in bath.find_all("a") if one.get_text(strip=True) == "The second bath takes its place"]
    page = soup_of(client.get(link["href"])).main.get_text(" ")
    assert "Rotated 0 times of at most 2" in page
    sent = {"at": now.strftime("%Y-%m-%dT%H:%M"), "key": "r"}
    answer = client.post(link["href"], sent, follow=True)
    assert "Fix2 is Fix1 now" in soup_of(answer).get_text(" ")
    assert "Rotated" in soup_of(answer).main.get_text(" ")
    client.post(link["href"], sent, follow=True)
    assert BathEntry.objects.filter(bath=pair[0], event="refill").count() == 2  # sent twice, done once
    assert client.get("/baths/P-CO/fix2/rotate/").status_code == 404


# --- trays --------------------------------------------------------------------------------------------------------


def test_a_line_of_trays_is_opened_and_closed_in_one_go(house: Any, now: Any, people: Any, pair: Any) -> None:
    client = client_of(people["keyholder"])
    dev, (first, second) = house.baths["P-CO", "dev"], pair
    page = "/processors/P-CO/trays/"
    names = {bath.code: f"what-{bath.pk}" for bath in (dev, first, second)}
    closing = soup_of(client.get(page + "?closing=1")).main
    assert closing.find("input", {"name": names["fix1"], "checked": True})["value"] == "into its bottle"
    sent = {names["dev"]: "away", names["fix1"]: "into its bottle", names["fix2"]: "into its bottle", "closing": "1",
            "key": "c", f"note-{first.pk}": "bottle F-1"}  # fmt: skip
    answer = client.post(page, sent, follow=True)
    assert "3 entries were written down" in soup_of(answer).get_text(" ")
    assert stands(dev, now).is_empty and stands(first, now).bottled_at == now
    assert BathEntry.objects.get(bath=first, event="into the bottle").note == "bottle F-1"
    opening = soup_of(client.get(page)).main
    assert opening.find("input", {"name": names["fix1"], "checked": True})["value"] == "from its bottle"
    assert opening.find("input", {"name": names["dev"], "checked": True})["value"] == "fresh"
    assert opening.find("input", {"name": names["dev"], "value": "stands"}) is None  # it is empty
    sent = {names["dev"]: "fresh", names["fix1"]: "from its bottle", names["fix2"]: "stands", "key": "o"}
    import time_machine

    with time_machine.travel(now + DAY / 24, tick=False):
        client.post(page, sent, follow=True)
    later = now + DAY / 24
    assert not stands(dev, later).is_empty and stands(first, later).bottled_at is None
    assert stands(second, later).bottled_at == now  # it stands in its bottle


def test_of_trays_all_is_done_or_nothing(house: Any, now: Any, people: Any, pair: Any) -> None:
    first, second = pair
    actions.record_bath_entry(bath=second, event="into the bottle", at=now, now=now)
    before = BathEntry.objects.count()
    with pytest.raises(Refused) as refused:
        actions.set_trays(
            processor=house.processors["P-CO"], closing=True, now=now, by=people["keyholder"],
            what={first.pk: "into its bottle", second.pk: "into its bottle"}, notes={},
        )  # fmt: skip
    assert refused.value.refusal.code == "chemistry.in_its_bottle"
    assert BathEntry.objects.count() == before
    for wrong in ({first.pk: "drunk"}, {house.baths["P-RC", "fix"].pk: "away"}):
        with pytest.raises(Refused) as refused:
            actions.set_trays(processor=house.processors["P-CO"], closing=True, now=now, what=wrong, notes={})
        assert refused.value.refusal.code == "chemistry.trays_elsewhere"


def test_a_tray_that_a_person_replenishes_is_one_of_the_line(house: Any, now: Any, people: Any, pair: Any) -> None:
    makers.bath(house, "P-CO", "stop", dosing="hand", volume_ml=2000, rate=150, unit_ml=50)
    client = client_of(people["keyholder"])
    assert "Stop" in soup_of(client.get("/processors/P-CO/trays/")).main.get_text(" ")
    makers.bath(house, "P-CO", "wash", dosing="running water", volume_ml=2000)  # now it is a machine with tanks
    assert client.get("/processors/P-CO/trays/").status_code == 404
    assert "Open its trays" not in soup_of(client.get("/processors/P-CO/day/")).get_text(" ")


def test_of_a_tired_tray_nobody_chooses_for_a_person(house: Any, now: Any, people: Any, pair: Any) -> None:
    log(house, now, "P-CO", 82)  # 82 sheets of 5.16 m²: 82 % of each fixing bath
    client = client_of(people["keyholder"])
    page = "/processors/P-CO/trays/"
    name = f"what-{pair[0].pk}"
    assert soup_of(client.get(page)).main.find("input", {"name": name, "checked": True}) is None
    answer = client.post(page, {"key": "x", f"what-{house.baths['P-CO', 'dev'].pk}": "stands"})
    assert answer.status_code == 422 and "choose one of the list" in soup_of(answer).main.get_text(" ")


def test_a_machine_with_pumps_has_no_trays(house: Any, people: Any) -> None:
    client = client_of(people["keyholder"])
    assert client.get("/processors/P-RC/trays/").status_code == 404
    assert "Open its trays" not in soup_of(client.get("/processors/P-RC/day/")).get_text(" ")
    assert "Open its trays" in soup_of(client.get("/processors/P-CO/day/")).get_text(" ")
    assert BathSetting.objects.filter(bath__processor__code="P-CO", dosing="batch").exists()


def test_silver_comes_with_the_second_bath_to_the_picogram() -> None:
    state = fold(Filling(T0, T0, 1, 7 * 10**12), [], SettingsHistory.always(FIXER), ZONE)
    assert state.silver_tank_pg == state.silver_brought_pg == 7e12
    assert silver_ug_per_l(state, FIXER.volume_pl) == pytest.approx(7e6 / 2)
    assert TankState.from_row(state.to_row()) == state


def test_a_tray_is_filled_from_a_marked_container(house: Any, now: Any, people: Any, pair: Any) -> None:
    """What was poured leaves the container, and the entry names the mix; a lower level than the tank is no bar."""
    made = shelf(now, people["staff"])
    mix = mixed(made, now, 700)
    client = client_of(people["keyholder"])
    first, second = pair
    dev = house.baths["P-CO", "dev"]
    page = "/processors/P-CO/trays/"
    field = soup_of(client.get(page)).main.find("select", {"name": f"source-{first.pk}"})
    assert [one["value"] for one in field.find_all("option")] == ["", "container:B1"]
    sent = {f"what-{dev.pk}": "stands", f"what-{first.pk}": "fresh", f"what-{second.pk}": "stands",
            f"source-{first.pk}": "container:B1", "key": "s"}  # fmt: skip
    client.post(page, sent, follow=True)
    entry = BathEntry.objects.filter(bath=first, event="refill").latest("pk")
    assert (entry.mix, entry.container.code) == (mix, "B1")
    assert content_of(made.containers["B1"], now).level_pl == 0
    wrong = client.post(page, sent | {f"source-{first.pk}": "container:NO", "key": "t"})
    assert wrong.status_code == 422
