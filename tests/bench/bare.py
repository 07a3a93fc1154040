"""The floor that an act is measured against: the same statements, or only the same rows, by the bare driver."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from django.db import connection, transaction

Statement = tuple[str, tuple[Any, ...]]
#: What the bare driver says itself around the transaction.
AROUND = re.compile(r"^(SAVEPOINT|RELEASE|ROLLBACK|BEGIN|COMMIT)", re.I)


class Undone(Exception):
    """Ends a transaction whose statements were wanted and not its rows."""


def statements_of(act: Callable[[], Any]) -> list[Statement]:
    """Every statement that the act sends, with its values; the database stands as it stood."""
    sent: list[Statement] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if not AROUND.match(sql):
            sent.append((sql, tuple(params or ())))
        return execute(sql, params, many, context)

    try:
        with transaction.atomic(), connection.execute_wrapper(note):
            act()
            raise Undone
    except Undone:
        pass
    _numbers_again(sent)
    return sent


def _numbers_again(sent: list[Statement]) -> None:
    """PostgreSQL counts on where a transaction was undone: the same rows are to get the same keys once more."""
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        for table in dict.fromkeys(table_of(sql) for sql, _values in rows_only(sent)):
            counter, after = (
                f"pg_get_serial_sequence('{table}', 'id')",
                f"(SELECT COALESCE(MAX(id), 0) + 1 FROM {table})",
            )
            cursor.execute(f"SELECT setval({counter}, {after}, false)")


def table_of(sql: str) -> str:
    found = re.match(r'INSERT INTO "([a-z_]+)"', sql)
    assert found is not None, sql
    return found.group(1)


def rows_only(sent: list[Statement]) -> list[Statement]:
    """Of the statements those that write.

    Each row is guarded once, by the database itself: on PostgreSQL by the exclusion constraint, on SQLite by the
    trigger.  A guard written out for each hold on top of that would only make the floor higher and the act look better.
    """
    return [(sql, values) for sql, values in sent if sql.startswith("INSERT")]


class Bare:
    """The driver's own connection under Django's, so that both stand in the same database with the same settings."""

    def __init__(self) -> None:
        connection.ensure_connection()
        self.raw = connection.connection
        self.is_sqlite = connection.vendor == "sqlite"

    def ready(self, sent: list[Statement]) -> list[Statement]:
        """The statements in the driver's own way of writing a placeholder."""
        if not self.is_sqlite:
            return sent
        return [(sql.replace("%s", "?").replace("%%", "%"), values) for sql, values in sent]

    def run(self, ready: list[Statement]) -> None:
        """One committed transaction, everything fetched."""
        cursor = self.raw.cursor()
        cursor.execute("BEGIN IMMEDIATE" if self.is_sqlite else "BEGIN")
        for sql, values in ready:
            # As Django does it: without values nothing in the statement is a placeholder.
            cursor.execute(sql, values) if values else cursor.execute(sql)
            if cursor.description is not None:
                cursor.fetchall()
        cursor.execute("COMMIT")
