from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _

from studiodesk.upkeep.actions import LoadOutcome, load_studio
from studiodesk.upkeep.rules.problems import FileRefused
from studiodesk.upkeep.words import told, told_more


class Command(BaseCommand):
    help = "Make or change the studio as a TOML file describes it (docs/formats.md): all of it or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the description, studio.toml")
        parser.add_argument("--dry-run", action="store_true", help="do everything, say what came of it, keep nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            data = path.read_bytes()
        except OSError as error:
            raise CommandError(
                _("%(file)s cannot be read: %(why)s.") % {"file": path, "why": error.strerror}
            ) from error
        try:
            outcome = load_studio(data=data, now=timezone.now(), file=path.name, dry_run=options["dry_run"])
        except FileRefused as refused:
            lines = [told(problem) for problem in refused.problems]
            raise CommandError("\n".join([*lines, *([told_more(refused.more)] if refused.more else [])])) from refused
        for warning in outcome.warnings:
            self.stderr.write(_("Note: %(what)s") % {"what": told(warning)})
        if options["verbosity"]:
            self._say(outcome, path.name)
            if options["dry_run"]:
                self.stdout.write(_("Dry run: nothing was kept."))

    def _say(self, outcome: LoadOutcome, file: str) -> None:
        for bath, keys in outcome.figures.items():
            said = {"bath": bath, "keys": ", ".join(keys) or "–"}
            self.stdout.write(_("%(bath)s: new figures are in force from now (%(keys)s).") % said)
        names = {
            "studio": _("studio"),
            "opening": _("opening hours"),
            "closures": _("closures"),
            "processes": _("processes"),
            "processors": _("processors"),
            "baths": _("baths"),
            "stations": _("stations"),
            "rooms": _("shared rooms"),
            "kit": _("kit"),
            "sheet sizes": _("sheet sizes"),
            "plans": _("memberships"),
            "house rules": _("house rules"),
            "sign-offs": _("sign-offs"),
            "outlines": _("outlines of classes"),
        }
        parts = []
        for kind, name in names.items():
            counts = [
                text % {"number": there[kind]}
                for there, text in (
                    (outcome.made, _("%(number)d new")),
                    (outcome.changed, _("%(number)d changed")),
                    (outcome.standing, _("%(number)d as before")),
                )
                if there.get(kind)
            ]
            if counts:
                parts.append(f"{name}: {', '.join(counts)}")
        self.stdout.write(f"{file}: {'; '.join(parts)}.")
