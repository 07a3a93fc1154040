"""Where the project's files are, for the tests of its laws.  Nothing here imports the product."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PRODUCT = ("studiodesk", "studiodesk_site")
#: Folders that a build or a run makes; none of them is ours to judge.
MADE = {".git", ".venv", "__pycache__", "node_modules", "staticfiles", "var", "pictures"}
MADE_SUFFIX = ("_cache", ".egg-info")


@dataclass(frozen=True)
class Finding:
    """One breach: where, and what in plain words."""

    where: str
    line: int
    what: str

    def __str__(self) -> str:
        return f"{self.where}:{self.line}: {self.what}"


def listed(findings: list[Finding]) -> str:
    """The findings one a line, for an assertion's message."""
    return "\n" + "\n".join(map(str, findings))


def files(suffixes: tuple[str, ...], under: tuple[str, ...] = (".",)) -> Iterator[Path]:
    """Every file of the work tree with one of ``suffixes`` below the named folders, made ones left out, in order."""
    for folder in under:
        for path in sorted((ROOT / folder).rglob("*")):
            inside = path.relative_to(ROOT).parts
            if any(part in MADE or part.endswith(MADE_SUFFIX) or part.startswith(".hypothesis") for part in inside):
                continue
            if path.is_file() and path.name.endswith(suffixes):
                yield path


def name_of(path: Path) -> str:
    """The path as it is named in the laws: relative to the project, with slashes."""
    return path.relative_to(ROOT).as_posix()


def product_sources() -> Iterator[tuple[str, str]]:
    """(name, source) of every Python file that is shipped, migrations left out."""
    for path in files((".py",), PRODUCT):
        name = name_of(path)
        if "/migrations/" not in name:
            yield name, path.read_text(encoding="utf-8")


def product_trees() -> Iterator[tuple[str, ast.Module]]:
    """(name, syntax tree) of every Python file that is shipped, migrations left out."""
    for name, source in product_sources():
        yield name, ast.parse(source, name)


def is_layer(name: str, layer: str) -> bool:
    """True if the file is an area's ``<layer>.py`` or lies in its ``<layer>/`` folder."""
    parts = Path(name).with_suffix("").parts
    return len(parts) >= 3 and parts[0] == "studiodesk" and parts[2] == layer and (len(parts) == 3 or len(parts) == 4)
