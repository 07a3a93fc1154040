"""The two databases under test, in one pytest run.

Each engine has a migrated template made once a session.  ``db`` tests run in a transaction on a copy and roll back;
``fresh_db`` tests get a copy of their own with real commits (append-only triggers refuse Django's flush, so a copy
is the only clean start).
"""

from __future__ import annotations

import contextlib
import os
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.db import connections

from studiodesk_site.settings import database
from tests import notrun

ADMIN_URL = os.environ.get("STUDIODESK_TEST_POSTGRES", "postgres://postgres@127.0.0.1:5432/postgres")


def use(url: str) -> None:
    """Point Django's default connection of this thread, and of threads to come, at another database."""
    with contextlib.suppress(Exception):
        connections["default"].close()
    settings: dict[str, Any] = database(url)
    connections.settings["default"] = settings
    for name, value in (
        ("ATOMIC_REQUESTS", False),
        ("AUTOCOMMIT", True),
        ("CONN_MAX_AGE", 0),
        ("CONN_HEALTH_CHECKS", False),
        ("OPTIONS", {}),
        ("TIME_ZONE", None),
        ("USER", ""),
        ("PASSWORD", ""),
        ("HOST", ""),
        ("PORT", ""),
    ):
        settings.setdefault(name, value)
    settings["CONN_MAX_AGE"] = 0
    settings.setdefault("TEST", {"CHARSET": None, "COLLATION": None, "MIGRATE": True, "MIRROR": None, "NAME": None})
    connections["default"] = connections.create_connection("default")
    os.environ["DATABASE_URL"] = url


class SQLite:
    name = "sqlite"

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.template = folder / "template.sqlite3"
        use(f"sqlite:///{self.template}")
        call_command("migrate", verbosity=0)
        connections["default"].close()

    @contextlib.contextmanager
    def copy(self) -> Iterator[str]:
        path = self.folder / f"{uuid.uuid4().hex}.sqlite3"
        shutil.copy(self.template, path)
        url = f"sqlite:///{path}"
        use(url)
        try:
            yield url
        finally:
            connections["default"].close()
            for suffix in ("", "-wal", "-shm", ".queue"):
                path.with_name(path.name + suffix).unlink(missing_ok=True)

    def close(self) -> None:
        connections["default"].close()


class PostgreSQL:
    name = "postgres"

    def __init__(self) -> None:
        import psycopg

        self.admin = psycopg.connect(ADMIN_URL, autocommit=True, connect_timeout=3)
        self.template = f"studiodesk_template_{uuid.uuid4().hex[:10]}"
        self.admin.execute(f"CREATE DATABASE {self.template}")
        use(self._url(self.template))
        call_command("migrate", verbosity=0)
        connections["default"].close()

    @staticmethod
    def _url(name: str) -> str:
        return ADMIN_URL.rsplit("/", 1)[0] + "/" + name

    @contextlib.contextmanager
    def copy(self) -> Iterator[str]:
        name = f"studiodesk_test_{uuid.uuid4().hex[:10]}"
        self.admin.execute(f"CREATE DATABASE {name} TEMPLATE {self.template}")
        url = self._url(name)
        use(url)
        try:
            yield url
        finally:
            connections["default"].close()
            self.admin.execute(f"DROP DATABASE {name} WITH (FORCE)")

    def close(self) -> None:
        connections["default"].close()
        self.admin.execute(f"DROP DATABASE {self.template} WITH (FORCE)")
        self.admin.close()


def start(name: str, folder: Path) -> SQLite | PostgreSQL:
    """The engine, or the test is skipped with a word (and fails where the engine is required)."""
    if name == "sqlite":
        return SQLite(folder)
    try:
        return PostgreSQL()
    except Exception as error:
        notrun.missing("postgres", f"no PostgreSQL answers at {ADMIN_URL.rsplit('@')[-1]} ({type(error).__name__})")
        raise AssertionError("unreachable") from error
