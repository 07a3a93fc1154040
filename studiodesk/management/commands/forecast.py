"""``manage.py forecast``: when each bath will meet its first limit, as sentences or as JSON to reckon with."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refused
from studiodesk.desk.queries import Ahead
from studiodesk.planning.queries.forecasting import Foretold, as_json, foretell
from studiodesk.planning.queries.rows import row_of
from studiodesk.words import say

from .baths import moment


def in_words(told: Foretold, at: datetime) -> str:
    """The sentence that the board shows, with the processor before it."""
    row = row_of(told, at, "asked", None)
    said = Ahead(told.tank.standing, row, told.course.first_day).sentence
    return f"{told.of.processor_name}: {said}"


class Command(BaseCommand):
    help = _("When each bath will meet its first limit, by the bookings ahead and the sheets so far.")

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help=gettext("a JSON list for programs"))
        parser.add_argument(
            "--at",
            metavar="TIME",
            help=gettext("as it would have been foretold at this ISO time, by what was known then"),
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        at = moment(options["at"]) if options["at"] else now
        try:
            found = foretell(at, live=options["at"] is None)
        except Refused as refused:
            raise CommandError(str(say(refused.refusal))) from refused
        if at > now:
            self.stderr.write(gettext("That moment lies ahead: nothing is known yet of what happens until then."))
        if options["json"]:
            self.stdout.write(json.dumps([as_json(told) for told in found], ensure_ascii=False, indent=2))
        elif found:
            for told in found:
                self.stdout.write(in_words(told, at))
        else:
            self.stdout.write(gettext("No bath has been described yet: load a studio with load_studio."))
