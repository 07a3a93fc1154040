"""The two commands as a person meets them: what they print, where, and with which exit status."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

from tests.upkeep.files import BOOKING, BOOKINGS, FEED, FEEDS, MEMBERS, OSTERMILL, contents, manage


def test_a_studio_and_its_history_are_loaded_refused_and_tried_by_command(fresh_db: str, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('[studio]\nname = "A"\ntime_zone = "Mars/Base"\ncurrency = "EUR"\n', encoding="utf-8")
    done = manage("load_studio", wrong, fails=True)
    assert done.returncode == 1
    assert "wrong.toml, studio.time_zone: “Mars/Base” is not a time zone." in done.stderr
    assert "cannot be read" in manage("load_studio", tmp_path / "none.toml", fails=True).stderr
    said = manage("import_history", OSTERMILL, fails=True).stderr
    assert "manage.py load_studio studio.toml" in said
    assert "Traceback" not in said

    assert "Dry run: nothing was kept." in manage("load_studio", OSTERMILL / "studio.toml", "--dry-run").stdout
    assert contents()["studiodesk.Studio"][0] == 0
    manage("load_studio", OSTERMILL / "studio.toml")

    assert "holds none of members.csv" in manage("import_history", tmp_path, fails=True).stderr
    (tmp_path / "members.csv").write_bytes(MEMBERS)
    (tmp_path / "bookings.csv").write_bytes(BOOKINGS + BOOKING.replace(b"T16:00", b"T13:00"))
    (tmp_path / "feeds.csv").write_bytes(FEEDS + FEED)
    done = manage("import_history", tmp_path, fails=True)
    assert done.returncode == 1
    assert done.stdout == "members: 2 new, 0 already here; bookings: not written; feeds: not written\n"
    assert "bookings.csv, line 2, column “end”: The end is not later than the start.\n" in done.stderr
    assert "bookings.csv was refused: nothing of it was written.\n" in done.stderr
    assert "feeds.csv was not tried: it needs bookings.csv, which was refused.\n" in done.stderr
    assert contents()["studiodesk.Member"][0] == 2
    assert contents()["studiodesk.Booking"][0] == 0

    (tmp_path / "bookings.csv").write_bytes(BOOKINGS + BOOKING)
    tried = manage("import_history", tmp_path, "--dry-run").stdout
    assert contents()["studiodesk.Booking"][0] == 0
    kept = manage("import_history", tmp_path).stdout
    assert tried == kept + "Dry run: nothing was kept.\n"
    assert kept == "members: 0 new, 2 already here; bookings: 1 new, 0 already here; feeds: 1 new, 0 already here\n"


class Terminal(io.StringIO):
    """A screen as a command sees it, also where the machine has no terminal to lend."""

    def isatty(self) -> bool:
        return True


def test_a_terminal_gets_a_bar_and_a_log_does_not(fresh_db: str, monkeypatch: pytest.MonkeyPatch) -> None:
    manage("load_studio", OSTERMILL / "studio.toml")
    screen = Terminal()
    with monkeypatch.context() as while_it_runs:
        while_it_runs.setattr(sys, "stderr", screen)
        call_command("import_history", str(OSTERMILL), "--dry-run", stdout=io.StringIO())
    assert "feeds.csv: 100%" in screen.getvalue()
    assert "1643/1643" in screen.getvalue()
    assert "feeds.csv" not in manage("import_history", OSTERMILL, "--dry-run").stderr
