"""Length of files, one migration leaf, and nothing shipped that reaches beside the project."""

import ast
import re

from .tree import Finding, files, listed, name_of

LONGEST = 300
#: Written in two pieces: this file is itself one of those that are read.
BESIDE = re.compile(r"(\.\./|/work/)" + "shared|/work/" + "main")


#: A migration is written by makemigrations and is never edited once it has run somewhere: nobody could split it.
WRITTEN_BY_A_MACHINE = re.compile(r"studiodesk/migrations/\d{4}_\w+\.py")


def too_long(name: str, source: str) -> list[Finding]:
    if WRITTEN_BY_A_MACHINE.fullmatch(name):
        return []
    lines = source.count("\n") + (not source.endswith("\n") and bool(source))
    return [Finding(name, lines, f"{lines} lines, more than {LONGEST}: split it by noun")] if lines > LONGEST else []


def test_no_file_is_longer_than_300_lines():
    found = [
        finding
        for path in files((".py", ".html"))
        for finding in too_long(name_of(path), path.read_text(encoding="utf-8"))
    ]
    assert not found, listed(found)


def reaching_beside(name: str, source: str) -> list[Finding]:
    return [
        Finding(name, number, "speaks of a folder that only the workshop has")
        for number, line in enumerate(source.splitlines(), 1)
        if BESIDE.search(line)
    ]


def test_nothing_reaches_beside_the_project():
    suffixes = (
        ".py",
        ".html",
        ".toml",
        ".md",
        ".yaml",
        ".yml",
        ".js",
        ".css",
        ".txt",
        ".csv",
        "Makefile",
        "run",
        "LICENCE",
    )
    found = [
        finding
        for path in files(suffixes)
        for finding in reaching_beside(name_of(path), path.read_text(encoding="utf-8"))
    ]
    assert not found, listed(found)


def leaves(migrations: dict[str, str]) -> list[str]:
    """The migrations (name → source) that no other one depends on: more than one, and two people made them at once."""
    needed = set()
    for source in migrations.values():
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in {"dependencies", "replaces"}:
                for pair in ast.walk(node.value):
                    if (
                        isinstance(pair, ast.Tuple)
                        and len(pair.elts) == 2
                        and ast.unparse(pair.elts[0]) == "'studiodesk'"
                    ):
                        needed.add(ast.literal_eval(pair.elts[1]))
    return sorted(set(migrations) - needed)


def test_the_migrations_have_one_leaf():
    found = {path.stem: path.read_text(encoding="utf-8") for path in files((".py",), ("studiodesk/migrations",))}
    found.pop("__init__", None)
    assert found, "no migration yet"
    assert len(leaves(found)) == 1, leaves(found)


# ---- each checker finds what it should -----------------------------------------------------------------------------


def test_the_checker_finds_a_long_file_by_one_line():
    assert too_long("sample.py", "x\n" * LONGEST) == []
    assert len(too_long("sample.py", "x\n" * LONGEST + "x")) == 1
    assert len(too_long("studiodesk/migrations/helper.py", "x\n" * 301)) == 1
    assert too_long("studiodesk/migrations/0001_the_house.py", "x\n" * 301) == []


def test_the_checker_finds_a_reach_beside_the_project():
    assert len(reaching_beside("sample.py", "ok\nopen('../" + "shared/data/studio.toml')")) == 1
    assert reaching_beside("sample.py", "a shared darkroom, shared/ and ../share") == []


def test_the_checker_finds_two_leaves():
    first = "class Migration:\n    dependencies = [('auth', '0012')]"
    second = "class Migration:\n    dependencies = [('studiodesk', '0001_first')]"
    assert leaves({"0001_first": first, "0002_a": second}) == ["0002_a"]
    assert leaves({"0001_first": first, "0002_a": second, "0002_b": second}) == ["0002_a", "0002_b"]
