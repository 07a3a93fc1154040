"""What a rule answers when it says no.

A rule answers ``None`` (nothing stands in the way) or a ``Refusal``: a code and the facts a sentence needs.
The sentence itself lives in the area's ``words.py``; rules never hold words.  No Django here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NoReturn


@dataclass(frozen=True)
class Refusal:
    """A reason for a no.

    ``code`` is ``"area.reason"`` and must have a sentence in that area's words; ``facts`` holds the named values
    of the sentence (times as aware datetimes, lengths in mm, areas in mm², volumes in pL).
    """

    code: str
    facts: Mapping[str, Any] = field(default_factory=dict)


class Refused(Exception):
    """The one exception of the domain: an act was refused, and nothing was written."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.code)
        self.refusal = refusal


def refuse(code: str, **facts: Any) -> NoReturn:
    """Raise ``Refused`` with this code and these facts."""
    raise Refused(Refusal(code, facts))
