"""The import contracts of pyproject.toml hold, and each of them can break.

``lint-imports`` reads the contracts from pyproject.toml; here it also reads them over a small house that breaks every
one of them, so a contract that has come to say nothing (a renamed file, a wildcard that matches no more) is found.
"""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from .tree import ROOT

LINTER = Path(sys.executable).with_name("lint-imports")

AREAS = ("upkeep", "desk", "planning", "chemistry", "classes", "bookings", "safety", "stations", "people", "journal")
LAYERS = ("urls", "views", "forms", "actions", "queries", "models", "rules", "words")

#: file of the small house → the import that it may not have; one for each contract, in the contracts' order
BREACHES = {
    "An upper area may import": ("people/queries.py", "import studiodesk.desk.queries"),
    "Inside an area": ("safety/rules.py", "import studiodesk.safety.models"),
    "Rules, timekeeping": ("bookings/rules.py", "from django.utils import timezone"),
    "Models know": ("desk/models.py", "import studiodesk.people.queries"),
    "Queries only read": ("chemistry/queries.py", "import studiodesk.stations.actions"),
    "Acts know": ("upkeep/actions.py", "import studiodesk.people.views"),
    "Words hold": ("desk/words.py", "import studiodesk.people.models"),
    "Nobody imports": ("desk/queries.py", "import studiodesk.models"),
}


def contracts() -> list[str]:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return [contract["name"] for contract in settings["tool"]["importlinter"]["contracts"]]


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [LINTER, "--config", ROOT / "pyproject.toml", "--no-cache"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def small_house(folder: Path) -> None:
    """Every area with every layer, empty; pure modules and the site beside them."""
    for package in (
        "studiodesk_site",
        "studiodesk",
        "studiodesk/timekeeping",
        *(f"studiodesk/{area}" for area in AREAS),
    ):
        (folder / package).mkdir(parents=True)
        (folder / package / "__init__.py").touch()
    for area in AREAS:
        for layer in LAYERS:
            (folder / "studiodesk" / area / f"{layer}.py").touch()
    for name in ("answers", "units", "parts", "manner", "models"):
        (folder / "studiodesk" / f"{name}.py").touch()


def test_the_imports_of_the_house_run_downward():
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-1000:]
    assert f"{len(contracts())} kept, 0 broken" in done.stdout


def test_a_house_without_breach_keeps_every_contract(tmp_path):
    small_house(tmp_path)
    done = lint(tmp_path)
    assert f"{len(contracts())} kept, 0 broken" in done.stdout, done.stdout[-4000:]


@pytest.mark.parametrize("contract", contracts())
def test_a_breach_breaks_the_contract_that_forbids_it(contract, tmp_path):
    small_house(tmp_path)
    file, line = next(breach for beginning, breach in BREACHES.items() if contract.startswith(beginning))
    (tmp_path / "studiodesk" / file).write_text(line + "\n", encoding="utf-8")
    done = lint(tmp_path)
    assert done.returncode != 0
    assert f"{contract} BROKEN" in done.stdout, done.stdout[-4000:]
