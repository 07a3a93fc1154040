"""How a note's body is read, and who signs whom off.  No Django.

Paragraphs of a body are parted by an empty line, lines that begin with "- " are a list.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import day_span, studio_day

MOST_DAYS = 3650
MOST_HEADING = 60


@dataclass(frozen=True)
class Block:
    """One paragraph (``lines`` has one text) or one list (``lines`` are its items).

    ``is_heading``: a short paragraph that ends in a colon and whose list follows, such as "Never bring together:".
    """

    is_list: bool
    lines: tuple[str, ...]
    is_heading: bool = False


def blocks(body: str) -> list[Block]:
    """The body in order; nothing of the text is lost, whatever its line ends are."""
    found: list[Block] = []
    gathered: list[str] = []
    as_list = False

    def close() -> None:
        if gathered:
            lines = tuple(gathered) if as_list else (" ".join(gathered),)
            found.append(Block(as_list, lines))
            gathered.clear()

    for raw in body.splitlines():
        line = raw.strip()
        if not line:
            close()
            as_list = False
            continue
        item = line.startswith("- ")
        if item != as_list and not (as_list and raw[:1].isspace()):
            close()
            as_list = item
        if item:
            gathered.append(line[2:].strip())
        elif as_list:  # an indented line goes on with the item above it
            gathered[-1] = f"{gathered[-1]} {line}"
        else:
            gathered.append(line)
    close()
    return [
        replace(block, is_heading=True) if follows is not None and _leads(block, follows) else block
        for block, follows in zip(found, [*found[1:], None], strict=False)
    ]


def _leads(block: Block, follows: Block) -> bool:
    words = block.lines[0]
    return not block.is_list and follows.is_list and words.endswith(":") and len(words) <= MOST_HEADING


def families(process: str, paper: str) -> tuple[str, ...]:
    """Which chemistry a process works with, from its code and paper: "black-and-white", "colour", or both if unsure."""
    words = f"{process} {paper}".casefold().replace("-", "").replace("_", "")
    if "ra4" in words or "colour" in words or "color" in words:
        return ("colour",)
    if {"rc", "fibre", "fiber", "fb", "baryta"} & set(words.split()):
        return ("black-and-white",)
    return ("black-and-white", "colour")


def _of_what(kind: str, kind_known: bool, of_process: bool) -> Refusal | None:
    if bool(kind) == of_process:
        return Refusal("safety.kind_or_process")
    if kind and not kind_known:
        return Refusal("safety.no_such_kind", {"kind": kind[:60]})
    return None


def may_set_need(
    *, kind: str, kind_known: bool, of_process: bool, lasts_days: int | None, by_manager: bool
) -> Refusal | None:
    if not by_manager:
        return Refusal("safety.needs_are_the_managers", {"status": 403})
    if lasts_days is not None and not 1 <= lasts_days <= MOST_DAYS:
        return Refusal("safety.lasts_from_to", {"least": 1, "most": MOST_DAYS})
    return _of_what(kind, kind_known, of_process)


def may_sign_off(
    *, by_tutor: bool, themselves: bool, is_here: bool, kind: str, kind_known: bool, of_process: bool
) -> Refusal | None:
    """Tutors and staff sign others off, never themselves."""
    if not by_tutor:
        return Refusal("safety.tutors_sign_off", {"status": 403})
    if themselves:
        return Refusal("safety.not_for_yourself")
    if not is_here:
        return Refusal("safety.has_left")
    return _of_what(kind, kind_known, of_process)


def runs_out(given_at: datetime, lasts_days: int | None, zone: ZoneInfo) -> datetime | None:
    """The midnight that ends the last local day on which a sign-off holds; None for one that does not run out."""
    if lasts_days is None:
        return None
    return day_span(studio_day(given_at, zone) + timedelta(days=lasts_days), zone).ends
