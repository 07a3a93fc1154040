"""Long lists in parts: no database takes any number of values in one statement.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

T = TypeVar("T")
AT_A_TIME = 500


def in_parts(values: Iterable[T]) -> Iterator[Sequence[T]]:
    """``values`` in their order, at most ``AT_A_TIME`` at once."""
    listed = list(values)
    for start in range(0, len(listed), AT_A_TIME):
        yield listed[start : start + AT_A_TIME]
