"""A guest signs up for a class on a phone, mistypes the address, confirms by the letter, and settles who comes."""

from __future__ import annotations

from typing import Any

import pytest

from studiodesk.classes.models import Place, PrivateNeed

from .conftest import page_of
from .learning import evening_of, link_in_letter, outlined
from .phone import PHONE, Phone

#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "phone"),
    [("sqlite", True), ("postgres", False)],
    ids=["sqlite-with-javascript", "postgres-without-javascript"],
    indirect=True,
)


@pytest.fixture
def phone(request: pytest.FixtureRequest, site: Any, browser: Any) -> Any:
    """Somebody without an account, and one class that is announced."""
    evening_of(outlined())
    page = page_of(browser, javascript=request.param, **PHONE)
    yield Phone(page, site)
    assert page.faults == []


def sign_up(phone: Phone, email: str, heads: int = 3) -> None:
    phone.fill(heads=str(heads), name="Kim de Vries", email=email)
    phone.tap("^Sign up$")


def test_from_the_public_page_to_a_smaller_party(phone: Phone, outbox: Any) -> None:
    phone.go("/")
    phone.page.locator(".ways > summary").tap()
    with phone.page.expect_navigation():
        phone.page.get_by_role("navigation").get_by_role("link", name="What is on").tap()
    phone.says("8 places of 8 left", "Wednesday 9 December 2026, 18:00 to 21:00")
    phone.tap("First prints", "link")
    phone.says("60.00 EUR, members 45.00 EUR", "8 of 8 left", "the link in that letter confirms the place")

    # An address that is none is said at once, and what was written stays.
    sign_up(phone, "kim@example")
    phone.says("Your e-mail address: write a whole address, such as name@example.org")
    assert not Place.objects.exists()
    assert [phone.page.locator(f"main [name={name}]").input_value() for name in ("heads", "name", "email")] == [
        "3", "Kim de Vries", "kim@example",
    ]  # fmt: skip

    # One that is somebody else's is seen on the next page: once more, with the right one.
    sign_up(phone, "kim@example.net")
    phone.says("Look in your mail", "kim@example.net", "within two hours is free again", "Is the address wrong")
    phone.tap("Sign up once more", "link")
    sign_up(phone, "kim@example.org")
    phone.says("Look in your mail", "kim@example.org")
    assert "places/of" not in phone.page.content(), "the link is in the letter alone"

    phone.go(link_in_letter(outbox, "kim@example.org", "Please confirm"))
    phone.says("Not confirmed yet, until Wednesday 25 November 2026, 16:0", "3 people", "180.00 EUR")
    phone.tap("Confirm this place")
    phone.says("Confirmed: the place is yours.", "Yours")

    phone.fill(words="Allergic to metol")
    phone.tap("Tell the tutor")
    phone.says("Kept for the tutor.")
    assert PrivateNeed.objects.get().words == "Allergic to metol"
    phone.fill(name_1="Kim", name_2="Loïs 李")
    phone.tap("Keep these names")
    phone.says("Kept.")
    phone.fill(heads="4")
    phone.tap("Fewer of us come")
    phone.says("This place is for 3 people; it can only become smaller.")
    assert phone.page.locator("main [name=heads]").input_value() == "4"
    phone.fill(heads="2")
    phone.tap("Fewer of us come")
    phone.says("Kept; the other places are free again.", "2 people", "120.00 EUR")
    kept = Place.objects.get(email="kim@example.org")
    assert [seat.name for seat in kept.seats.order_by("number")] == ["Kim", "Loïs 李"]
    assert phone.page.locator("main [name=words]").input_value() == "Allergic to metol"

    # What was asked for with the wrong address still waits for its letter; the line of the class counts it.
    phone.tap("About this class", "link")
    phone.says("3 of 8 left")


def test_the_address_is_put_right_on_the_page_and_the_link_before_opens_nothing(phone: Phone, outbox: Any) -> None:
    phone.go("/classes/")
    phone.tap("First prints", "link")
    sign_up(phone, "work@example.org", heads=1)
    first = link_in_letter(outbox, "work@example.org", "Please confirm")
    phone.go(first)
    phone.page.get_by_text("The address is wrong").tap()
    phone.fill(email="home@example")
    phone.tap("Write to this one")
    phone.says("The right address: write a whole address")
    phone.fill(email="home@example.org")
    phone.tap("Write to this one")
    phone.says("The link is on its way to the right address")
    assert phone.page.goto(phone.site.url(first)).status == 404
    phone.go(link_in_letter(outbox, "home@example.org", "Please confirm"))
    phone.tap("Confirm this place")
    phone.says("Yours")
    phone.unfold("Give the place back")
    phone.tap("Yes, give it back")
    phone.says("Given back")
    place = Place.objects.get()
    assert (place.state, place.was_late, place.email) == ("ended", False, "home@example.org")


def test_no_page_on_the_way_has_a_target_that_a_thumb_misses(phone: Phone, outbox: Any) -> None:
    small = []

    def look() -> None:
        assert phone.words(), phone.page.url
        small.extend(f"{phone.page.url}: {one}" for one in phone.small_targets())

    phone.go("/classes/")
    look()
    phone.tap("First prints", "link")
    look()
    sign_up(phone, "kim@example.org")
    look()
    phone.go(link_in_letter(outbox, "kim@example.org", "Please confirm"))
    look()
    phone.tap("Confirm this place")
    look()
    assert small == []
