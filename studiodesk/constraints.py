"""Two constraints of our own that hold on both databases: ``NoOverlap`` and ``AppendOnly``.

Their path stands in migrations, so this file never moves.  PostgreSQL gets an exclusion constraint or a trigger
function; SQLite gets triggers.  The triggers go out through ``schema_editor.deferred_sql`` as ``Statement`` objects,
because Django remakes an SQLite table for almost any change, and a trigger made by ``RunSQL`` is lost with the old one.
Nothing here may import ``django.contrib.postgres``: an SQLite-only install has to migrate without psycopg.
"""

from __future__ import annotations

from typing import Any

from django.db.backends.ddl_references import Statement, Table
from django.db.models.constraints import BaseConstraint

LONGEST_HOURS = 24


class _BothEngines(BaseConstraint):
    """What the two have in common: emitted with the table, checked by the database, never by ``full_clean``."""

    def validate(self, model: Any, instance: Any, exclude: Any = None, using: str = "default") -> None:
        """The act looks first and the database decides; a form must not guess."""

    def create_sql(self, model: Any, schema_editor: Any) -> Any:
        """Reached on PostgreSQL only: SQLite remakes the table and takes ``constraint_sql``."""
        parts = self._inline(model, schema_editor)
        if not parts:
            return None
        return Statement(
            "ALTER TABLE %(table)s " + ", ".join(f"ADD {part}" for part in parts).replace("%", "%%"),
            table=Table(model._meta.db_table, schema_editor.quote_name),
        )

    def constraint_sql(self, model: Any, schema_editor: Any) -> str:
        return ", ".join(self._inline(model, schema_editor))

    def _inline(self, model: Any, schema_editor: Any) -> list[str]:
        raise NotImplementedError

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.deconstruct() == other.deconstruct()  # type: ignore[attr-defined]

    __hash__ = BaseConstraint.__hash__

    def _defer(self, model: Any, schema_editor: Any, template: str) -> None:
        """Queue one statement; ``%(table)s`` follows a rename of the table, the rest stands as written."""
        statement = Statement(template, table=Table(model._meta.db_table, schema_editor.quote_name))
        schema_editor.deferred_sql.append(statement)


class NoOverlap(_BothEngines):
    """No two rows with the same ``key`` may share an instant of ``[start, end)``.

    With ``unlike`` only rows that differ in that column collide (two needs of light in one room), so any number of
    like rows may overlap.  A row lasts at most 24 hours: that bounds how far back the database has to look.  The
    violation carries this constraint's name on both engines (see ``acts``).
    """

    def __init__(self, *, name: str, key: str, start: str, end: str, unlike: str | None = None, **kwargs: Any) -> None:
        super().__init__(name=name, **kwargs)
        self.key, self.start, self.end, self.unlike = key, start, end, unlike

    def deconstruct(self) -> tuple[str, tuple[Any, ...], dict[str, Any]]:
        path, args, kwargs = super().deconstruct()
        kwargs.update(key=self.key, start=self.start, end=self.end)
        if self.unlike:
            kwargs["unlike"] = self.unlike
        return path, args, kwargs

    def database_names(self, vendor: str) -> list[str]:
        """What must be found in the database: the constraint itself, or both triggers."""
        if vendor == "postgresql":
            return [self.name, f"{self.name}_longest"]
        return [f"{self.name}_insert", f"{self.name}_update"]

    def _columns(self, model: Any) -> dict[str, str]:
        column = lambda field: model._meta.get_field(field).column  # noqa: E731
        return {
            "key": column(self.key),
            "start": column(self.start),
            "end": column(self.end),
            "unlike": column(self.unlike) if self.unlike else "",
        }

    def _inline(self, model: Any, schema_editor: Any) -> list[str]:
        if schema_editor.connection.vendor == "postgresql":
            return self._postgresql(model, schema_editor)
        return self._sqlite(model, schema_editor)

    def remove_sql(self, model: Any, schema_editor: Any) -> Any:
        return Statement(
            "ALTER TABLE %(table)s "
            + ", ".join(f'DROP CONSTRAINT "{name}"' for name in self.database_names("postgresql")),
            table=Table(model._meta.db_table, schema_editor.quote_name),
        )

    def _postgresql(self, model: Any, schema_editor: Any) -> list[str]:
        c = {name: schema_editor.quote_name(column) for name, column in self._columns(model).items() if column}
        unlike = f"{c['unlike']} WITH <>, " if self.unlike else ""
        return [
            f"CONSTRAINT {schema_editor.quote_name(self.name)} EXCLUDE USING gist ({c['key']} WITH =, {unlike}"
            f"tstzrange({c['start']}, {c['end']}, '[)') WITH &&)",
            f"CONSTRAINT {schema_editor.quote_name(self.name + '_longest')} "
            f"CHECK ({c['end']} - {c['start']} <= interval '{LONGEST_HOURS} hours')",
        ]

    def _sqlite(self, model: Any, schema_editor: Any) -> list[str]:
        c = {name: f'"{column}"' for name, column in self._columns(model).items() if column}
        for when, another in (("INSERT", ""), ("UPDATE", ' AND "id" <> NEW."id"')):
            if self.unlike:
                # Like rows overlap freely, so the newest earlier row says nothing of the older ones: look a day back.
                clash = (
                    f"EXISTS (SELECT 1 FROM %(table)s WHERE {c['key']} = NEW.{c['key']}{another} "
                    f"AND {c['unlike']} <> NEW.{c['unlike']} AND {c['start']} < NEW.{c['end']} "
                    f"AND {c['start']} > datetime(NEW.{c['start']}, '-{LONGEST_HOURS + 1} hours') "
                    f"AND {c['end']} > NEW.{c['start']})"
                )
            else:
                # Rows of one key never overlap, so the last one that starts before our end decides alone.
                clash = (
                    f"(SELECT {c['end']} FROM %(table)s WHERE {c['key']} = NEW.{c['key']}{another} "
                    f"AND {c['start']} < NEW.{c['end']} ORDER BY {c['start']} DESC LIMIT 1) > NEW.{c['start']}"
                )
            self._defer(
                model,
                schema_editor,
                f'CREATE TRIGGER "{self.name}_{when.lower()}" BEFORE {when} ON %(table)s FOR EACH ROW WHEN {clash} '
                f"BEGIN SELECT RAISE(ABORT, '{self.name}'); END",
            )
        # The length is written in SQLite's own functions: Django's timedelta arithmetic would put a Python function
        # into the table, and a bare connection, VACUUM INTO and a dump's reload would fail on it.
        return [
            f'CONSTRAINT "{self.name}_longest" CHECK '
            f"(strftime('%s', {c['end']}) - strftime('%s', {c['start']}) <= {LONGEST_HOURS * 3600})"
        ]


