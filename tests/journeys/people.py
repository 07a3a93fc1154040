"""Who the browser logs in as: one person for every role."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from studiodesk.people import actions as people

PASSWORD = "wet hands and dark eyes"
ROLES: dict[str, tuple[str, ...]] = {
    "member": (),
    "friend": (),
    "tutor": ("is_tutor",),
    "keyholder": ("is_keyholder",),
    "staff": ("is_staff",),
    "manager": ("is_staff", "is_manager"),
}


def move_in() -> None:
    """Everybody is a member since January and has chosen the same password."""
    then = datetime(2026, 1, 15, 9, 0, tzinfo=UTC)
    for number, (name, roles) in enumerate(ROLES.items(), 1):
        person = people.make_person(
            number=f"J{number:03}",
            name=name.capitalize(),
            email=f"{name}@example.org",
            joined_on=date(2026, 1, 15),
            now=then,
            roles=roles,
            invite=False,
        )
        people.set_password(person=person, password=PASSWORD, now=then, by=None)


def log_in(page: Any, site: Any, who: str) -> None:
    """Through the log-in page, as a person does it."""
    page.goto(site.url("/log-in/"))
    page.get_by_label("Email").fill(f"{who}@example.org")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(lambda url: "/log-in/" not in url)
