"""What one of sixteen processes does at one processor: logs sheets, gives, reads a bottle, sends a form twice."""

from __future__ import annotations

import random
import time
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from tests.races.racer import NOW, use


@dataclass
class Did:
    """What a process brings home: what it was answered, to be held against the raw rows."""

    sheets: int = 0
    logs: int = 0
    given_pl: int = 0
    undone: int = 0
    refused: int = 0
    answers: list[int] = field(default_factory=list)
    other: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


def at_the_baths(url: str, number: int, rounds: int, barrier: Any, home: Any) -> None:
    """``rounds`` deeds, each from the barrier together with all the others; every third of them is sent twice."""
    use(url)
    from django.db import DatabaseError, connection

    from studiodesk.acts import Busy
    from studiodesk.answers import Refused
    from studiodesk.chemistry import actions
    from studiodesk.chemistry.models import Bath, SheetSize
    from studiodesk.journal.actions import once
    from studiodesk.stations.models import Processor
    from studiodesk.units import PL_PER_ML

    dice, did = random.Random(number), Did()
    machine, size = Processor.objects.get(code="P-RC"), SheetSize.objects.get(code="203x254")
    fix = Bath.objects.get(processor=machine, code="fix")

    def log(turn: int) -> None:
        sheets = dice.randrange(1, 6)
        given = {"processor": machine, "sheet": size, "sheets": sheets, "kind": "print", "who": "house"}
        key = f"log-{number}-{turn}"
        for _ in range(2 if turn % 3 == 0 else 1):
            answer, _replayed = once(
                key=key, asker="race", body={"sheets": sheets}, now=NOW,
                work=lambda: {"feed": actions.log_sheets(**given, fed_at=NOW, now=NOW).pk},
            )  # fmt: skip
            did.answers.append(answer["feed"])
        did.sheets, did.logs = did.sheets + sheets, did.logs + 1

    def give(_turn: int) -> None:
        amount = dice.randrange(1, 120) * PL_PER_ML
        actions.record_bath_entry(bath=fix, event="given", at=NOW, now=NOW, amount_pl=amount)
        did.given_pl += amount

    def log_and_take_back(_turn: int) -> None:
        feed = actions.log_sheets(
            processor=machine, sheet=size, sheets=dice.randrange(1, 9), kind="print", who="house", fed_at=NOW, now=NOW
        )
        actions.undo_sheets(feed=feed, now=NOW + timedelta(minutes=1))
        did.undone += 1

    for turn in range(rounds):
        barrier.wait()
        began = time.monotonic()
        try:
            (log, give, log_and_take_back)[(number + turn) % 3](turn)
        except Refused:
            did.refused += 1
        except (Busy, DatabaseError) as error:
            did.other.append(repr(error))
        did.seconds.append(time.monotonic() - began)
    connection.close()
    home.put(did)
