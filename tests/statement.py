"""Ties a test to what the accessibility page says is tested."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from studiodesk.accessibility import CHECKS

Test = TypeVar("Test", bound=Callable[..., object])
KNOWN = {check.id for check in CHECKS}


def keeps(*ids: str) -> Callable[[Test], Test]:
    """``@keeps("axe", "zoom")``: this test is why the page may say so; an id that the page has not is an error."""
    unknown = set(ids) - KNOWN
    if unknown or not ids:
        raise LookupError(f"the accessibility page says nothing of {sorted(unknown) or 'nothing'}")

    def mark(test: Test) -> Test:
        return test

    return mark
