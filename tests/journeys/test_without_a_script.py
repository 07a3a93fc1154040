"""What no other journey walks with JavaScript off: a note put in force and read, a house let, a class signed up for.

Booking, changing, waiting, the door, faults, shifts, sheets, baths, mixing, strips, waste, outlines, the evening
of a class and its guests are walked with JavaScript off in the journeys of their own.
"""

from __future__ import annotations

from typing import Any

import pytest

from studiodesk.classes.models import Hire, Place
from studiodesk.safety.models import SafetyAcknowledgement
from tests.statement import keeps

from .conftest import page_of
from .desk import Desk
from .learning import evening_of, outlined
from .pages import HIRE_ASKED
from .people import log_in


@keeps("plain")
@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_a_note_a_hire_and_a_place_in_a_class_need_no_script(site: Any, browser: Any) -> None:
    course = evening_of(outlined())
    staff, member = (Desk(page_of(browser, javascript=False), site) for _ in range(2))
    log_in(staff.page, site, "staff")
    log_in(member.page, site, "member")

    staff.go("/safety/P-RC/edit/")
    staff.write(news="The eyewash moved.", body="Gloves and goggles. The eyewash is beside the door.")
    staff.press("Put it in force")
    member.go("/safety/P-RC/")
    member.says("The eyewash is beside the door")
    member.press("I have read this")
    read = SafetyAcknowledgement.objects.filter(member__name="Member").get()
    assert "eyewash" in read.note.body

    staff.go(HIRE_ASKED.format(supervisors=3, day=16))
    staff.press("Keep it for them")
    staff.write(amount="480", terms="Paid within 30 days.")
    staff.press("Send the quote")
    staff.press("They agree to the quote")
    assert Hire.objects.get().agreed_at is not None

    member.go(f"/classes/{course.reference}/")
    member.press("^Sign up$")
    member.says("Yours")
    assert Place.objects.get(course=course).state == Place.State.BOOKED
    assert staff.page.faults == member.page.faults == []
