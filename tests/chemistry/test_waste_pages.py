"""What the pages say of waste containers."""

from __future__ import annotations

from typing import Any

from studiodesk.chemistry import actions
from studiodesk.units import PL_PER_L
from tests.chemistry.pages import client_of, soup_of


def test_a_full_container_is_not_called_nearly_full(house: Any, now: Any, people: Any) -> None:
    stream = actions.keep_stream(code="fixer", name="Fixer", bears_silver=True, conditions="", baths=[], now=now)
    given = {"code": "W-1", "name": "Drum", "stream": stream, "capacity_pl": 10 * PL_PER_L, "place": "Yard"}
    drum = actions.keep_waste_container(**given, now=now)
    staff = client_of(people["staff"])

    def said(litres: int) -> tuple[str, list[str]]:
        actions.measure_container(container=drum, level_pl=litres * PL_PER_L, at=now, now=now)
        notice = soup_of(staff.get("/waste/containers/W-1/")).find("p", class_="notice")
        return " ".join(notice.get_text().split()), notice["class"]

    assert said(9) == ("Nearly full: have it picked up, or connect an empty one.", ["notice", "attention"])
    assert said(10) == ("Full: connect an empty one, and have it picked up.", ["notice", "stop"])
