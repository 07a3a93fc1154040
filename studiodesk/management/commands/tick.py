"""``manage.py tick``: what time brings, done once or again and again; the whole timetable is ``studiodesk.tasks``."""

from __future__ import annotations

import time
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import close_old_connections
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from studiodesk.journal import queries
from studiodesk.journal.actions import Sweep
from studiodesk.tasks import CHORES, Round, do_chores

from .baths import iso, moment

#: A timer that is later than this has stopped.
LATE = max(timedelta(minutes=10), 3 * timedelta(seconds=settings.TICK_SECONDS))


def _letters(sweep: Sweep) -> str:
    return _(
        "%(sent)d sent (%(again)d perhaps a second time), %(failed)d not sent, %(given_up)d given up, "
        "%(not_wanted)d not wanted, %(called_off)d called off"
    ) % {
        "sent": sweep.sent,
        "again": sweep.second_copies,
        "failed": sweep.failed,
        "given_up": sweep.given_up,
        "not_wanted": sweep.not_wanted,
        "called_off": sweep.called_off,
    }


def _counted(name: str, number: int) -> str:
    """What a chore that answers with a number did; one that has no sentence of its own yet says the number."""
    return {
        "baths": ngettext("%d more alert stands open", "%d more alerts stand open", number),
        "alerts": ngettext("%d letter about an alert written", "%d letters about alerts written", number),
        "shifts": ngettext("%d uncovered shift told of", "%d uncovered shifts told of", number),
        "forecasts": ngettext("%d bath foretold", "%d baths foretold", number),
        "offers": ngettext("%d offer made or run out", "%d offers made or run out", number),
        "memberships": ngettext("%d person told of an end", "%d people told of an end", number),
        "no-shows": ngettext("%d unused booking given back", "%d unused bookings given back", number),
        "overruns": ngettext("%d person told of an overrun", "%d people told of an overrun", number),
        "answers": ngettext("%d old answer forgotten", "%d old answers forgotten", number),
        "sessions": ngettext("%d ended session forgotten", "%d ended sessions forgotten", number),
    }.get(name, "%d") % number


def said(name: str, answer: Any) -> str:
    """What one chore did, in words."""
    if isinstance(answer, Sweep):
        return _letters(answer)
    if isinstance(answer, int):
        return _counted(name, answer)
    return _("done") if answer is None else str(answer)


class Command(BaseCommand):
    help = _(
        "Do once all that time brings: see to baths, forecasts, bookings, shifts and memberships, send the letters "
        "that are due, forget what is over. What somebody else is at is left to them."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        way = parser.add_mutually_exclusive_group()
        way.add_argument("--every", type=int, metavar="SECONDS", help=_("do it again and again, until stopped"))
        way.add_argument(
            "--now", metavar="TIME", help=_("as if it were this time: ISO 8601 with offset, 2026-10-01T18:30:00Z")
        )
        way.add_argument(
            "--check",
            action="store_true",
            help=_("do nothing; say when each chore was last done, and fail if one is late by more than ten minutes"),
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["check"]:
            return self.check_timer(timezone.now())
        if options["every"] is None:
            now = moment(options["now"]) if options["now"] else timezone.now()
            failed = self.once(now, options["verbosity"])
            if failed:
                raise CommandError(_("failed: %(chores)s; the log says why") % {"chores": ", ".join(failed)})
        while options["every"] is not None:
            self.once(timezone.now(), options["verbosity"])
            close_old_connections()
            time.sleep(max(1, options["every"]))

    def once(self, now: datetime, verbosity: int) -> list[str]:
        """One round; the names of the chores that failed (the log says why)."""
        done = do_chores(now)
        if verbosity:
            self._say(done, verbosity)
        return list(done.failed)

    def _say(self, done: Round, verbosity: int) -> None:
        """Each chore in a line; with ``-v 2`` also what was told to whom."""
        for name in CHORES:
            if name in done.failed:
                what = _("failed; the log says why")
            elif name in done.elsewhere:
                what = _("somebody else is at it")
            else:
                what = said(name, done.answers[name])
            self.stdout.write(f"{name}: {what}")
            sweep = done.answers.get(name)
            if verbosity > 1 and isinstance(sweep, Sweep):
                for number, code, subject in sweep.told:
                    self.stdout.write(f"  {number}: {subject} ({code})")

    def check_timer(self, now: datetime) -> None:
        """Whether the timer runs, whichever it is: what it has done stands in the database."""
        rows, late = queries.chores_done(), []
        for name in CHORES:
            row = rows.get(name)
            last = row.last_done_at if row else None
            if last is None or now - last > LATE:
                late.append(name)
            what = _("last done %(at)s") % {"at": iso(last)} if last else _("never done yet")
            if row and row.until and row.until > now:
                what = _("%(what)s; at it now: %(holder)s") % {"what": what, "holder": row.holder}
            self.stdout.write(f"{name}: {what}")
        if late:
            raise CommandError(_("late: %(chores)s") % {"chores": ", ".join(late)})
