"""Many hands at the mixing bench at once: numbers are given once, and no lot gives more than it had."""

import threading
from contextlib import closing
from datetime import UTC, datetime

from django.db import connection

from studiodesk.answers import Refused
from studiodesk.chemistry.models import Mix, MixPart
from studiodesk.chemistry.queries import stock as reads
from tests import makers
from tests.chemistry.shelf import mixed, shelf

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
HANDS, TURNS = 5, 2


def test_many_mixes_at_once_have_a_number_each_and_the_stock_goes_to_nothing_and_no_further(fresh_db):
    makers.house()
    shelves = shelf(NOW)
    ready, refused, failures = threading.Barrier(HANDS), [], []

    def hand():
        with closing(connection):
            try:
                ready.wait(10)
                for _turn in range(TURNS):
                    try:
                        mixed(shelves, NOW, 500, None)  # 100 mL of the concentrate, of which there are 700
                    except Refused as error:
                        refused.append(error.refusal.code)
            except Exception as error:
                failures.append(error)

    threads = [threading.Thread(target=hand) for _hand in range(HANDS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert failures == [] and not any(thread.is_alive() for thread in threads)
    assert refused == ["chemistry.not_enough_stock"] * 3
    assert sorted(Mix.objects.values_list("number", flat=True)) == list(range(1, 8))
    assert set(reads.left_of(shelves.lots.values()).values()) == {0}
    assert sum(MixPart.objects.filter(lot__isnull=False).values_list("measured", flat=True)) == 700
