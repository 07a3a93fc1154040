"""How a note's body is read: paragraphs parted by an empty line, lines that begin with "- " are a list.  No Django."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Block:
    """One paragraph (``lines`` has one text) or one list (``lines`` are its items)."""

    is_list: bool
    lines: tuple[str, ...]


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
    return found


def families(process: str, paper: str) -> tuple[str, ...]:
    """Which chemistry a process works with, from its code and paper: "black-and-white", "colour", or both if unsure."""
    words = f"{process} {paper}".casefold().replace("-", "").replace("_", "")
    if "ra4" in words or "colour" in words or "color" in words:
        return ("colour",)
    if {"rc", "fibre", "fiber", "fb", "baryta"} & set(words.split()):
        return ("black-and-white",)
    return ("black-and-white", "colour")
