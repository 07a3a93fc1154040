"""The people who open the chemistry pages."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest


@pytest.fixture
def people(house: Any, now: datetime) -> Iterator[dict[str, Any]]:
    """A member, a keyholder and one of the staff, with the clock standing at ``now``."""
    import time_machine

    from tests import makers

    with time_machine.travel(now, tick=False):
        yield {
            "member": makers.member("Adri"),
            "keyholder": makers.member("Kim", is_keyholder=True),
            "staff": makers.member("Sef", is_staff=True),
        }
