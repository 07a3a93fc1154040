"""The tables of the house, its bookings, sheets and baths."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

TABLES: dict[str, tuple[Any, dict[str, Any]]] = {
    "bath": (_("Baths"), {"processor": _("Processor"), "code": _("Code"), "name": _("Bath")}),
    "bathentry": (
        _("Written down of the baths"),
        {
            "at": _("When"),
            "bath": _("Bath"),
            "event": _("What"),
            "amount_pl": _("Amount"),
            "recorded_by": _("By"),
            "note": _("Note"),
        },
    ),
    "bathsetting": (
        _("Figures of the baths"),
        {
            "bath": _("Bath"),
            "in_force_from": _("In force from"),
            "dosing": _("Replenished by"),
            "volume_pl": _("Volume"),
            "unit_pl": _("A stroke or measure"),
        },
    ),
    "booking": (
        _("Bookings"),
        {
            "reference": _("Reference"),
            "member": _("Whose"),
            "station": _("Station"),
            "process": _("Process"),
            "starts": _("From"),
            "ends": _("Until"),
            "arrived_at": _("Signed in"),
            "left_at": _("Signed out"),
            "cancelled_at": _("Cancelled"),
        },
    ),
    "closure": (_("Days closed"), {"first_day": _("First day"), "last_day": _("Last day"), "reason": _("Why")}),
    "entry": (
        _("The journal"),
        {
            "happened_at": _("When"),
            "code": _("What"),
            "about": _("Whom or what"),
            "actor": _("By"),
            "tablet": _("Tablet"),
        },
    ),
    "feed": (
        _("Sheets through"),
        {
            "fed_at": _("Went through"),
            "recorded_at": _("Written down"),
            "processor": _("Processor"),
            "sheet": _("Size"),
            "sheets": _("Sheets"),
            "kind": _("What they were"),
            "member": _("Whose"),
        },
    ),
    "fill": (
        _("Tanks, from one bath change to the next"),
        {
            "bath": _("Bath"),
            "began_at": _("Filled"),
            "ended_at": _("Emptied"),
            "area_mm2": _("Through it"),
            "due_pl": _("Replenishment needed"),
            "given_pl": _("Replenishment given"),
        },
    ),
    "givenanswer": (_("Answers to forms, for a second press"), {"given_at": _("When"), "asker": _("Who asked")}),
    "hold": (
        _("Kept times"),
        {"lane": _("Place"), "starts": _("From"), "ends": _("Until"), "cause": _("For"), "booking": _("Booking")},
    ),
    "journalgate": (_("The journal’s lock"), {"open": _("Open")}),
    "keptforecast": (
        _("Forecasts kept"),
        {
            "at": _("Made"),
            "bath": _("Bath"),
            "why": _("Why"),
            "p10": _("Earliest (1 in 10)"),
            "p50": _("About"),
            "p90": _("Latest (1 in 10)"),
            "passed_on": _("Came on"),
            "was_inside": _("Inside"),
        },
    ),
    "lane": (_("Places at stations and processors"), {"resource": _("Belongs to"), "number": _("Number")}),
    "lightzone": (_("Rooms that share a light"), {"name": _("Room")}),
    "member": (
        _("People"),
        {
            "number": _("Number"),
            "name": _("Name"),
            "joined_on": _("Here since"),
            "is_active": _("Comes here"),
            "is_tutor": _("Tutor"),
            "is_keyholder": _("Keyholder"),
            "is_staff": _("Staff"),
            "is_manager": _("Manager"),
        },
    ),
    "notice": (
        _("Letters"),
        {"due_at": _("Due"), "code": _("What"), "person": _("To"), "state": _("State"), "tries": _("Tries")},
    ),
    "openingspan": (
        _("Opening hours"),
        {"weekday": _("Day (Monday is 0)"), "opens_minute": _("Opens, min"), "closes_minute": _("Closes, min")},
    ),
    "process": (_("Processes"), {"code": _("Code"), "name": _("Process"), "paper": _("Paper"), "light": _("Light")}),
    "processor": (
        _("Processors"),
        {
            "code": _("Code"),
            "name": _("Processor"),
            "process": _("Process"),
            "feed_width_mm": _("Widest sheet, mm"),
            "booths_at_once": _("Places"),
        },
    ),
    "resource": (_("What can be kept"), {"id": _("Number"), "sort": _("Station or processor")}),
    "safetyacknowledgement": (
        _("Safety notes read"),
        {"note": _("Note"), "member": _("Read by"), "acknowledged_at": _("When")},
    ),
    "safetynote": (
        _("Safety notes"),
        {"processor": _("Processor"), "version": _("Version"), "title": _("Title"), "published_at": _("In force from")},
    ),
    "sheetsize": (
        _("Sheet sizes"),
        {"code": _("Code"), "name": _("Size"), "width_mm": _("Width, mm"), "length_mm": _("Length, mm")},
    ),
    "station": (
        _("Stations"),
        {
            "code": _("Code"),
            "name": _("Station"),
            "kind": _("Kind"),
            "zone": _("Room"),
            "clear_up_minutes": _("Clear-up, min"),
        },
    ),
    "stripreading": (
        _("Control strips read"),
        {
            "read_at": _("When"),
            "processor": _("Processor"),
            "patch": _("Patch"),
            "channel": _("Filter"),
            "reading": _("Reading"),
        },
    ),
    "studio": (_("The studio"), {"name": _("Name"), "time_zone": _("Time zone"), "currency": _("Currency")}),
    "tablet": (
        _("Tablets"),
        {
            "name": _("Where it hangs"),
            "enrolled_at": _("In use since"),
            "revoked_at": _("Out of use since"),
            "last_used_on": _("Last used"),
        },
    ),
    "zonehold": (
        _("Kept light of shared rooms"),
        {"zone": _("Room"), "light": _("Light"), "starts": _("From"), "ends": _("Until"), "booking": _("Booking")},
    ),
}
