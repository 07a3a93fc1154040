"""``[[kit]]`` of a studio's file: what bookings can take along.  Pure."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial

from studiodesk.stations.rules import LONGEST_KEPT, MOST_PIECES

from . import cells
from .keys import Keys, twice
from .people_file import one_of_known
from .plan import KitPlan
from .problems import Findings

SORTS = (
    "lens",
    "negative carrier",
    "masking frame",
    "grain focuser",
    "light box",
    "tank",
    "reel",
    "drying",
    "washing",
    "other",
)
_minutes = partial(cells.whole, least=0, most=LONGEST_KEPT)


def read_kit(root: Keys, kinds: Collection[str], processes: Collection[str], findings: Findings) -> tuple[KitPlan, ...]:
    """``kinds`` of stations and codes of ``processes`` that the file or the database has."""
    throughout: int | None = None
    found = tuple(
        KitPlan(
            code=keys.needed("code", cells.code, ""),
            name=keys.needed("name", cells.text, ""),
            sort=keys.optional("sort", cells.one_of(SORTS), "other"),
            pieces=keys.needed("pieces", partial(cells.whole, least=0, most=MOST_PIECES), 0),
            kinds=tuple(dict.fromkeys(keys.listed("kinds", partial(one_of_known, kinds)))),
            processes=tuple(dict.fromkeys(keys.listed("processes", partial(one_of_known, processes)))),
            from_end_minutes=keys.optional("from_end_minutes", _minutes, throughout),
            outlasts_minutes=keys.optional("outlasts_minutes", _minutes, 0),
        )
        for keys in root.tables("kit")
    )
    twice("kit", [item.code for item in found], findings)
    return found
