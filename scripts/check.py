"""``make check``: every check that reads the project and runs no test of its behaviour, one line each.

Usage: ``.venv/bin/python scripts/check.py [STEP …]`` (all steps without a name; ``--list`` names them).  Each step runs
to its end whatever the others said; what a step printed is shown only when it failed.  Exit code 0 or 1.
"""

from __future__ import annotations

import os
import secrets
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BIN = Path(sys.executable).parent
PYTHON = [sys.executable]
LAWS = [*PYTHON, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
#: The laws that are read from the source alone; the other tests of that folder need a database.
LAW_FILES = [
    f"tests/architecture/test_{what}.py" for what in ("files", "laws_of_code", "laws_of_pages", "only_actions_write")
]
MADE = {".venv", ".git", "node_modules", "staticfiles", "var"}


@dataclass(frozen=True)
class Step:
    """``commands`` run one after the other until one fails; ``words`` is what the step stands for."""

    words: str
    commands: Sequence[Sequence[str]]
    environment: Mapping[str, str] = field(default_factory=dict)


def tool(name: str, *arguments: str) -> list[str]:
    return [str(BIN / name), *arguments]


def pure_files() -> list[str]:
    """What mypy holds to its strict rules: the sums and decisions, which know no Django."""
    places = ("studiodesk/*/rules.py", "studiodesk/*/rules/**/*.py", "studiodesk/timekeeping/**/*.py")
    found = {path for place in places for path in ROOT.glob(place)}
    found |= {ROOT / "studiodesk/answers.py", ROOT / "studiodesk/units.py", ROOT / "studiodesk/parts.py"}
    found.add(ROOT / "studiodesk/manner.py")
    return [str(path.relative_to(ROOT)) for path in sorted(found)]


def templates() -> list[str]:
    found = (path.relative_to(ROOT) for path in ROOT.glob("studiodesk/**/*.html"))
    return [str(path) for path in sorted(found) if not MADE & set(path.parts)]


def steps(scratch: Path) -> dict[str, Step]:
    """All steps by name; ``scratch`` is an empty folder for what they make."""
    store = {
        "DATABASE_URL": f"sqlite:///{scratch / 'check.sqlite3'}",
        "STUDIODESK_SECRET_KEY": secrets.token_urlsafe(64),
    }
    production = {**store, "STUDIODESK_HTTPS": "1", "STUDIODESK_HOSTS": "studio.example.org", "STUDIODESK_DEBUG": ""}
    manage = [*PYTHON, "manage.py"]
    formatted = [tool("djade", "--check", "--target-version", "5.2", *templates())] if templates() else []
    return {
        "lint": Step("ruff finds nothing", [tool("ruff", "check", ".")]),
        "format": Step("Python is formatted", [tool("ruff", "format", "--check", ".")]),
        "types": Step("mypy strict: rules, timekeeping, answers, units", [tool("mypy", *pure_files())]),
        "imports": Step("imports run downward", [tool("lint-imports", "--no-logo")]),
        "templates": Step("templates are formatted", formatted),
        "messages": Step("every sentence is translated, and fits", [[*PYTHON, "scripts/messages.py", "check"]]),
        "security": Step(
            "bandit finds nothing",
            [tool("bandit", "-q", "-r", "-c", "pyproject.toml", "studiodesk", "studiodesk_site")],
        ),
        "migrations": Step(
            "no migration is missing, one leaf",
            [
                [*manage, "makemigrations", "--check", "--dry-run"],
                [*LAWS, "tests/architecture/test_files.py", "-k", "leaf"],
            ],
            store,
        ),
        "deploy": Step(
            "production settings are sound",
            [[*manage, "check", "--deploy", "--fail-level", "WARNING"]],
            production,
        ),
        "laws": Step("the laws of the house hold", [[*LAWS, *LAW_FILES]], store),
    }


def run(step: Step) -> str | None:
    """What a failed command printed, or None if all went well."""
    environment = {**os.environ, **step.environment}
    for command in step.commands:
        done = subprocess.run(
            command, cwd=ROOT, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
        )
        if done.returncode:
            shown = " ".join(command[:6]) + (" …" if len(command) > 6 else "")
            return f"$ {shown}\n{done.stdout}{done.stderr}".rstrip()
    return None


def main(names: Sequence[str]) -> int:
    with tempfile.TemporaryDirectory(prefix="studiodesk-check-") as scratch:
        known = steps(Path(scratch))
        if names == ["--list"]:
            print("\n".join(f"{name:<12}{step.words}" for name, step in known.items()))
            return 0
        if unknown := [name for name in names if name not in known]:
            print(f"No such step: {', '.join(unknown)}. There are: {', '.join(known)}.", file=sys.stderr)
            return 2
        failed = []
        for name in names or known:
            began = time.perf_counter()
            said = run(known[name])
            word = "FAIL" if said is not None else "ok"
            print(f"{word:<5}{name:<12}{known[name].words:<50}{time.perf_counter() - began:6.1f} s", flush=True)
            if said is not None:
                failed.append(name)
                print("     " + said.replace("\n", "\n     "), flush=True)
    print(f"check: {'all well' if not failed else 'failed: ' + ', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
