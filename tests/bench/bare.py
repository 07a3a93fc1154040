"""The floor that an act is measured against: the same statements, or only the same rows, by the bare driver."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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
        for table in dict.fromkeys(table_of(sql) for sql, _values in sent if sql.startswith("INSERT")):
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
    """Of the statements those that write: their guards are the database's own constraints and triggers."""
    return [(sql, values) for sql, values in sent if sql.startswith("INSERT")]


@contextmanager
def bare() -> Iterator[Callable[[list[Statement]], None]]:
    """``run(statements)``: one committed transaction on the driver's own cursor, everything fetched."""
    connection.ensure_connection()
    raw = connection.connection
    sqlite = connection.vendor == "sqlite"
    begin = "BEGIN IMMEDIATE" if sqlite else "BEGIN"

    def prepared(sent: list[Statement]) -> list[Statement]:
        return [(sql.replace("%s", "?").replace("%%", "%"), values) for sql, values in sent] if sqlite else sent

    def run(sent: list[Statement]) -> None:
        cursor = raw.cursor()
        cursor.execute(begin)
        for sql, values in sent:
            # As Django does it: without values nothing in the statement is a placeholder.
            cursor.execute(sql, values) if values else cursor.execute(sql)
            if cursor.description is not None:
                cursor.fetchall()
        cursor.execute("COMMIT")

    run.prepared = prepared  # type: ignore[attr-defined]
    yield run
