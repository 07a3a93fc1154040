import time
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import close_old_connections
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studiodesk.tasks import do_chores


class Command(BaseCommand):
    help = gettext_lazy(
        "Do once what a minute's timer does: review the baths, foretell them once a night, send letters that are due, "
        "forget what is over."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--every", type=int, metavar="SECONDS", help=_("do it again and again, until stopped"))

    def handle(self, *args: Any, **options: Any) -> None:
        if options["every"] is None:
            failed = self.once(timezone.now(), options["verbosity"])
            if failed:
                raise CommandError(_("failed: %(chores)s; the log says why") % {"chores": ", ".join(failed)})
        while options["every"] is not None:
            self.once(timezone.now(), options["verbosity"])
            close_old_connections()
            time.sleep(max(1, options["every"]))

    def once(self, now: datetime, verbosity: int) -> list[str]:
        """One round; the names of the chores that failed (the log says why)."""
        answers, failed = do_chores(now)
        letters = answers.get("letters")
        if letters is not None and verbosity:
            self.stdout.write(
                _(
                    "letters: %(sent)d sent (%(again)d perhaps a second time), "
                    "%(failed)d not sent, %(given_up)d given up"
                )
                % {
                    "sent": letters.sent,
                    "again": letters.second_copies,
                    "failed": letters.failed,
                    "given_up": letters.given_up,
                }
            )
        return list(failed)
