"""The smoke journey: from a manager who comes in by mail to a member's booking, its letter, and its end.

It uses nothing but the running site's pages and the letters that its worker sends, so what it proves is that web,
worker, timer, PostgreSQL and Redis work together.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import urlencode

from scripts.visitor import Answer, Posted, Visitor, letters_in

PASSWORD = "wet hands and dark eyes"  # noqa: S105 - for people whom the journey invents and nobody else
#: In the example's studio: no paper, so no processor and no safety note; the house is open then on six days a week.
WISH = {"station": "S1", "begins": "14:00", "until": "15:00"}
REFERENCE = re.compile(r"<dd>([A-Z0-9-]{4,})</dd>")
LINK = re.compile(r"https?://[^/\s]+(/password/\S+/)")
OWN_PAGE = re.compile(r"/bookings/\d+/")


class Unwell(Exception):
    """What was expected did not come; the sentence says what."""


@dataclass
class Journey:
    """``patience_s``: how long one letter may take; ``today``: where the search for a free time begins."""

    port: int
    https: bool
    mail: Path
    today: date
    say: Callable[[str], None]
    patience_s: float = 90.0

    def visitor(self) -> Visitor:
        return Visitor(self.port, https=self.https)

    def well(self, true: object, what: str, answer: Answer) -> None:
        if not true:
            raise Unwell(f"{what}: {answer.path} answered {answer.status}\n{answer.words[:2000]}")

    def letter(self, what: str, wanted: Callable[[Posted], bool]) -> Posted:
        """Wait for the first letter that is ``wanted``, and say how long it took."""
        began = time.monotonic()
        while True:
            if found := next(filter(wanted, letters_in(self.mail)), None):
                self.say(f"{what}: “{found.subject}” after {time.monotonic() - began:.1f} s")
                return found
            if time.monotonic() - began > self.patience_s:
                raise Unwell(f"{what}: no such letter in {self.patience_s:.0f} s")
            time.sleep(0.1)

    def moves_in(self, address: str) -> Visitor:
        """Follow the invitation's link, set a password, log out, and log in with it."""
        invitation = self.letter("invitation", lambda one: one.to == address and bool(LINK.search(one.text)))
        link = LINK.search(invitation.text)
        assert link is not None  # noqa: S101 - the line above asked for it
        visitor = self.visitor()
        page = visitor.get(link[1])
        self.well(page.status == 200, "the link of the invitation", page)
        home = visitor.send(page, page.path, password=PASSWORD)
        self.well(home.path == "/" and home.status == 200, "setting the password", home)
        page = visitor.send(visitor.get("/you/"), "/log-out/")
        page = visitor.get("/log-in/")
        self.well(page.path == "/log-in/", "logging out", page)
        home = visitor.send(page, page.path, email=address, password=PASSWORD)
        self.well(home.path == "/" and home.status == 200, "logging in", home)
        return visitor

    def books(self, visitor: Visitor) -> tuple[str, str]:
        """Book the next free hour of the wish: the path of the booking's page, and its reference."""
        for ahead in range(1, 15):
            query = urlencode(WISH | {"day": str(self.today + timedelta(days=ahead))})
            page = visitor.get(f"/book/?{query}")
            if page.has_form("/book/"):
                break
        else:
            self.well(False, "finding a free time within two weeks", page)
        page = visitor.send(page, "/book/")
        self.well(page.status == 200 and OWN_PAGE.fullmatch(page.path), "booking", page)
        reference = REFERENCE.search(page.text)
        self.well(reference, "reading the booking's reference", page)
        assert reference is not None  # noqa: S101 - the line above asked for it
        self.say(f"booked: {reference[1]} at {page.path}")
        return page.path, reference[1]

    def run(self, *, member: str, manager: str) -> None:
        """All of it; ``Unwell`` says what went wrong."""
        up = self.visitor().get("/up/")
        self.well(up.status == 200, "asking whether the site is up", up)
        ours = self.moves_in(manager)
        page = ours.get("/people/new/")
        page = ours.send(page, page.path, name="Smoke Member", email=member)
        self.well(page.status == 200 and page.path != "/people/new/", "making a place for a member", page)
        theirs = self.moves_in(member)
        path, reference = self.books(theirs)

        def names_it(one: Posted) -> bool:
            return one.to == member and reference in one.text

        confirmed = self.letter("confirmation", names_it)
        page = ours.get(path)
        self.well(page.status == 200, "the house looking at the booking", page)
        page = ours.send(page, f"{path}cancel/")
        self.well(page.status == 200, "the house cancelling it", page)
        self.letter("cancelled", lambda one: names_it(one) and one.message_id != confirmed.message_id)
