"""What is shipped for running the site for real, and that no request can ever reach Redis.

The compose file is read with PyYAML, a reader that others made; what it must say follows the Compose specification
(compose-spec.io) and, where marked, common practice.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from typing import Any

import pytest
import yaml

from scripts.stack import COMMANDS

from .laws import imported
from .tree import ROOT, product_trees

COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text(encoding="utf-8"))
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = set(COMMANDS)
DOCKERFILE = (ROOT / "Dockerfile").read_text(encoding="utf-8")
EXAMPLE = (ROOT / ".env.example").read_text(encoding="utf-8")
#: A version in full, and never "latest" (common practice).
PINNED = re.compile(r"[a-z/]+:\d+\.\d+\.?\d*(-[a-z]+)*")
ASKED_FOR = re.compile(r"\$\{([A-Z_]+)(:\?[^}]+)?\}")


# ---- the compose file ----------------------------------------------------------------------------------------------


def test_there_are_the_site_in_its_four_parts_its_two_servers_and_a_proxy():
    assert set(SERVICES) == {"proxy", "migrate", "web", "worker", "beat", "postgres", "redis"}
    assert {"migrate", "web", "worker", "beat"} == OURS


@pytest.mark.parametrize("name", sorted(OURS))
def test_a_container_runs_the_very_command_that_the_stack_runs_here(name):
    assert SERVICES[name]["command"] == COMMANDS[name]


@pytest.mark.parametrize("name", sorted(SERVICES))
def test_every_image_is_pinned_by_its_version(name):
    assert PINNED.fullmatch(SERVICES[name]["image"]), SERVICES[name]["image"]


def test_the_image_of_the_site_carries_the_site_s_own_version():
    version = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
    assert {SERVICES[name]["image"] for name in OURS} == {f"studiodesk:{version}"}


def secrets_in(environment: dict[str, Any]) -> list[str]:
    """The names whose value is written down although it is one that nobody else may know."""
    telling = re.compile(r"SECRET|PASSWORD|TOKEN|KEY$")
    written = [
        name
        for name, value in environment.items()
        if telling.search(name) and not re.fullmatch(r"\$\{[A-Z_]+:\?[^}]+\}", str(value))
    ]
    in_address = re.compile(r"://[^:/\s@]*:(?!\$\{)[^/\s@]+@")
    return written + [name for name, value in environment.items() if in_address.search(str(value))]


def test_no_secret_is_written_down_and_without_one_nothing_starts():
    assert [key for service in SERVICES.values() for key in secrets_in(service.get("environment", {}))] == []
    text = (ROOT / "docker-compose.yml").read_text()
    wanted = {name for name, _must in ASKED_FOR.findall(text)}
    assert all(must for _name, must in ASKED_FOR.findall(text)), "a variable that may be forgotten"
    assert wanted == set(re.findall(r"^([A-Z_]+)=$", EXAMPLE, re.MULTILINE)), "each in .env.example, with no value"


def test_a_secret_that_is_written_down_would_be_found():
    assert secrets_in({"POSTGRES_PASSWORD": "abc", "X": "postgres://u:abc@h/n", "Y": "postgres://u:${P:?x}@h/n"}) == [
        "POSTGRES_PASSWORD",
        "X",
    ]


def test_every_service_that_stays_has_a_health_check_and_is_started_again():
    for name, service in SERVICES.items():
        if name == "migrate":
            assert service["restart"] == "no" and service["healthcheck"] == {"disable": True}
        else:
            assert service["restart"] == "unless-stopped"
            assert service["healthcheck"]["test"][0] in {"CMD", "CMD-SHELL"}, name


def test_what_is_to_be_kept_lies_in_a_volume_that_is_declared():
    assert SERVICES["postgres"]["volumes"] == ["database:/var/lib/postgresql/data"]
    used = {volume.split(":")[0] for service in SERVICES.values() for volume in service.get("volumes", [])}
    assert {name for name in used if not name.startswith((".", "/"))} == set(COMPOSE["volumes"])
    assert all((ROOT / name).exists() for name in used if name.startswith("."))


def test_the_site_begins_when_postgresql_is_healthy_and_the_tables_are_made_and_waits_for_no_redis():
    for name in OURS:
        waits = SERVICES[name]["depends_on"]
        assert waits["postgres"] == {"condition": "service_healthy"}
        assert ("migrate" in waits) == (name != "migrate") and "redis" not in waits
    assert SERVICES["web"]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}


def test_nothing_but_the_proxy_can_be_reached_from_outside():
    assert [name for name, service in SERVICES.items() if "ports" in service or "network_mode" in service] == ["proxy"]
    assert COMPOSE["networks"]["inside"] == {"internal": True}
    assert {name for name in SERVICES if "inside" not in SERVICES[name]["networks"]} == {"proxy"}
    for name in ("postgres", "redis", "migrate", "beat"):
        assert SERVICES[name]["networks"] == ["inside"]


def test_the_containers_of_the_site_may_do_little():
    for name in OURS:
        service = SERVICES[name]
        assert service["read_only"] and service["cap_drop"] == ["ALL"] and not service.get("privileged")
        assert service["environment"]["STUDIODESK_HTTPS"] == "1"


def test_every_variable_is_one_that_the_programs_read():
    read = "".join(
        path.read_text() for path in (ROOT / "studiodesk_site/settings.py", ROOT / "deploy/gunicorn.conf.py")
    )
    for name in OURS:
        assert [key for key in SERVICES[name]["environment"] if f'"{key}"' not in read] == []


# ---- the image -----------------------------------------------------------------------------------------------------


def test_the_image_takes_the_locked_packages_with_the_same_uv_as_make():
    uv = re.search(r"^UV_VERSION := (\S+)$", (ROOT / "Makefile").read_text(), re.MULTILINE)
    assert uv and f"uv=={uv[1]}" in DOCKERFILE and "uv sync --frozen --no-dev" in DOCKERFILE
    assert all(PINNED.fullmatch(image) for image in re.findall(r"^FROM (\S+)", DOCKERFILE, re.MULTILINE))


def test_the_image_runs_the_web_server_as_nobody_in_particular_and_is_asked_how_it_is():
    instructions = [line.split()[0] for line in DOCKERFILE.splitlines() if re.match(r"[A-Z]+ ", line)]
    assert "USER studiodesk" in DOCKERFILE and instructions.index("USER") > instructions.index("RUN")
    assert json.loads(DOCKERFILE.rsplit("\nCMD ", 1)[1]) == COMMANDS["web"]
    assert "collectstatic" in DOCKERFILE and "HEALTHCHECK" in instructions


def test_what_the_image_takes_is_let_in_and_nothing_else_is():
    let_in = {line[1:] for line in (ROOT / ".dockerignore").read_text().splitlines() if line.startswith("!")}
    taken = set()
    for line in re.findall(r"^COPY (?!--from)(.+) \S+$", DOCKERFILE, re.MULTILINE):
        taken |= set(line.split())
    assert taken == let_in and "*" in (ROOT / ".dockerignore").read_text().splitlines()
    assert all((ROOT / name).exists() for name in taken)


# ---- whether it is up ----------------------------------------------------------------------------------------------


def healthy(**environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "deploy/healthy.py"], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize(("status", "code"), [(200, 0), (503, 1), (301, 1)])
def test_the_health_check_asks_by_the_site_s_name_over_https_and_believes_only_a_200(status, code):
    import threading
    from http.server import BaseHTTPRequestHandler, HTTPServer

    asked = []

    class Site(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append((self.path, self.headers["Host"], self.headers["X-Forwarded-Proto"]))
            self.send_response(status)
            self.send_header("Location", "http://127.0.0.1:1/")
            self.end_headers()

        def log_message(self, *args: Any) -> None:
            """Nothing: a test's output is its own."""

    with HTTPServer(("127.0.0.1", 0), Site) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        done = healthy(STUDIODESK_BIND=f"0.0.0.0:{server.server_port}", STUDIODESK_HOSTS="studio.example.org,other")
        server.shutdown()
    assert done.returncode == code and asked == [("/up/", "studio.example.org", "https")]


