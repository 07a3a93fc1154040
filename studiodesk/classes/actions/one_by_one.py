"""Many rows, each in an act of its own: what fails is told and keeps none of the others waiting."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from typing import TypeVar

from django.db.models import Model

Row = TypeVar("Row", bound=Model)
Answer = TypeVar("Answer")
log = logging.getLogger(__name__)


def one_by_one(rows: Iterable[Row], work: Callable[[Row], Answer]) -> list[tuple[Row, Answer]]:
    """What ``work`` answered for each of ``rows``; those that failed are logged and left out."""
    done = []
    for row in rows:
        try:
            done.append((row, work(row)))
        except Exception:  # the next one has to be done all the same
            log.exception("%s %s was left as it is", row._meta.model_name, row.pk)
    return done
