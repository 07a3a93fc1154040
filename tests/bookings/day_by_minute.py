"""A whole day of a small house, minute by minute: ``python -m tests.bookings.day_by_minute`` prints what was told.

People book, are late, do not come, stay too long, cancel and wait; a lamp breaks; nothing but ``tick --now`` and the
acts of these people moves time on.
"""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

MINUTE = timedelta(minutes=1)
#: Thursday 26 November 2026: the house is open from 10:00 to 22:00 in Amsterdam, 9:00 to 21:00 UTC.
DAY = date(2026, 11, 26)
FIRST = datetime(2026, 11, 26, 8, 30, tzinfo=UTC)
LAST = datetime(2026, 11, 26, 21, 30, tzinfo=UTC)


@dataclass(frozen=True)
class Told:
    at: datetime
    number: str
    code: str


def at(hour: int, minute: int = 0) -> datetime:
    """A moment of that day, UTC."""
    return datetime(2026, 11, 26, hour, minute, tzinfo=UTC)


class Tale:
    """The people of the day, and what each does at which minute."""

    def __init__(self) -> None:
        from studiodesk.bookings import actions
        from studiodesk.bookings.actions.house_rules import set_house_rule
        from tests import makers

        self.actions = actions
        self.house = makers.house()
        self.people = {name: makers.member(name) for name in ("Adri", "Bente", "Cas", "Dina", "Els", "Finn")}
        self.keyholder = makers.member("Kim", is_keyholder=True)
        manager = makers.member("Mo", is_staff=True, is_manager=True)
        before = FIRST - timedelta(days=3)
        for code, value in (("no_show_minutes", 30), ("offer_minutes", 60), ("reminder_hours", 2)):
            set_house_rule(code=code, plan=None, value=value, in_force_from=before.date(), now=before, by=manager)
        self.bookings: dict[str, Any] = {}
        for name, code, starts, hours in (
            ("Adri", "S1", at(10), 2),
            ("Bente", "S1", at(12), 2),
            ("Cas", "E1", at(11), 3),
            ("Dina", "S1", at(15), 3),
            ("Finn", "E2", at(16), 2),
        ):
            self.bookings[name] = actions.book(
                member=self.people[name],
                by=self.people[name],
                station=self.house.stations[code],
                process=None if code == "S1" else self.house.processes["rc"],
                starts=starts,
                ends=starts + timedelta(hours=hours),
                now=before,
            )
        self.happens: dict[datetime, Callable[[datetime], object]] = {
            at(9): self._els_waits,
            at(9, 55): lambda now: self._arrive("Adri", now),
            at(11, 2): lambda now: self._arrive("Cas", now),
            at(12, 20): lambda now: self._leave("Adri", now),  # twenty minutes too long: Bente is told
            at(12, 25): lambda now: self._arrive("Bente", now),
            at(13): self._lamp_breaks,
            at(13, 40): self._dina_cancels,  # Els is offered the time
            at(13, 55): lambda now: self._leave("Bente", now),
            at(14): lambda now: self._leave("Cas", now),
        }

    def _arrive(self, name: str, now: datetime) -> None:
        self.actions.arrive(booking=self.bookings[name], now=now, by=self.people[name])

    def _leave(self, name: str, now: datetime) -> None:
        self.actions.leave(booking=self.bookings[name], now=now, by=self.people[name])

    def _els_waits(self, now: datetime) -> None:
        from studiodesk.bookings.rules.needs import Need

        self.actions.wait(
            member=self.people["Els"],
            need=Need(kind="scanning station", length=180),
            first_day=DAY,
            last_day=DAY,
            # 16:00 on the clock: what Dina has.
            not_before=16 * 60,
            not_after=19 * 60,
            now=now,
            by=self.people["Els"],
        )

    def _lamp_breaks(self, now: datetime) -> None:
        from studiodesk.timekeeping import Span

        self.actions.close_station(
            station=self.house.stations["E2"],
            span=Span(now, at(21)),
            reason="lamp",
            cause="fault",
            now=now,
            by=self.keyholder,
        )

    def _dina_cancels(self, now: datetime) -> None:
        self.actions.cancel(booking=self.bookings["Dina"], now=now, by=self.people["Dina"])


def run(tale: Tale, say: Callable[[str], object] = lambda _line: None, step: timedelta = MINUTE) -> list[Told]:
    """Every ``step`` from ``FIRST`` to ``LAST``: what somebody did since, then one tick; answers every letter sent."""
    from django.core.management import call_command

    names = {person.number: name for name, person in [*tale.people.items(), ("Kim", tale.keyholder)]}
    told: list[Told] = []
    now = FIRST
    while now <= LAST:
        for moment in [moment for moment in tale.happens if now - step < moment <= now]:
            tale.happens[moment](moment)
        out = io.StringIO()
        call_command("tick", "--now", now.isoformat(), "-v", "2", stdout=out)
        for line in out.getvalue().splitlines():
            found = re.fullmatch(r"  (\S+): (.*) \((\w+\.\w+)\)", line)
            if found:
                told.append(Told(now, found[1], found[3]))
                say(f"{now:%H:%M} UTC  {names.get(found[1], found[1]):<6} {found[2]}")
        now += step
    return told


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studiodesk_site.settings")
    os.environ.setdefault("STUDIODESK_SECRET_KEY", "only-for-this-run-" + "x" * 50)
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{Path(folder) / 'day.sqlite3'}"
        import django
        from django.conf import settings
        from django.core.management import call_command

        django.setup()
        settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
        call_command("migrate", verbosity=0)
        sys.stdout.write("What was told to whom on a Thursday in November:\n")
        run(Tale(), lambda line: sys.stdout.write(line + "\n"))


if __name__ == "__main__":
    main()
