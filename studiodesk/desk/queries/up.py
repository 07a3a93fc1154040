"""Whether the database answers at all."""

from __future__ import annotations

from django.db import connection


def ask_database() -> None:
    """Raises what the database raises if it is stopped, unreachable or too slow."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