def test_a_site_that_does_not_listen_is_not_healthy():
    done = healthy(STUDIODESK_BIND="0.0.0.0:1")
    assert done.returncode == 1 and "refused" in done.stderr and "Traceback" not in done.stderr


# ---- no request reaches Redis --------------------------------------------------------------------------------------


def reach_redis(trees: list[tuple[str, Any]]) -> set[str]:
    """The files that import Celery, Kombu, Redis or the timetable."""
    telling = re.compile(r"(celery|kombu|redis|studiodesk\.tasks|studiodesk_site\.celery)\b")
    return {name for name, tree in trees for _line, what in imported(tree) if telling.match(what)}


def test_only_the_worker_and_the_tick_command_know_of_celery():
    assert reach_redis(list(product_trees())) == {
        "studiodesk_site/celery.py",
        "studiodesk/tasks.py",
        "studiodesk/management/commands/tick.py",
    }


def test_a_page_that_would_ask_for_a_task_would_be_found():
    import ast

    assert reach_redis([("views.py", ast.parse("from studiodesk.tasks import tick"))]) == {"views.py"}
    assert reach_redis([("views.py", ast.parse("import redis"))]) == {"views.py"}
    assert reach_redis([("views.py", ast.parse("from studiodesk import tasks"))]) == {"views.py"}


def test_the_web_server_s_program_loads_neither_celery_nor_redis():
    asked = (
        "import sys; from studiodesk_site.wsgi import application; from django.urls import get_resolver;"
        "get_resolver().url_patterns; print([n for n in ('celery', 'kombu', 'redis') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
