"""What is said when the database does not answer at all: come back in a moment, and no fault of the program."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.http import Http404
from django.test import Client, RequestFactory

from studiodesk import errors
from tests import engines


@pytest.fixture
def nothing_there(tmp_path: Path) -> Iterator[None]:
    """A database whose folder is gone."""
    before = os.environ.get("DATABASE_URL", "")
    engines.use(f"sqlite:///{tmp_path / 'gone' / 'studio.sqlite3'}")
    yield
    if before:
        engines.use(before)


@pytest.mark.parametrize("path", ["/", "/log-in/", "/find/", "/no-such-page/"])
def test_every_page_says_that_it_will_pass(nothing_there: None, path: str) -> None:
    answer = Client(raise_request_exception=False).get(path)
    assert answer.status_code == 503 and answer["Retry-After"] == "5"
    assert "computer is busy" in answer.content.decode()


def test_another_fault_is_ours() -> None:
    request = RequestFactory().get("/")
    for fault in (ValueError(), Http404()):
        try:
            raise fault
        except Exception:
            answer = errors.server_error(request)
        assert answer.status_code == 500 and "Something broke here" in answer.content.decode()