class AppendOnly(_BothEngines):
    """Rows of this table are never changed, and deleted only while the one-row ``gate`` table stands open.

    ``gate`` is the table's name with a boolean column ``open``; retention opens it inside its own transaction.
    """

    def __init__(self, *, name: str, gate: str, **kwargs: Any) -> None:
        super().__init__(name=name, **kwargs)
        self.gate = gate

    def deconstruct(self) -> tuple[str, tuple[Any, ...], dict[str, Any]]:
        path, args, kwargs = super().deconstruct()
        kwargs["gate"] = self.gate
        return path, args, kwargs

    def database_names(self, vendor: str) -> list[str]:
        return [f"{self.name}_update", f"{self.name}_delete"]

    def _inline(self, model: Any, schema_editor: Any) -> list[str]:
        if schema_editor.connection.vendor == "postgresql":
            shut = f'NOT EXISTS (SELECT 1 FROM "{self.gate}" WHERE "open")'
            for when, body in (
                ("UPDATE", f"RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = '{self.name}';"),
                (
                    "DELETE",
                    f"IF {shut} THEN RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = '{self.name}'; END IF; "
                    "RETURN OLD;",
                ),
            ):
                function = f'"{self.name}_{when.lower()}"'
                self._defer(
                    model,
                    schema_editor,
                    f"CREATE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$; "
                    f"CREATE TRIGGER {function} BEFORE {when} ON %(table)s FOR EACH ROW EXECUTE FUNCTION {function}()",
                )
            return []
        shut = f'NOT EXISTS (SELECT 1 FROM "{self.gate}" WHERE "open" = 1)'
        for when, condition in (("UPDATE", ""), ("DELETE", f" WHEN {shut}")):
            self._defer(
                model,
                schema_editor,
                f'CREATE TRIGGER "{self.name}_{when.lower()}" BEFORE {when} ON %(table)s FOR EACH ROW{condition} '
                f"BEGIN SELECT RAISE(ABORT, '{self.name}'); END",
            )
        return []

    def remove_sql(self, model: Any, schema_editor: Any) -> Any:
        drops = "; ".join(f'DROP FUNCTION "{name}"() CASCADE' for name in self.database_names("postgresql"))
        return Statement(drops, table=Table(model._meta.db_table, schema_editor.quote_name))
