"""Both databases, a named cast, and the settings that tests need."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studiodesk_site.settings")
os.environ.setdefault("STUDIODESK_SECRET_KEY", "only-for-tests-" + "x" * 50)

import django
import pytest
import time_machine
from django.conf import settings
from django.db import connections, transaction
from django.test.utils import setup_test_environment, teardown_test_environment

from tests import notrun

pytest_plugins = ["tests.notrun", "tests.counted", "tests.cast", "tests.brokers"]


def pytest_configure(config: pytest.Config) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    django.setup()
    setup_test_environment()


def pytest_unconfigure(config: pytest.Config) -> None:
    teardown_test_environment()


@pytest.fixture(scope="session", params=["sqlite", "postgres"])
def engine(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The database engine; every test that asks for it, or for ``db`` or ``fresh_db``, runs once on each."""
    from tests import engines

    started = engines.start(request.param, tmp_path_factory.mktemp(request.param))
    yield started
    started.close()


@pytest.fixture(scope="session")
def _shared_copy(engine: Any) -> Iterator[str]:
    with engine.copy() as url:
        yield url


@pytest.fixture
def db(_shared_copy: str) -> Iterator[Any]:
    """A migrated database inside a transaction that is rolled back at the end."""
    from tests import engines

    if os.environ.get("DATABASE_URL") != _shared_copy:
        engines.use(_shared_copy)
    atomic = transaction.atomic()
    atomic.__enter__()
    try:
        yield connections["default"]
    finally:
        transaction.set_rollback(True)
        atomic.__exit__(None, None, None)


@pytest.fixture
def fresh_db(engine: Any) -> Iterator[str]:
    """A database of its own with real commits; gives its address, also in ``DATABASE_URL`` for children."""
    with engine.copy() as url:
        yield url


@pytest.fixture
def clock_at() -> Any:
    """``with clock_at(moment):`` the clock of this process stands at it and goes on from there."""
    return lambda moment: time_machine.travel(moment, tick=True)


@pytest.fixture
def outbox() -> Any:
    from django.core import mail

    mail.outbox = []
    return mail.outbox


__all__ = ["notrun"]
