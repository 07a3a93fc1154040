"""Somebody who uses the site over HTTP as a browser without JavaScript does: cookies, forms, redirects, letters.

It stands where the proxy stands: it says that it was asked over https where the site is served so.
"""

from __future__ import annotations

import email
import email.policy
import http.client
import re
import time
from dataclasses import dataclass, field
from html import unescape
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode, urljoin, urlsplit

#: Between two letters in one file of Django's file mail backend.
RULE = b"-" * 79
TAG = re.compile(r"<[^>]*>")


@dataclass
class Form:
    """One form of a page, as it would be sent if nobody changed anything."""

    action: str
    method: str
    fields: dict[str, str] = field(default_factory=dict)


class _Reader(HTMLParser):
    """The forms of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._inside = False
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = True
            self.forms.append(Form(given.get("action", ""), given.get("method", "get").lower()))
        elif not self._inside:
            return
        elif tag == "input" and given.get("name") and given.get("type") != "submit":
            ticked = given.get("type") in {"checkbox", "radio"}
            if not ticked or "checked" in given:
                self.forms[-1].fields[given["name"]] = given.get("value", "on" if ticked else "")
        elif tag == "select":
            self._select = given.get("name", "")
        elif tag == "option" and self._select and (self._select not in self.forms[-1].fields or "selected" in given):
            self.forms[-1].fields[self._select] = given.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        elif tag == "select":
            self._select = ""


@dataclass
class Answer:
    """What came back, after all redirects."""

    status: int
    path: str
    text: str
    seconds: float

    def _read(self) -> _Reader:
        reader = _Reader()
        reader.feed(self.text)
        return reader

    @property
    def words(self) -> str:
        """What a person reads in the page's main part."""
        main = self.text.partition("<main")[2].partition(">")[2].partition("</main>")[0] or self.text
        return " ".join(unescape(TAG.sub(" ", main)).split())

    def _forms_to(self, action: str) -> list[Form]:
        """The forms that post to the address ``action`` (its query does not count)."""
        posting = [form for form in self._read().forms if form.method == "post"]
        return [form for form in posting if urlsplit(urljoin(self.path, form.action)).path == action]

    def has_form(self, action: str) -> bool:
        return bool(self._forms_to(action))

    def form(self, action: str) -> Form:
        if found := self._forms_to(action):
            return found[0]
        raise LookupError(f"{self.path} (status {self.status}) has no form that posts to {action}")


class Visitor:
    """A browser profile of its own."""

    def __init__(self, port: int, *, https: bool, patience_s: float = 15.0) -> None:
        self.port, self.https, self.patience_s = port, https, patience_s
        self.cookies: dict[str, str] = {}

    @property
    def origin(self) -> str:
        return f"http{'s' if self.https else ''}://localhost:{self.port}"

    def _ask(self, method: str, path: str, fields: dict[str, str] | None) -> http.client.HTTPResponse:
        headers = {"Host": f"localhost:{self.port}", "Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items())}
        if self.https:
            headers |= {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"}
        body = None
        if fields is not None:
            body = urlencode(fields)
            headers |= {"Content-Type": "application/x-www-form-urlencoded", "Origin": self.origin}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.patience_s)
        connection.request(method, path, body, headers)
        return connection.getresponse()

    def ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> Answer:
        began = time.monotonic()
        for _ in range(6):
            answer = self._ask(method, path, fields)
            text = answer.read().decode()
            for one in answer.headers.get_all("Set-Cookie") or []:
                for name, morsel in SimpleCookie(one).items():
                    self.cookies[name] = morsel.value
            way = answer.headers.get("Location")
            if answer.status not in {301, 302, 303} or way is None:
                return Answer(answer.status, path, text, time.monotonic() - began)
            parts = urlsplit(urljoin(self.origin + path, way))
            method, path, fields = "GET", parts.path + (f"?{parts.query}" if parts.query else ""), None
        raise RuntimeError(f"{path} sends one round in circles")

    def get(self, path: str) -> Answer:
        return self.ask("GET", path)

    def send(self, page: Answer, action: str, **changed: str) -> Answer:
        """Fill in the page's form that goes to ``action`` and send it."""
        return self.ask("POST", action, page.form(action).fields | changed)


@dataclass(frozen=True)
class Posted:
    """A letter as it lies in the folder of the file mail backend."""

    to: str
    subject: str
    text: str
    message_id: str
    second_copy: bool


def read_letter(source: bytes) -> Posted:
    message = email.message_from_bytes(source, policy=email.policy.default)
    body = message.get_body(("plain",))
    return Posted(
        str(message["To"]),
        str(message["Subject"]),
        body.get_content() if body else "",
        str(message["Message-ID"]),
        message["X-Second-Copy"] is not None,
    )


def letters_in(folder: Path) -> list[Posted]:
    """Every letter that was written to ``folder`` so far, the earliest first; one half written is left out."""
    found = []
    for path in sorted(folder.glob("*.log")):
        *whole, _rest = path.read_bytes().split(RULE + b"\n")
        found += [read_letter(source.strip(b"\n")) for source in whole]
    return found
