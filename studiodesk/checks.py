"""System checks of what Django cannot know: that the database still carries our guarantees."""

from typing import Any

from django.apps import apps
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

from .constraints import AppendOnly, NoOverlap

PRESENT = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT conname FROM pg_constraint UNION SELECT tgname FROM pg_trigger",
}


@register(Tags.database)
def guarantees_stand(databases: list[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    """A hand-made copy of a database can lose a trigger without a word: look for every one of ours."""
    errors: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        query = PRESENT.get(connection.vendor)
        if query is None:
            errors.append(
                Error(f"{connection.vendor} is not supported.", id="studiodesk.E001", hint="Use SQLite or PostgreSQL.")
            )
            continue
        tables = set(connection.introspection.table_names())
        with connection.cursor() as cursor:
            cursor.execute(query)
            present = {row[0] for row in cursor.fetchall()}
        for model in apps.get_app_config("studiodesk").get_models():
            if model._meta.db_table not in tables:
                continue
            for constraint in model._meta.constraints:
                if isinstance(constraint, (NoOverlap, AppendOnly)):
                    missing = [name for name in constraint.database_names(connection.vendor) if name not in present]
                    if missing:
                        errors.append(
                            Error(
                                f"The table {model._meta.db_table} has lost {', '.join(missing)}.",
                                hint="Restore it from a backup that carries its triggers, or migrate a new one.",
                                id="studiodesk.E002",
                            )
                        )
    return errors
