"""Reading the tables of a TOML file key by key, with every problem kept under its key path.  Pure."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Collection, Iterator, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from studiodesk.answers import Refusal

from .problems import Findings, shown

T = TypeVar("T")

_WHERE = re.compile(r"\(at line (\d+), column (\d+)\)")


def decoded(data: bytes, findings: Findings) -> str | None:
    """UTF-8 text, with or without a byte order mark; None with the problem and its line kept."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        findings.wrong(Refusal("upkeep.not_utf8", {"place": 1}), 1)
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = _line_of(data[: error.start])
        start = max(data.rfind(b"\n", 0, error.start), data.rfind(b"\r", 0, error.start)) + 1
        findings.wrong(Refusal("upkeep.not_utf8", {"place": error.start - start + 1}), line)
        return None
    if "\0" in text:
        findings.wrong(Refusal("upkeep.nul"), _line_of(text[: text.index("\0")].encode()))
        return None
    return text


def _line_of(before: bytes) -> int:
    return before.count(b"\n") + before.count(b"\r") - before.count(b"\r\n") + 1


def toml_of(data: bytes, findings: Findings) -> dict[str, Any] | None:
    """The whole file as Python values, its decimals as ``Decimal``; None with the problem kept."""
    text = decoded(data, findings)
    if text is None:
        return None
    try:
        return tomllib.loads(text.replace("\r\n", "\n"), parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        where = _WHERE.search(str(error))
        line, place = (int(where[1]), int(where[2])) if where else (text.count("\n") + 1, 0)
        detail = _WHERE.sub("", str(error)).strip()
        findings.wrong(Refusal("upkeep.not_toml", {"place": place, "detail": shown(detail)}), line)
    except (RecursionError, ValueError, ArithmeticError) as error:  # tables too deep, numbers too long
        findings.wrong(Refusal("upkeep.not_toml", {"place": 0, "detail": type(error).__name__}))
    return None


class Keys:
    """One table: keys are taken out one by one, what nobody took is named in a warning by ``close``."""

    def __init__(self, table: dict[str, Any], path: str, findings: Findings) -> None:
        self.table, self.path, self.findings = table, path, findings
        self._taken: set[str] = set()

    def at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def has(self, key: str) -> bool:
        return key in self.table

    def takes(self, key: str) -> bool:
        """True once somebody read this key: it is one that the format knows."""
        return key in self._taken

    def wrong(self, key: str, code: Refusal) -> None:
        self.findings.wrong(code, column=self.at(key))

    def needed(self, key: str, parse: Callable[[Any], T], instead: T) -> T:
        """The key's value; a missing or wrong one is a problem, and ``instead`` keeps the reading going."""
        self._taken.add(key)
        if key not in self.table:
            self.wrong(key, Refusal("upkeep.missing_key"))
            return instead
        value = self.findings.read(parse, self.table[key], column=self.at(key))
        return instead if value is None else value

    def optional(self, key: str, parse: Callable[[Any], T], default: T) -> T:
        """The key's value, or ``default`` if it is left out (or wrong, with the problem kept)."""
        self._taken.add(key)
        if key not in self.table:
            return default
        value = self.findings.read(parse, self.table[key], column=self.at(key))
        return default if value is None else value

    def listed(self, key: str, parse: Callable[[Any], T]) -> tuple[T, ...]:
        """A list of values; one value alone stands for a list of one."""
        self._taken.add(key)
        values = self.table.get(key, [])
        if not isinstance(values, list):
            values = [values]
        read = [
            self.findings.read(parse, value, column=f"{self.at(key)}[{number}]")
            for number, value in enumerate(values, 1)
        ]
        return tuple(value for value in read if value is not None)

    def table_of(self, key: str) -> Keys:
        """A table inside this one; empty if it is missing."""
        self._taken.add(key)
        inner = self.table.get(key, {})
        if not isinstance(inner, dict):
            self.wrong(key, Refusal("upkeep.not_a_table", {"key": key}))
            inner = {}
        return Keys(inner, self.at(key), self.findings)

    def tables(self, key: str) -> Iterator[Keys]:
        """The tables of an array of tables, ``[[key]]``, counted from 1."""
        self._taken.add(key)
        inner = self.table.get(key, [])
        if not isinstance(inner, list) or not all(isinstance(one, dict) for one in inner):
            self.wrong(key, Refusal("upkeep.not_tables", {"key": key}))
            return
        for number, one in enumerate(inner, 1):
            keys = Keys(one, f"{self.at(key)}[{number}]", self.findings)
            yield keys
            keys.close()

    def close(self, known: Collection[str] = ()) -> None:
        for key in self.table:
            if key not in self._taken and key not in known:
                self.findings.warn(Refusal("upkeep.unknown_key", {"key": shown(key)}), column=self.at(shown(key)))


def twice(tables: str, codes: Sequence[str], findings: Findings, *, key: str = "code") -> None:
    """Refuse a code (or another ``key``) that two of ``[[tables]]`` share."""
    first: dict[str, int] = {}
    for number, code in enumerate(codes, 1):
        if code and first.setdefault(code, number) != number:
            other = f"{tables}[{first[code]}]"
            findings.wrong(
                Refusal("upkeep.code_twice", {"what": code, "other": other}), column=f"{tables}[{number}].{key}"
            )
