"""A scratch SQLite database with a studio in it, for programs that are no tests."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OSTERMILL = ROOT / "examples" / "ostermill"


@contextlib.contextmanager
def studio_from(folder: Path) -> Iterator[None]:
    """Django on a database of its own, with ``studio.toml`` and the history of ``folder`` loaded; gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="studiodesk-scratch-") as scratch:
        os.environ["DATABASE_URL"] = f"sqlite:///{Path(scratch) / 'studio.sqlite3'}"
        os.environ["DJANGO_SETTINGS_MODULE"] = "studiodesk_site.settings"
        os.environ.setdefault("STUDIODESK_SECRET_KEY", "only-for-a-scratch-database-" + "x" * 40)
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connections

        with open(os.devnull, "w") as nowhere:
            call_command("migrate", verbosity=0, stdout=nowhere)
            call_command("load_studio", str(folder / "studio.toml"), stdout=nowhere, stderr=nowhere)
            call_command("import_history", str(folder), stdout=nowhere, stderr=nowhere)
        try:
            yield
        finally:
            connections.close_all()
