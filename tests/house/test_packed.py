"""Pages go out packed to whoever takes them so, and plain to whoever does not."""

from __future__ import annotations

import gzip
from typing import Any

from django.test import Client


def test_a_page_is_packed_for_a_browser_and_plain_for_others(house: Any) -> None:
    browser = Client().get("/log-in/", headers={"accept-encoding": "gzip, br"})
    plain = Client().get("/log-in/")
    assert browser.headers["Content-Encoding"] == "gzip" and "Accept-Encoding" in browser.headers["Vary"]
    assert "Content-Encoding" not in plain.headers
    assert gzip.decompress(browser.content).count(b"<form") == plain.content.count(b"<form") > 0
    assert len(browser.content) < len(plain.content) / 2


def test_the_same_page_never_has_the_same_length_twice_for_long(house: Any) -> None:
    """The padding that keeps a secret from being guessed by the length of the answer."""
    lengths = {len(Client().get("/log-in/", headers={"accept-encoding": "gzip"}).content) for _ in range(12)}
    assert len(lengths) > 3
