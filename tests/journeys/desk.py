"""A browser at the desk: where it goes, what it presses, what the page says."""

from __future__ import annotations

import re
from typing import Any


class Desk:
    def __init__(self, page: Any, site: Any) -> None:
        self.page, self.site = page, site

    def go(self, path: str = "/desk/") -> None:
        self.page.goto(self.site.url(path))

    def press(self, name: str, role: str = "button") -> None:
        with self.page.expect_navigation():
            self.page.locator("main").get_by_role(role, name=re.compile(name)).first.click()

    def write(self, **fields: str) -> None:
        """Into the fields of these ids, with - for __ and : for _of_."""
        for name, value in fields.items():
            self.page.locator("main").locator(f'[name="{name.replace("__", "-").replace("_of_", ":")}"]').fill(value)

    def words(self) -> str:
        return re.sub(r"\s+", " ", str(self.page.locator("main").inner_text()))

    def says(self, *patterns: str) -> None:
        words = self.words()
        for pattern in patterns:
            assert re.search(pattern, words), f"{pattern!r} not in {words!r}"
