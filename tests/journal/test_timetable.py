"""The timetable: ``manage.py tick`` from any timer, and the same through a worker and a real Redis."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from celery.contrib.testing.worker import start_worker
from django.core.management import CommandError, call_command
from django.utils import timezone

from studiodesk import tasks
from studiodesk.journal.models import Notice
from studiodesk.people import actions as people
from studiodesk.planning.models import KeptForecast
from studiodesk_site.celery import app
from tests import makers
from tests.brokers import until

ROOT = Path(__file__).resolve().parents[2]


def invited(name="Noor"):
    now = timezone.now()
    return people.make_person(
        number=f"N-{name}1", name=name, email=f"{name.lower()}@example.org", joined_on=now.date(), now=now
    )


def test_a_tick_sends_what_is_due_and_says_how_many(house, outbox):
    invited()
    said = StringIO()
    call_command("tick", stdout=said)
    assert [mail.to for mail in outbox] == [["noor@example.org"]]
    assert "letters: 1 sent (0 perhaps a second time), 0 not sent, 0 given up" in said.getvalue()
    call_command("tick", stdout=StringIO())
    assert len(outbox) == 1


def test_a_chore_that_fails_is_told_and_keeps_none_of_the_others_back(house, outbox, monkeypatch):
    def broken(now):
        raise RuntimeError("no baths today")

    monkeypatch.setitem(tasks.CHORES, "baths", broken)
    assert next(iter(tasks.CHORES)) == "baths"
    invited()
    with pytest.raises(CommandError, match="failed: baths"):
        call_command("tick", stdout=StringIO())
    assert len(outbox) == 1


def test_a_tick_raises_the_alert_of_a_bath_that_nothing_but_time_has_used_up(house, now, outbox):
    from studiodesk.chemistry import actions as chemistry
    from studiodesk.chemistry.models import Alert

    # The colour developer of the cast is good for 21 days.
    chemistry.record_bath_entry(bath=house.baths["P-CO", "dev"], event="refill", at=now, now=now, by=None)
    tasks.CHORES["baths"](now + timedelta(days=20))
    assert not Alert.objects.exists()
    tasks.CHORES["baths"](now + timedelta(days=21))
    assert Alert.objects.get().kind == "at its end"


def test_a_tick_foretells_the_baths_once_a_night(house, now):
    assert [tasks.CHORES["forecasts"](now + timedelta(minutes=n)) for n in range(3)] == [3, 0, 0]
    assert list(tasks.CHORES).index("baths") < list(tasks.CHORES).index("forecasts")


def test_the_timetable_asks_for_a_tick_each_minute_and_lets_go_of_one_that_nobody_took():
    """As a timer process sees it: the program that it is told to load, and what that loads by itself."""
    asked = (
        "import json; from studiodesk_site.celery import app; app.loader.import_default_modules(); app.finalize();"
        "print(json.dumps({'tasks': sorted(app.tasks), 'beat': app.conf.beat_schedule}))"
    )
    done = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    seen = json.loads(done.stdout)
    entry = seen["beat"]["tick"]
    assert entry["task"] == tasks.tick.name and entry["task"] in seen["tasks"]
    assert entry["schedule"] == 60.0 and entry["options"]["expires"] < entry["schedule"]


def test_a_worker_takes_a_tick_from_a_real_redis_and_the_letter_is_out(fresh_db, broker, outbox):
    makers.house()
    invited()
    with start_worker(app, perform_ping_check=False, pool="solo", loglevel="ERROR"):
        app.send_task(tasks.tick.name)
        assert until(lambda: len(outbox) == 1)
        assert until(lambda: Notice.objects.get().state == "sent")
        app.send_task(tasks.tick.name)
        invited("Bo")
        app.send_task(tasks.tick.name)
        assert until(lambda: len(outbox) == 2)
    assert [mail.to for mail in outbox] == [["noor@example.org"], ["bo@example.org"]]


def test_ticks_that_pile_up_send_each_letter_once(fresh_db, broker, outbox):
    """Two copies of the site sweep at once, in threads with connections of their own."""
    import threading

    from django.db import connections

    makers.house()
    for number in range(12):
        invited(f"P{number}x")
    ready = threading.Barrier(4)
    failed = []

    def sweep():
        ready.wait()
        failed.extend(tasks.do_chores(timezone.now())[1])
        connections.close_all()

    threads = [threading.Thread(target=sweep) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(outbox) == 12 and len({mail.to[0] for mail in outbox}) == 12
    assert set(Notice.objects.values_list("state", "tries")) == {("sent", 1)}
    # all four looked at the baths in the same moment: one forecast of each of the three is kept
    assert failed == [] and KeptForecast.objects.filter(why="nightly").count() == KeptForecast.objects.count() == 3
