"""Other studios than the example: other zones, currencies, ways of dosing, several machines for one process."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from studiodesk.chemistry.queries import standings
from studiodesk.upkeep.actions import import_history, load_studio
from tests.upkeep.files import contents
from tests.upkeep.invented import Invented
from tests.upkeep.recount import differences, recount

SEEDS = range(1, 13)


def command(name: str, *words: str) -> str:
    """What a command prints; its errors are raised."""
    out = io.StringIO()
    call_command(name, *words, stdout=out, stderr=io.StringIO())
    return out.getvalue()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_studio_that_nobody_has_seen_is_loaded_and_its_sums_equal_the_recount(
    db: Any, tmp_path: Path, seed: int
) -> None:
    studio = Invented(seed)
    studio.write(tmp_path)
    command("load_studio", str(tmp_path / "studio.toml"))
    said = command("import_history", str(tmp_path))
    assert f"bookings: {len(studio.bookings)} new" in said
    assert f"feeds: {len(studio.feeds)} new" in said
    refills = sorted(event["at"] for event in studio.events if event["event"] == "refill")
    moments = [studio.start, studio.end + timedelta(days=2), studio.start + timedelta(days=11, hours=7, minutes=1)]
    if refills:
        middle = refills[len(refills) // 2]
        moments += [middle - timedelta(seconds=1), middle]
    for at in moments:
        printed = command("baths", "--json", "--at", at.isoformat())
        assert differences(printed, recount(tmp_path, at)) == [], at
    early = datetime.now(UTC)
    printed = command("baths", "--json")  # from the running sums that the acts keep
    assert differences(printed, recount(tmp_path, early), recount(tmp_path, datetime.now(UTC))) == []
    before = contents()
    command("load_studio", str(tmp_path / "studio.toml"))
    again = command("import_history", str(tmp_path))
    assert " 0 new" in again
    assert contents() == before


def test_the_invented_studios_are_not_all_alike() -> None:
    """The draw covers what it is for: every way of dosing, every event, idle days, equal instants, full machines."""
    drawn = [Invented(seed) for seed in SEEDS]
    baths = [bath for studio in drawn for processor in studio.processors for bath in processor["baths"]]
    assert {bath["dosing"] for bath in baths} == {"machine", "hand", "batch", "one-shot", "running water"}
    assert {event["event"] for studio in drawn for event in studio.events} >= {
        *("refill", "given", "water", "working solution", "lost", "partial dump", "strip", "condemned", "note"),
    }
    assert sum("idle_percent_per_day" in bath for bath in baths) > 5
    assert all(len(studio.bookings) > 15 for studio in drawn)
    assert any(studio.bookings[n]["cancelled_at"] for studio in drawn for n in range(10))
    for studio in drawn:
        times = [(row["fed_at"], row["processor"]) for row in studio.feeds]
        assert len(set(times)) < len(times)


def test_sums_follow_when_the_zone_or_a_rate_changes_under_what_is_recorded(db: Any, tmp_path: Path) -> None:
    """Idle days are local days, and a rate that is in force from a moment rules what is recorded after it."""
    studio = Invented(4)
    studio.write(tmp_path)
    text = (tmp_path / "studio.toml").read_text(encoding="utf-8")
    load_studio(data=text.encode(), now=studio.start)
    files = {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")}
    import_history(files=files, now=studio.end)
    zone = next(line for line in text.splitlines() if line.startswith("time_zone"))
    elsewhere = text.replace(zone, 'time_zone = "Pacific/Pago_Pago"')
    load_studio(data=elsewhere.encode(), now=studio.end)
    later = studio.end + timedelta(days=1)
    assert sums(later) == sums(later, recount=True)
    (tmp_path / "studio.toml").write_text(elsewhere, encoding="utf-8")
    printed = command("baths", "--json", "--at", later.isoformat())
    assert differences(printed, recount(tmp_path, later)) == []
    dearer = re.sub(r"(replenish_ml_per_m2 = ).*", r"\g<1>333.3", elsewhere)
    before = sums(later)
    load_studio(data=dearer.encode(), now=studio.start + timedelta(days=12))
    assert sums(later) == sums(later, recount=True)
    assert sums(later) != before


def sums(at: datetime, **how: bool) -> list[Any]:
    """Every bath as it stands; by the running sums unless a recount is asked for."""
    return standings(at, **how)
