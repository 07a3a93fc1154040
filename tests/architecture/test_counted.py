"""The two helpers that keep a run honest, seen from outside: a small suite is run and its output and exit code read."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.counted import read_count

from .tree import ROOT

SUITE = """
import pytest
from tests import notrun

def test_one(): pass
def test_two(): pass

@pytest.fixture
def server():
    notrun.missing("postgres", "no server at nowhere")

def test_three(server): pass
def test_four(server): pass
"""


def run(
    folder: Path, *arguments: str, count: str = "2\n", suite: str = SUITE, **environment: str
) -> tuple[int, list[str]]:
    """Exit code and printed lines of pytest over ``suite`` in ``folder``, with ``count`` as the number kept."""
    (folder / "suite").mkdir()
    (folder / "suite/test_small.py").write_text(suite, encoding="utf-8")
    (folder / "count.txt").write_text(count, encoding="utf-8")
    (folder / "pytest.ini").write_text(
        "[pytest]\ntestpaths = suite\nexpected_count = count.txt\naddopts = --import-mode=importlib\n", encoding="utf-8"
    )
    kept = {name: value for name, value in os.environ.items() if name not in {"CI", "STUDIODESK_REQUIRE"}}
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-p",
            "tests.notrun",
            "-p",
            "tests.counted",
            "-p",
            "no:cacheprovider",
            *arguments,
        ],
        cwd=folder,
        env={**kept, "PYTHONPATH": str(ROOT), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout.strip().splitlines()


def test_what_was_not_run_is_said_just_before_the_closing_line(tmp_path):
    code, lines = run(tmp_path)
    assert code == 0
    assert lines[-2] == "not run: PostgreSQL (no server at nowhere): 2 tests"
    assert "2 passed, 2 skipped" in lines[-1]


def test_a_required_part_that_is_missing_fails(tmp_path):
    code, lines = run(tmp_path, STUDIODESK_REQUIRE="redis postgres")
    assert code == 1
    assert "2 passed, 2 errors" in lines[-1]
    assert any(
        "required by STUDIODESK_REQUIRE but missing: PostgreSQL (no server at nowhere)" in line for line in lines
    )


def test_a_misspelt_requirement_is_refused(tmp_path):
    code, _ = run(tmp_path, STUDIODESK_REQUIRE="postgress")
    assert code == 4


def test_fewer_tests_than_before_fail_and_say_so_before_the_closing_line(tmp_path):
    code, lines = run(tmp_path, count="1\n3  more\n", CI="true")
    assert code == 1
    assert "2 passed, 2 skipped, 1 error" in lines[-1]
    assert any(line.startswith("2 tests ran, 3 ran before.") for line in lines)


def test_as_many_tests_as_before_pass(tmp_path):
    code, lines = run(tmp_path, count="3\n2  one went with the old search\n", CI="true")
    assert code == 0
    assert "error" not in lines[-1]


def test_a_fall_without_a_reason_fails(tmp_path):
    code, lines = run(tmp_path, count="3\n2\n", CI="true")
    assert code == 1
    assert any("falls from 3 to 2 without a word why" in line for line in lines)


def test_a_missing_count_fails(tmp_path):
    code, _ = run(tmp_path, count="", CI="true", suite="def test_one(): pass")
    assert code == 0  # an empty log asks for nothing; no file at all is a slip
    (tmp_path / "count.txt").unlink()
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "tests.notrun", "-p", "tests.counted"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "CI": "true", "STUDIODESK_REQUIRE": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "count.txt cannot be read" in done.stdout


@pytest.mark.parametrize(
    "narrowed", [["suite/test_small.py"], ["-k", "one"], ["--deselect", "suite/test_small.py::test_one"]]
)
def test_a_part_of_the_suite_is_not_counted(narrowed, tmp_path):
    code, _ = run(tmp_path, *narrowed, count="99\n", CI="true")
    assert code == 0


def test_nobody_counts_on_a_person_s_own_machine(tmp_path):
    code, _ = run(tmp_path, count="99\n")
    assert code == 0


def test_the_kept_count_can_be_read():
    assert read_count((ROOT / "tests/expected_count.txt").read_text(encoding="utf-8")) > 100
