"""A member's booking from the log-in to the letters, wholly in German: no English word has to be known or is met."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core import mail
from django.utils import timezone

from studiodesk import letters
from studiodesk.bookings.models import Booking
from studiodesk.journal.actions import send_due_notices
from studiodesk.people.models import Member

from .conftest import page_of
from .people import PASSWORD

on_one_engine = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)


@on_one_engine
@pytest.mark.parametrize("javascript", [True, False], ids=["with-javascript", "without-javascript"])
def test_a_member_books_gives_back_and_is_written_to_in_german(
    site: Any, browser: Any, javascript: bool, outbox: Any
) -> None:
    page = page_of(browser, javascript=javascript, width=360, height=740)  # a browser that asks for English
    page.goto(site.url("/log-in/"))
    page.get_by_role("button", name="Deutsch").click()
    page.get_by_label("E-Mail-Adresse").fill("member@example.org")
    page.get_by_label("Passwort").fill(PASSWORD)
    page.get_by_role("button", name="Anmelden").click()
    page.wait_for_url(site.url("/"))
    # The account has not chosen yet: this browser has, and the choice goes into the account with the next press.
    page.get_by_role("button", name="Deutsch").click()
    page.wait_for_load_state()
    assert Member.objects.get(email="member@example.org").language == "de"

    page.goto(site.url("/safety/P-RC/"))
    page.get_by_role("button", name="Ich habe das gelesen").click()
    page.wait_for_load_state()
    page.goto(site.url("/"))
    page.get_by_role("link", name="Zeit finden").last.click()
    page.get_by_label("Ab welchem Tag?").fill("2026-11-27")
    page.get_by_label(re.compile("Nicht vor welcher Uhrzeit")).fill("18:00")
    page.get_by_role("button", name="Freie Zeiten zeigen").click()
    page.wait_for_load_state()
    assert "Freitag, 27. November 2026" in page.locator("main").inner_text()
    page.locator("main form button.act", has_text="Buchen").first.click()
    page.wait_for_url(re.compile(r"/bookings/\d+/"))
    said = page.locator("main").inner_text()
    assert "Freitag, 27. November 2026" in said and "18:00 bis 20:00" in said, said
    send_due_notices(now=timezone.now(), render=letters.render)
    page.get_by_role("button", name="Diese Buchung stornieren").click()
    page.wait_for_load_state()
    assert Booking.objects.get().cancelled_at is not None
    assert "Stornierung" in page.locator("main").inner_text()
    assert page.faults == []

    send_due_notices(now=timezone.now(), render=letters.render)
    assert len(mail.outbox) == 2 and all("Freitag, 27. November" in letter.body for letter in mail.outbox)
    assert not any("Friday" in letter.body for letter in mail.outbox)
