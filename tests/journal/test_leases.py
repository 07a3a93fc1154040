"""Leases: one timer a chore at a time, whoever was killed is waited for, and ``manage.py tick`` says what it did."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import connections
from django.utils import timezone

from studiodesk import tasks
from studiodesk.journal.actions import LEASE_LASTS, give_back_lease, record, take_lease, tell
from studiodesk.journal.models import ChoreLease, Notice
from studiodesk.management.commands.tick import said
from studiodesk_site import settings as site_settings
from tests import makers

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


def taken(holder: str, at: datetime = NOW) -> bool:
    return take_lease(name="letters", holder=holder, now=at)


def given_back(holder: str, at: datetime = NOW, done: bool = True) -> bool:
    return give_back_lease(name="letters", holder=holder, now=at, done=done)


def tick(*arguments: str) -> dict[str, str]:
    """Chore → what was said of it."""
    out = StringIO()
    call_command("tick", *arguments, stdout=out)
    return dict(line.split(": ", 1) for line in out.getvalue().splitlines())


def told(due_at: datetime) -> Notice:
    person = makers.member("Adri")
    entry = record(code="people.invited", happened_at=due_at, now=due_at, about=person)
    tell(entry=entry, person=person, code="people.invited", unique_key=f"k{person.pk}", due_at=due_at)
    return Notice.objects.get()


# ---- the lease itself ----------------------------------------------------------------------------------------------


def test_the_first_gets_the_lease_and_the_second_gets_it_once_it_is_given_back(db):
    assert [taken("one"), taken("two"), taken("one")] == [True, False, False]
    assert given_back("one", NOW + timedelta(seconds=3))
    row = ChoreLease.objects.get()
    assert (row.holder, row.until, row.last_done_at) == ("", None, NOW + timedelta(seconds=3))
    assert taken("two") and ChoreLease.objects.get().holder == "two"


def test_one_chore_s_lease_keeps_nobody_from_another(db):
    assert taken("one") and take_lease(name="baths", holder="two", now=NOW)


def test_a_killed_holder_is_waited_for_until_its_lease_runs_out_and_not_a_moment_longer(db):
    assert taken("killed")
    assert not taken("next", NOW + LEASE_LASTS - timedelta(milliseconds=1))
    assert taken("next", NOW + LEASE_LASTS)


def test_whoever_comes_back_too_late_does_not_give_away_the_lease_of_another(db):
    assert taken("slow") and taken("next", NOW + LEASE_LASTS)
    assert not given_back("slow", NOW + LEASE_LASTS)
    row = ChoreLease.objects.get()
    assert (row.holder, row.until, row.last_done_at) == ("next", NOW + 2 * LEASE_LASTS, None)


def test_a_chore_that_failed_gives_its_lease_back_without_counting_as_done(db):
    assert taken("one") and given_back("one", done=False)
    assert ChoreLease.objects.get().last_done_at is None and taken("two")


@pytest.mark.parametrize("there", [False, True])
def test_of_eight_who_want_a_chore_in_the_same_moment_one_gets_it(fresh_db, there):
    if there:
        assert taken("before") and given_back("before")
    ready, got = threading.Barrier(8), []

    def want(name: str) -> None:
        ready.wait()
        got.append(taken(name))
        connections.close_all()

    threads = [threading.Thread(target=want, args=(f"h{number}",)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(got) == [False] * 7 + [True]


# ---- the tick ------------------------------------------------------------------------------------------------------


def test_a_chore_that_somebody_else_is_at_is_left_to_them_and_said_so(house, outbox, clock_at):
    with clock_at(NOW):
        told(NOW)
        assert taken("another machine")
        answer = tick()
        assert answer["letters"] == "somebody else is at it" and outbox == []
        assert "somebody" not in answer["baths"] and ChoreLease.objects.get(name="letters").last_done_at is None
    with clock_at(NOW + LEASE_LASTS):
        assert tick()["letters"].startswith("1 sent") and len(outbox) == 1


def test_a_chore_that_raises_is_free_again_at_once_and_the_next_tick_does_it(house, outbox, monkeypatch):
    def broken(now: datetime) -> Any:
        raise RuntimeError("mail folder full")

    told(timezone.now())
    with monkeypatch.context() as patched:
        patched.setitem(tasks.CHORES, "letters", broken)
        done = tasks.do_chores(timezone.now())
    row = ChoreLease.objects.get(name="letters")
    assert (done.failed, done.elsewhere, row.holder, row.until) == (["letters"], [], "", None)
    assert tick()["letters"].startswith("1 sent")


def test_while_a_chore_is_done_its_lease_says_where(house, monkeypatch):
    seen = []
    monkeypatch.setitem(tasks.CHORES, "baths", lambda now: seen.append(ChoreLease.objects.get(name="baths")))
    before = timezone.now()
    tasks.do_chores(NOW)
    machine, process, word = seen[0].holder.rsplit(":", 2)
    assert machine and process.isdigit() and len(word) == 8
    assert before + LEASE_LASTS <= seen[0].until <= timezone.now() + LEASE_LASTS


def test_a_tick_as_if_it_were_later_does_what_is_due_then_and_its_leases_go_by_the_clock(house, outbox, clock_at):
    with clock_at(NOW):
        told(NOW + timedelta(days=2))
        assert tick("--now", "2026-11-27T13:59:59Z")["letters"].startswith("0 sent")
        assert tick("--now", "2026-11-27T15:00:00+01:00")["letters"].startswith("1 sent")
        row = ChoreLease.objects.get(name="letters")
        assert row.until is None and NOW <= row.last_done_at < NOW + timedelta(minutes=1)


@pytest.mark.parametrize("text", ["2026-11-27T14:00:00", "tomorrow", "2026-13-01T00:00:00Z"])
def test_a_time_without_its_offset_or_of_no_day_is_refused_and_nothing_is_done(db, text):
    with pytest.raises(CommandError, match=r"offset|ISO 8601"):
        tick("--now", text)
    assert not ChoreLease.objects.exists()


def test_every_chore_is_named_with_what_it_did(house, clock_at):
    with clock_at(NOW):
        answer = tick()
    assert list(answer) == list(tasks.CHORES)
    assert answer["forecasts"] == "3 baths foretold"


def test_a_chore_s_answer_is_said_in_words_whatever_it_is():
    assert said("baths", 1) == "1 more alert stands open" and said("sessions", 2) == "2 ended sessions forgotten"
    assert said("a chore without a sentence", 4) == "4" and said("another", None) == "done"


def test_the_check_tells_a_timer_that_never_ran_or_stopped_from_one_that_runs(house, clock_at):
    with clock_at(NOW):
        with pytest.raises(CommandError, match=r"late: .*letters"):
            tick("--check")
        tick()
        assert tick("--check")["letters"].startswith("last done 2026-11-25T14:00:0")
    with clock_at(NOW + timedelta(minutes=9)):
        assert taken("another machine", NOW + timedelta(minutes=9))
        assert "at it now: another machine" in tick("--check")["letters"]
    with clock_at(NOW + timedelta(minutes=11)), pytest.raises(CommandError, match="late: "):
        tick("--check")


def test_the_commands_help_can_be_read(capsys):
    with pytest.raises(SystemExit) as end:
        call_command("tick", "--help")
    assert end.value.code == 0 and "--now" in capsys.readouterr().out


@pytest.mark.parametrize("text", ["0", "-1", "1.5", "3601", "soon", "²"])
def test_a_timer_that_would_never_or_always_ring_is_refused_with_its_name(monkeypatch, text):
    monkeypatch.setenv("STUDIODESK_TICK_SECONDS", text)
    with pytest.raises(ImproperlyConfigured, match=r"STUDIODESK_TICK_SECONDS: .* whole number of seconds"):
        site_settings.seconds("STUDIODESK_TICK_SECONDS", "60")


def test_a_timer_without_a_word_about_it_rings_each_minute(monkeypatch):
    monkeypatch.delenv("STUDIODESK_TICK_SECONDS", raising=False)
    assert site_settings.seconds("STUDIODESK_TICK_SECONDS", "60") == 60.0
    monkeypatch.setenv("STUDIODESK_TICK_SECONDS", "2")
    assert site_settings.seconds("STUDIODESK_TICK_SECONDS", "60") == 2.0
