"""What somebody can say is wrong with a thing, and when that is a danger.  Pure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

#: In the order of the page.
KINDS = ("lamp", "timer", "focus", "jam", "leak", "fumes", "electric", "other")
#: Leave it, get away, tell the keyholder.
DANGERS = frozenset({"leak", "fumes", "electric"})
#: The house is told once of one thing within this time.
QUIET = timedelta(hours=1)
LONGEST = 200


def written(kind: str, more: str) -> str:
    """One line to keep: the kind, and what was said of it.  ``read`` reads it back."""
    more = " ".join(more.split())
    return f"{kind}: {more}"[:LONGEST] if more else kind


def read(what: str) -> tuple[str, str]:
    """The kind and what was said; whatever was written otherwise is "other"."""
    kind, _colon, more = what.partition(":")
    return (kind, more.strip()) if kind in KINDS else ("other", what.strip())


def is_danger(what: str) -> bool:
    return read(what)[0] in DANGERS


def is_worth_telling(what: str, earlier: Iterable[tuple[datetime, str]], now: datetime) -> bool:
    """``earlier``: when the house was told of this thing, and of what.

    Once an hour is enough, but for a danger that nobody has spoken of yet.
    """
    recent = [said for at, said in earlier if at > now - QUIET]
    return not recent or (is_danger(what) and not any(is_danger(said) for said in recent))
