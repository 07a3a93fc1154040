"""A phone in a person's hand: one page and the things a thumb does with it."""

from __future__ import annotations

import re
from typing import Any

PHONE = {"width": 360, "height": 740, "has_touch": True, "is_mobile": True}

#: A link is within a sentence if words stand beside it in its paragraph.
SMALL = """[...document.querySelectorAll(
    "a[href], button, summary, select, textarea, input:not([type=hidden])")].filter(one => {
  const box = one.getBoundingClientRect();
  if (!box.width || one.closest(".skip")) return false;
  const beside = [...one.parentElement.childNodes].filter(n => n.nodeType === 3).map(n => n.data).join(" ");
  if (one.tagName === "A" && /[a-z]{2}/i.test(beside)) return false;
  return box.height < 24 || box.width < 24;
}).map(one => one.outerHTML.slice(0, 120) + " " + one.getBoundingClientRect().height)"""


class Phone:
    """One page and the things a thumb does with it."""

    def __init__(self, page: Any, site: Any) -> None:
        self.page, self.site = page, site

    def go(self, path: str) -> None:
        self.page.goto(self.site.url(path))

    def tap(self, name: str, role: str = "button") -> None:
        """The one thing that is called so; the answer has come when this returns."""
        what = self.page.locator("main").get_by_role(role, name=re.compile(name)).first
        box = what.bounding_box()
        assert box is not None and box["height"] >= 24 and box["x"] >= 0 and box["x"] + box["width"] <= 360, name
        with self.page.expect_navigation():
            what.tap()

    def unfold(self, name: str) -> None:
        """What is folded away under this name."""
        self.page.locator("main summary:visible").filter(has_text=name).first.tap()

    def fill(self, **fields: str) -> None:
        """Each field by its name in the form, as a person sees it: what is folded away is unfolded first."""
        for name, value in fields.items():
            field = self.page.locator(f"main [name={name}]:not([type=hidden])").first
            while not field.is_visible():
                self.page.locator("main details:not([open]) > summary:visible").first.tap()
            if field.evaluate("one => one.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)

    def words(self) -> str:
        assert self.page.evaluate("document.documentElement.scrollWidth") <= 360, self.page.url
        return re.sub(r"\s+", " ", str(self.page.locator("body").inner_text()))

    def says(self, *patterns: str) -> None:
        words = self.words()
        for pattern in patterns:
            assert re.search(pattern, words), f"{pattern!r} not in {words!r}"

    def small_targets(self) -> list[str]:
        """What a thumb misses: less than 24 px high or wide (WCAG 2.2, success criterion 2.5.8, minimum).

        Left out is what the criterion leaves out: links within a sentence.
        """
        return list(self.page.evaluate(SMALL))
