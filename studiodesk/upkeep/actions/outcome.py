"""What came of a load or an import, for whoever tells it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from django.db import transaction

from studiodesk.acts import carry_out

from ..rules.problems import FileRefused, Problem

T = TypeVar("T")


@dataclass
class LoadOutcome:
    """``made``, ``changed``, ``standing``: kind of thing → how many.  ``figures``: bath → the keys that changed."""

    made: dict[str, int] = field(default_factory=dict)
    changed: dict[str, int] = field(default_factory=dict)
    standing: dict[str, int] = field(default_factory=dict)
    figures: dict[str, list[str]] = field(default_factory=dict)
    warnings: list[Problem] = field(default_factory=list)

    def count(self, kind: str, *, made: bool, changed: bool) -> None:
        there = self.made if made else self.changed if changed else self.standing
        there[kind] = there.get(kind, 0) + 1

    @property
    def wrote(self) -> bool:
        return bool(self.made or self.changed)


@dataclass(frozen=True)
class FileCount:
    """One file: what it brought, or why it was refused, or which file it waited for in vain."""

    file: str
    new: int = 0
    already: int = 0
    refused: FileRefused | None = None
    waits_for: str = ""


@dataclass
class ImportOutcome:
    files: list[FileCount] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)

    @property
    def refused(self) -> bool:
        return any(file.refused or file.waits_for for file in self.files)

    @property
    def new(self) -> int:
        return sum(file.new for file in self.files)


def as_asked(work: Callable[[], T], *, dry_run: bool) -> T:
    """Do ``work``; with ``dry_run`` all of it, in one transaction that is then taken back."""
    if not dry_run:
        return work()

    def tried() -> T:
        point = transaction.savepoint()
        try:
            return work()
        finally:
            transaction.savepoint_rollback(point)

    return carry_out(tried)
