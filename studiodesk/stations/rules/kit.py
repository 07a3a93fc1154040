"""How many pieces of an item there may be, and when some of them cannot go.  Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from studiodesk.answers import Refusal

MOST_PIECES = 500
LONGEST_KEPT = 720


def kit_refusal(pieces: int, from_end_minutes: int | None, outlasts_minutes: int) -> Refusal | None:
    """Pieces and minutes as an item may have them; what outlasts a booking does so for half a day at most."""
    minutes = max(from_end_minutes or 0, outlasts_minutes)
    if not 0 <= pieces <= MOST_PIECES or min(from_end_minutes or 0, outlasts_minutes) < 0 or minutes > LONGEST_KEPT:
        return Refusal("stations.kit_out_of_range", {"pieces": MOST_PIECES, "minutes": LONGEST_KEPT, "status": 422})
    return None


def fewer_pieces(held: Sequence[datetime], pieces: int, name: str) -> Refusal | None:
    """Lowering the pieces of an item is refused while one that would go is kept for somebody later on."""
    if held:
        return Refusal("stations.piece_is_held", {"name": name, "pieces": pieces, "until": max(held)})
    return None
