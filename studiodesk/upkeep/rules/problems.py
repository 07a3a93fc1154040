"""What is wrong with a file, where, and in which words: collected before anything is written.  Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from studiodesk.answers import Refusal, Refused

T = TypeVar("T")

MOST_PROBLEMS = 50
LONGEST_SHOWN = 60


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, or (as a warning) worth a word.

    ``line`` counts the lines of the file from 1 (0: the file as a whole, or TOML, which has key paths instead).
    ``column`` is the column of a CSV file or the key path of a TOML file, "" if it is about the whole line.
    """

    file: str
    reason: Refusal
    line: int = 0
    column: str = ""


class FileRefused(Refused):
    """A file was refused and nothing of it was written; ``problems`` says why, up to the first fifty."""

    def __init__(self, file: str, problems: Sequence[Problem], more: int = 0) -> None:
        super().__init__(Refusal("upkeep.file_refused", {"file": file}))
        self.file, self.problems, self.more = file, tuple(problems), more


@dataclass
class Findings:
    """Collects the problems and warnings of one file."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)
    more: int = 0

    def clear(self) -> None:
        """Begin again: the act that reads the file is tried once more."""
        self.problems, self.warnings, self.more = [], [], 0

    def wrong(self, reason: Refusal, line: int = 0, column: str = "") -> None:
        """Keep one problem; after the fiftieth only count."""
        if len(self.problems) < MOST_PROBLEMS:
            self.problems.append(Problem(self.file, reason, line, column))
        else:
            self.more += 1

    def warn(self, reason: Refusal, line: int = 0, column: str = "") -> None:
        if len(self.warnings) < MOST_PROBLEMS:
            self.warnings.append(Problem(self.file, reason, line, column))

    def read(self, parse: Callable[[Any], T], value: Any, line: int = 0, column: str = "") -> T | None:
        """``parse(value)``, or None with the problem kept."""
        try:
            return parse(value)
        except Refused as refused:
            self.wrong(refused.refusal, line, column)
            return None

    def stop_if_wrong(self) -> None:
        """Raise ``FileRefused`` if anything is wrong so far."""
        if self.problems:
            ordered = sorted(self.problems, key=lambda problem: problem.line)
            raise FileRefused(self.file, ordered, self.more)


def shown(value: object) -> str:
    """A value of a file as a sentence can quote it: short, on one line, nothing that a terminal would obey."""
    text = str(value)
    if len(text) > LONGEST_SHOWN:
        text = text[: LONGEST_SHOWN - 1] + "…"
    return "".join(sign if sign.isprintable() else f"\\x{ord(sign):02x}" for sign in text)
