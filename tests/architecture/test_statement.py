"""The accessibility page claims what tests keep, and nothing else."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from studiodesk.accessibility import CHECKS
from tests.statement import keeps

TESTS = Path(__file__).resolve().parents[1]


def kept(source: str) -> set[str]:
    """The ids in ``@keeps(…)`` over functions that pytest would run."""
    return {
        str(argument.value)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
        for one in node.decorator_list
        if isinstance(one, ast.Call) and isinstance(one.func, ast.Name) and one.func.id == "keeps"
        for argument in one.args
        if isinstance(argument, ast.Constant)
    }


def test_each_claim_is_kept_by_a_test_and_each_such_test_is_claimed() -> None:
    claimed = [check.id for check in CHECKS]
    assert len(claimed) == len(set(claimed))
    found = {one for path in TESTS.rglob("test_*.py") for one in kept(path.read_text(encoding="utf-8"))}
    assert found == set(claimed)


def test_a_claim_says_its_figures_in_whole_sentences() -> None:
    for check in CHECKS:
        for said in check.says:
            assert said.endswith(".") and "%" not in said, said


def test_what_the_page_does_not_say_cannot_be_kept() -> None:
    with pytest.raises(LookupError, match="flying"):
        keeps("axe", "flying")
    assert kept('@keeps("axe")\ndef helper(): ...\n@keeps("html")\ndef test_it(): ...') == {"html"}
