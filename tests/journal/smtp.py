"""A mail server that takes every letter (RFC 5321, the least of it), or stops answering at a chosen word."""

from __future__ import annotations

import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage


class MailServer(socketserver.ThreadingTCPServer):
    """``hangs``: "greeting" (it takes the connection and says nothing), "taken" (it takes the letter and does not say
    so) or "" (it works).  ``callers`` counts connections, ``letters`` is what it was given."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, hangs: str = "") -> None:
        super().__init__(("127.0.0.1", 0), Conversation)
        self.hangs, self.callers, self.over = hangs, 0, threading.Event()
        self.letters: list[EmailMessage] = []

    @property
    def url(self) -> str:
        return f"smtp://127.0.0.1:{self.server_address[1]}"


class Conversation(socketserver.StreamRequestHandler):
    def say(self, words: str) -> None:
        self.wfile.write(words.encode() + b"\r\n")

    def handle(self) -> None:
        server = self.server
        assert isinstance(server, MailServer)
        server.callers += 1
        if server.hangs == "greeting":
            server.over.wait()
            return
        self.say("220 test")
        for line in self.rfile:
            word = line[:4].upper()
            if word == b"DATA":
                self.say("354 go on")
                server.letters.append(self._letter())
                if server.hangs == "taken":
                    server.over.wait()
                    return
                self.say("250 taken")
            elif word == b"QUIT":
                self.say("221 bye")
                return
            else:  # EHLO, MAIL, RCPT, RSET
                self.say("250 yes")

    def _letter(self) -> EmailMessage:
        lines = []
        for line in self.rfile:
            if line == b".\r\n":
                break
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        letter = message_from_bytes(b"".join(lines), policy=policy.default)
        assert isinstance(letter, EmailMessage)
        return letter


@contextmanager
def mail_server(hangs: str = "") -> Iterator[MailServer]:
    with MailServer(hangs) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.over.set()
            server.shutdown()
            thread.join()
