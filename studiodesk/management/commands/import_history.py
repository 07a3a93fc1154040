import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _
from tqdm import tqdm

from studiodesk.answers import Refused
from studiodesk.stations.queries import studio, zone
from studiodesk.upkeep.actions import FileCount, import_history
from studiodesk.upkeep.actions.history import FILES
from studiodesk.upkeep.rules.tables import Row
from studiodesk.upkeep.words import told, told_more
from studiodesk.words import say


class Command(BaseCommand):
    help = "Record a studio's past from members, bookings, feeds, bath_events and strips (docs/formats.md)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path, help="where the CSV files are; each of them may be missing")
        parser.add_argument("--dry-run", action="store_true", help="do everything, say what came of it, keep nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        files = self._files(options["folder"])
        try:
            here = zone(studio())
            outcome = import_history(files=files, now=timezone.now(), dry_run=options["dry_run"], watched=self._watched)
        except Refused as refused:
            raise CommandError(str(say(refused.refusal))) from refused
        with timezone.override(here):
            for warning in outcome.warnings:
                self.stderr.write(_("Note: %(what)s") % {"what": told(warning)})
            problems = [line for file in outcome.files for line in self._problems(file)]
        if options["verbosity"]:
            self.stdout.write(self._count(outcome.files))
            if options["dry_run"]:
                self.stdout.write(_("Dry run: nothing was kept."))
        if problems:
            raise CommandError("\n".join(problems))

    def _files(self, folder: Path) -> dict[str, bytes]:
        """The files that are there, read whole; ``CommandError`` if there is none."""
        files = {}
        for name in FILES:
            try:
                files[name] = (folder / name).read_bytes()
            except (FileNotFoundError, NotADirectoryError):
                continue
            except OSError as error:
                said = {"file": folder / name, "why": error.strerror}
                raise CommandError(_("%(file)s cannot be read: %(why)s.") % said) from error
        if not files:
            said = {"folder": folder, "files": ", ".join(FILES)}
            raise CommandError(_("%(folder)s holds none of %(files)s.") % said)
        return files

    def _watched(self, rows: Sequence[Row], name: str) -> Iterable[Row]:
        """A bar for whoever sits at a terminal, and nothing in a log."""
        return tqdm(rows, desc=name, file=sys.stderr, unit=" rows", disable=not sys.stderr.isatty())

    def _problems(self, file: FileCount) -> list[str]:
        if file.waits_for:
            said = {"file": file.file, "other": file.waits_for}
            return [_("%(file)s was not tried: it needs %(other)s, which was refused.") % said]
        if file.refused is None:
            return []
        lines = [told(problem) for problem in file.refused.problems]
        if file.refused.more:
            lines.append(told_more(file.refused.more))
        return [*lines, _("%(file)s was refused: nothing of it was written.") % {"file": file.file}]

    def _count(self, files: list[FileCount]) -> str:
        parts = []
        for file in files:
            name = file.file.removesuffix(".csv").replace("_", " ")
            said = {"name": name, "new": file.new, "already": file.already}
            if file.refused or file.waits_for:
                parts.append(_("%(name)s: not written") % said)
            else:
                parts.append(_("%(name)s: %(new)d new, %(already)d already here") % said)
        return "; ".join(parts)
