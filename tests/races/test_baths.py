"""Sixteen processes at one processor at once: every sheet and every millilitre is counted, once, on both databases."""

from __future__ import annotations

import multiprocessing
from typing import Any

import pytest

from tests import makers
from tests.races.bathing import Did, at_the_baths
from tests.races.racer import NOW
from tests.races.test_races import RACERS, ROUNDS, raw

ROUND = max(6, ROUNDS // 2)


@pytest.fixture
def house(fresh_db: str) -> str:
    makers.house()
    return fresh_db


def run(url: str) -> list[Did]:
    from django.db import connections

    connections["default"].close()
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.races.warm"])
    barrier, home = context.Barrier(RACERS, timeout=120), context.Queue()
    racers = [
        context.Process(target=at_the_baths, args=(url, number, ROUND, barrier, home), daemon=True)
        for number in range(RACERS)
    ]
    for racer in racers:
        racer.start()
    told = [home.get(timeout=300) for _ in racers]
    for racer in racers:
        racer.join(timeout=30)
    return told


def total(told: list[Did], name: str) -> Any:
    return sum(getattr(one, name) for one in told)


def test_nothing_that_went_through_or_was_given_is_lost_or_doubled(house: str) -> None:
    told = run(house)
    seconds = sorted(one for did in told for one in did.seconds)
    print(
        f"\nat one processor, {house.split(':')[0]}, {RACERS} processes: {len(seconds)} deeds, "
        f"p50 ms {1000 * seconds[len(seconds) // 2]:.0f}, p99 ms {1000 * seconds[int(len(seconds) * 0.99)]:.0f}"
    )
    assert [word for did in told for word in did.other] == [] and total(told, "refused") == 0
    sheets, logs = total(told, "sheets"), total(told, "logs")
    assert sheets > 0 and total(told, "given_pl") > 0 and total(told, "undone") > 0
    # by the bare driver: what counts is what was answered, once each, also where the same was sent twice
    counting = "FROM studiodesk_feed f WHERE undoes_id IS NULL AND NOT EXISTS " \
        "(SELECT 1 FROM studiodesk_feed u WHERE u.undoes_id = f.id)"  # fmt: skip
    assert raw(house, f"SELECT COUNT(*) {counting}") == logs
    assert raw(house, f"SELECT SUM(sheets) {counting}") == sheets
    answers = [one for did in told for one in did.answers]
    assert len(set(answers)) == logs < len(answers)
    given = "FROM studiodesk_bathentry WHERE event = 'given'"
    assert raw(house, f"SELECT SUM(amount_pl) {given}") == total(told, "given_pl")
    # the running sums that stand there are those of the rows
    area = sheets * 203 * 254
    sums = "FROM studiodesk_fill f JOIN studiodesk_bath b ON b.id = f.bath_id JOIN studiodesk_processor p " \
        "ON p.id = b.processor_id WHERE p.code = 'P-RC' AND b.code"  # fmt: skip
    for code, rate in (("dev", 240_000), ("fix", 500_000)):
        assert raw(house, f"SELECT area_mm2 {sums} = '{code}'") == area
        assert raw(house, f"SELECT due_pl {sums} = '{code}'") == area * rate
    assert raw(house, f"SELECT given_pl {sums} = 'fix'") == total(told, "given_pl")
    strokes, rest = divmod(raw(house, f"SELECT given_pl {sums} = 'dev'"), 12_000_000_000)
    assert rest == 0 and strokes == area * 240_000 // 12_000_000_000
    from studiodesk.chemistry import queries

    assert queries.standings(NOW) == queries.standings(NOW, recount=True)
    open_ones = "FROM studiodesk_alert WHERE cleared_at IS NULL"
    assert raw(house, f"SELECT COUNT(*) {open_ones}") == raw(house, f"SELECT COUNT(DISTINCT key) {open_ones}")
