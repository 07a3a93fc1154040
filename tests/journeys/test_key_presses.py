"""A keyboard user books a time that is known to them, counted key by key from their first page (bar.md: at most 25)."""

from __future__ import annotations

import re
from typing import Any

import pytest

from studiodesk.accessibility import MOST_KEYS as MOST
from studiodesk.bookings.models import Booking
from tests.brokers import until
from tests.statement import keeps

from .conftest import page_of
from .people import log_in

STANDS = "!location.hash || document.activeElement.id === location.hash.slice(1)"


class Keyboard:
    """Presses keys and counts them; says where the focus is, as a person sees it."""

    def __init__(self, page: Any) -> None:
        self.page, self.pressed = page, 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.pressed += 1

    def enter(self, leads_to: str) -> None:
        self.press("Enter")
        self.page.wait_for_url(re.compile(leads_to))
        self.page.wait_for_load_state("load")
        # The way of a page begins where its address points; a person presses on once they see the page stand there.
        assert until(lambda: self.page.evaluate(STANDS)), self.page.url

    def tab_to(self, selector: str) -> None:
        """Tab after tab, until that is where the focus is and is seen; the first one may be the way past the top."""
        for _ in range(MOST):
            self.press("Tab")
            if self._stands_on(selector):
                return
            if self._stands_on("a.skip"):
                self.press("Enter")
                # Nobody presses on before they see where they are; a busy browser is not there at once.
                assert until(lambda: self._stands_on("#main")), self.page.url
        raise AssertionError(f"no way to {selector} with the tabulator")

    def _stands_on(self, selector: str) -> bool:
        """A part of a date (its month, its calendar) counts as its field."""
        return bool(self.page.evaluate("what => document.activeElement.matches(what)", selector))


def month_first(browser: Any) -> bool:
    """Whether this browser writes dates month first, by the language it was installed in: one key more."""
    page = page_of(browser)
    page.set_content('<input type="date" value="2026-11-25" aria-label="day">')
    for key in ("Tab", "2", "7"):
        page.keyboard.press(key)
    said = page.get_by_label("day").input_value()
    page.context.close()
    return str(said) != "2026-11-27"


@keeps("keys")
@pytest.mark.parametrize("javascript", [True, False], ids=["with-javascript", "without-javascript"])
@pytest.mark.parametrize(
    ("processor", "choose", "process"),
    [("P-RC", [], "rc"), ("P-CO", ["c"], "ra4")],
    ids=["the first", "another"],
)
def test_a_known_time_is_booked_with_at_most_25_keys(
    site: Any, browser: Any, javascript: bool, processor: str, choose: list[str], process: str
) -> None:
    """Friday the 27th from six to eight: the member has read the note and knows what, when and for how long."""
    page = page_of(browser, javascript=javascript)
    log_in(page, site, "member")
    page.goto(site.url(f"/safety/{processor}/"))
    page.get_by_role("button", name="I have read this").click()
    page.goto(site.url("/"))

    keys = Keyboard(page)
    keys.tab_to("a.act[href='/find/']")
    keys.enter(r"/find/$")
    keys.tab_to("select[name=make]")
    keys.press(*choose)
    keys.tab_to("input[name=day]")
    keys.press(*(["Tab"] if month_first(browser) else []), "2", "7")
    keys.tab_to("input[name=after]")
    keys.press("1", "8", "0", "0")
    keys.enter(r"/find/\?.*after=18")
    keys.tab_to("main form button")
    keys.enter(r"/bookings/\d+/$")

    booking = Booking.objects.get()
    assert (booking.process.code, f"{booking.starts:%d %H:%M}", f"{booking.ends:%d %H:%M}") == (
        process,
        "27 17:00",
        "27 19:00",
    )
    assert keys.pressed <= MOST
    assert page.faults == []
