"""What a process does around one offer: answer it one way or another, or sweep and be killed at a given place."""

from __future__ import annotations

import os
import random
import signal
from datetime import UTC, datetime, timedelta
from typing import Any

from tests.races.racer import use

FIRST = datetime(2026, 11, 25, 8, tzinfo=UTC)
NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)


def answering(url: str, number: int, rounds: int, barrier: Any, home: Any) -> None:
    """Each round: look which offer is open, then all together take, decline, cancel, let run out or sweep."""
    use(url)
    from django.db import connection

    from studiodesk.acts import Busy
    from studiodesk.answers import Refused
    from studiodesk.bookings import actions
    from studiodesk.bookings.models import Offer

    dice, told = random.Random(number), []
    connection.ensure_connection()
    for turn in range(rounds):
        barrier.wait()
        offer = Offer.objects.filter(answer="").select_related("booking__member").first()
        barrier.wait()
        if offer is None:
            told.append("nothing open")
            continue
        # Somebody takes it in the last round only, so that there is something to fight for in each.
        ways = ["decline", "cancel", "run out", "sweep", *(["accept"] * 2 if turn == rounds - 1 else [])]
        way, who = dice.choice(ways), offer.booking.member
        # The last second in which it can be answered: a moment later it has run out.
        at = offer.until - timedelta(seconds=1)
        try:
            if way == "accept":
                actions.accept(offer=offer, now=at, by=who)
            elif way == "decline":
                actions.decline(offer=offer, now=at, by=who)
            elif way == "cancel":
                actions.cancel(booking=offer.booking, now=at, by=who)
            elif way == "run out":
                actions.expire_offers(now=offer.until)
            else:
                actions.serve_all(now=at)
            told.append(way)
        except Refused as refused:
            told.append(f"{way}: {refused.refusal.code}")
        except Busy:
            told.append("busy")
        except Exception as error:
            told.append(f"fault in {way}: {type(error).__name__} {error}"[:300])
    connection.close()
    home.put(told)


def _die(*_given: Any, **_more: Any) -> Any:
    os.kill(os.getpid(), signal.SIGKILL)


def _die_after(work: Any) -> Any:
    def run(*given: Any, **more: Any) -> Any:
        work(*given, **more)
        _die()

    return run


def sweeping(url: str, where: str, mails: str) -> None:
    """A tick's two chores two hours later, when the open offer has run out: offers, then letters."""
    use(url)
    from django.conf import settings

    from studiodesk import letters
    from studiodesk.bookings import actions
    from studiodesk.bookings.actions import waiting
    from studiodesk.journal.actions import send_due_notices, sending

    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = mails
    now = NOW + timedelta(hours=2)
    if where == "before the hold":
        waiting.book = _die
    elif where == "after the hold":
        waiting.book = _die_after(waiting.book)
    elif where == "before the letter is noted":
        waiting.tell = _die
    actions.sweep_offers(now=now)
    if where == "between hold and letter":
        _die()
    elif where == "before the letter goes":
        sending._send = _die
    elif where == "after the letter went":
        sending._send = _die_after(sending._send)
    send_due_notices(now=now + timedelta(minutes=1), render=letters.render)
