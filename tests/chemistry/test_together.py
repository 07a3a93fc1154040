"""Many hands at once: sheets logged in the same instant from several places are all counted, once each."""

import threading
import time
from contextlib import closing
from datetime import UTC, datetime

from django.db import connection

from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.actions import tanks
from studiodesk.chemistry.models import Alert, Feed
from tests import makers

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
HANDS, LOGS = 5, 4


def log_from_many_hands(house):
    ready, failures = threading.Barrier(HANDS), []

    def hand(number):
        with closing(connection):
            try:
                ready.wait(10)
                for turn in range(LOGS):
                    actions.log_sheets(
                        processor=house.processors["P-RC"], sheet=house.sizes["203x254"],
                        sheets=1 + (number + turn) % 3, kind="print", who="house", fed_at=NOW, now=NOW,
                    )  # fmt: skip
            except Exception as error:
                failures.append(error)

    threads = [threading.Thread(target=hand, args=(number,)) for number in range(HANDS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not any(thread.is_alive() for thread in threads)
    return failures


def test_sheets_logged_from_many_hands_at_once_are_all_counted(fresh_db):
    house = makers.house()
    assert log_from_many_hands(house) == []
    assert Feed.objects.count() == HANDS * LOGS
    expected = sum((1 + (hand + turn) % 3) * 203 * 254 for hand in range(HANDS) for turn in range(LOGS))
    kept = queries.standings(NOW)
    assert [line.area_mm2 for line in kept if line.processor == "P-RC"] == [expected, expected]
    assert kept == queries.standings(NOW, recount=True)
    assert Alert.objects.filter(cleared_at=None).count() == 1


def test_without_the_lock_the_sums_go_wrong(fresh_db, engine, monkeypatch):
    """The control: with the locks taken away and a pause before the sums are kept, counts are lost on PostgreSQL.

    On SQLite the transaction itself is the lock, and nothing can go wrong.
    """
    house = makers.house()
    actions.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=1, kind="print", who="house",
        fed_at=NOW, now=NOW,
    )  # fmt: skip
    keep = tanks._keep

    def slowly(*args):
        time.sleep(0.02)
        keep(*args)

    monkeypatch.setattr(tanks, "locked", lambda rows: rows)
    monkeypatch.setattr(tanks, "_keep", slowly)
    failures = log_from_many_hands(house)
    assert len(failures) < HANDS
    right = queries.standings(NOW) == queries.standings(NOW, recount=True)
    assert right is (engine.name == "sqlite")
