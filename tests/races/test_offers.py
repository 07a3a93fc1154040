"""One offer, and sixteen processes that take it, decline it, cancel it or let it run out; and sweeps that are killed.

Judged by the raw rows: never two bookings in one time, nobody in the line skipped, nobody told twice.
"""

from __future__ import annotations

import multiprocessing
import signal
from collections import Counter
from datetime import timedelta
from email import message_from_bytes
from pathlib import Path
from typing import Any

import pytest

from tests import makers
from tests.bookings.waits import full, later, wait
from tests.races.offering import FIRST, NOW, answering, sweeping
from tests.races.test_races import PAIRS, raw

RACERS, WISHES, ROUNDS = 16, 8, 6


def context_of_processes() -> Any:
    from django.db import connections

    connections["default"].close()
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.races.warm"])
    return context


@pytest.fixture
def line(fresh_db: str) -> str:
    """Eight people wait for one time of the scanner, and whoever has it has just given it back."""
    from studiodesk.bookings import actions
    from studiodesk.journal.models import Notice

    house = makers.house()
    adri = makers.member("Adri")
    taken = full(house, adri, FIRST)
    for number in range(WISHES):
        wait(makers.member(f"W{number}"), later(FIRST, number))
    actions.cancel(booking=taken, now=NOW, by=adri)
    # Whoever gave it back has been told already: the letters of this file are those of the line.
    Notice.objects.filter(person=adri).update(state="sent", sent_at=NOW)
    return fresh_db


def test_sixteen_processes_around_one_offer_never_make_two_bookings_or_lose_a_place(line: str) -> None:
    context = context_of_processes()
    barrier, home = context.Barrier(RACERS, timeout=120), context.Queue()
    racers = [
        context.Process(target=answering, args=(line, number, ROUNDS, barrier, home), daemon=True)
        for number in range(RACERS)
    ]
    for racer in racers:
        racer.start()
    told = [home.get(timeout=300) for _ in racers]
    for racer in racers:
        racer.join(timeout=30)
    said = Counter(word for one in told for word in one)
    print(f"\none offer, {line.split(':')[0]}, {RACERS} processes: {dict(said)}")
    assert not [word for word in said if word.startswith("fault")]
    assert raw(line, PAIRS) == 0
    assert raw(line, "SELECT COUNT(*) FROM studiodesk_booking WHERE cancelled_at IS NULL") <= 1
    from studiodesk.bookings.models import Booking, Hold, Offer, WaitingWish
    from studiodesk.journal.models import Notice

    assert set(Hold.objects.values_list("booking", flat=True)) == set(
        Booking.objects.filter(cancelled_at__isnull=True).values_list("pk", flat=True)
    )
    # Who was asked is a beginning of the line, in its order, each once: nobody was skipped, nobody asked twice.
    in_line = list(WaitingWish.objects.order_by("made_at").values_list("pk", flat=True))
    asked = list(Offer.objects.order_by("pk").values_list("wish", flat=True))
    assert asked == in_line[: len(asked)] and len(asked) > 1
    answers = {offer.wish_id: offer.answer for offer in Offer.objects.all()}
    states = dict(WaitingWish.objects.values_list("pk", "state"))
    right = {"": "offered", "taken": "served", "declined": "waiting", "ran out": "waiting", None: "waiting"}
    assert states == {pk: right[answers.get(pk)] for pk in in_line}
    for offer in Offer.objects.select_related("booking"):
        # What was taken may have been cancelled since, like any booking.
        assert offer.answer == "taken" or (offer.booking.cancelled_at is None) == (offer.answer == "")
        assert (offer.booking.offered_until is None) == (offer.answer == "taken")
    assert Notice.objects.filter(code="bookings.offered").count() == len(asked)


def swept(line: str, where: str, mails: Path) -> int | None:
    """What became of a process that sweeps and is killed there ("" : nowhere)."""
    context = context_of_processes()
    child = context.Process(target=sweeping, args=(line, where, str(mails)))
    child.start()
    child.join(timeout=120)
    return child.exitcode


def letters(folder: Path) -> list[Any]:
    """Every letter sent; the file back end divides them by a line of dashes."""
    texts = [path.read_bytes() for path in sorted(folder.glob("*.log"))]
    parts = [part.strip() for text in texts for part in text.split(b"-" * 79)]
    return [message_from_bytes(part) for part in parts if part]


@pytest.fixture
def mails(tmp_path: Path) -> Path:
    return tmp_path / "mails"


def test_a_sweep_killed_in_the_middle_of_an_offer_leaves_nothing_and_the_next_makes_it_once(
    line: str, mails: Path
) -> None:
    from studiodesk.bookings.models import Booking, Hold, Offer
    from studiodesk.journal.models import Notice

    before = Hold.objects.get().booking_id
    for where in ("before the hold", "after the hold", "before the letter is noted"):
        assert swept(line, where, mails) == -signal.SIGKILL, where
        assert Offer.objects.get(answer="").booking_id == before == Hold.objects.get().booking_id
        assert Notice.objects.filter(code="bookings.offered").count() == 1
    assert swept(line, "", mails) == 0
    offer = Offer.objects.get(answer="")
    assert offer.booking_id != before and Hold.objects.get().booking_id == offer.booking_id
    assert Booking.objects.filter(cancelled_at__isnull=True).count() == 1
    by_kind = Counter(Notice.objects.values_list("code", flat=True))
    assert (by_kind["bookings.offered"], by_kind["bookings.offer_ran_out"]) == (2, 1)
    # One letter that it ran out, one that it is offered; the first offer was not worth a letter any more.
    assert sorted(letter["Subject"].split(":")[0] for letter in letters(mails)) == [
        "Kept for you", "No longer kept for you",
    ]  # fmt: skip


def test_a_sweep_killed_between_hold_and_letter_loses_no_letter_and_after_it_marks_the_second_copy(
    line: str, mails: Path
) -> None:
    from studiodesk.bookings.models import Offer
    from studiodesk.journal.actions import CLAIM_LASTS
    from studiodesk.journal.models import Notice

    for where in ("between hold and letter", "before the letter goes", "after the letter went"):
        assert swept(line, where, mails) == -signal.SIGKILL, where
        assert Offer.objects.count() == 2  # made once, however often the sweep is killed
        Notice.objects.filter(claimed_at__isnull=False).update(claimed_at=FIRST - 2 * CLAIM_LASTS)
    assert swept(line, "", mails) == 0
    assert not Notice.objects.filter(state__in=["waiting", "claimed"], due_at__lte=NOW + timedelta(hours=2)).exists()
    sent = letters(mails)
    marked = [letter for letter in sent if letter["X-Second-Copy"]]
    by_id = Counter(letter["Message-ID"] for letter in sent)
    # The one in hand when the worker was killed after it went comes twice, marked; every other once.
    assert sorted(by_id.values()) == [1, 2] and len(by_id) == 2
    assert {letter["Message-ID"] for letter in marked} >= {one for one, times in by_id.items() if times == 2}
