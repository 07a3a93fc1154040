"""The tables of classes and groups."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

TABLES: dict[str, tuple[Any, dict[str, Any]]] = {
    "attendance": (
        _("Who came to a class"),
        {"seat": _("Seat"), "meeting": _("Date"), "came_at": _("Came"), "station": _("Station")},
    ),
    "course": (
        _("Classes"),
        {
            "reference": _("Reference"),
            "title": _("Title"),
            "sort": _("Sort"),
            "tutor": _("Tutor"),
            "heads_most": _("At most"),
            "decided": _("Decided"),
        },
    ),
    "groupstay": (
        _("Groups in the house"),
        {"title": _("Title"), "sort": _("Sort"), "starts": _("From"), "ends": _("Until"), "heads": _("Heads")},
    ),
    "hire": (
        _("Groups that hire"),
        {"organisation": _("Group"), "heads": _("Heads"), "quote_minor": _("Quote"), "agreed_at": _("Agreed")},
    ),
    "meeting": (_("Dates of classes"), {"course": _("Class"), "stay": _("When"), "tally": _("Dropped in")}),
    "outline": (
        _("Course outlines"),
        {
            "code": _("Code"),
            "name": _("Outline"),
            "meetings": _("Dates"),
            "length_minutes": _("Minutes"),
            "heads_most": _("At most"),
            "retired_at": _("Given up"),
        },
    ),
    "outlineneed": (
        _("What outlines need"),
        {"outline": _("Outline"), "kind": _("Kind"), "process": _("Process"), "number": _("How many")},
    ),
    "outlinepaper": (
        _("Paper of outlines"),
        {"outline": _("Outline"), "width_mm": _("mm"), "height_mm": _("by mm"), "sheets_a_head": _("Sheets a head")},
    ),
    "place": (
        _("Places in classes"),
        {
            "reference": _("Reference"),
            "course": _("Class"),
            "member": _("Member"),
            "heads": _("Heads"),
            "state": _("Stands"),
            "until": _("Kept until"),
        },
    ),
    "privateneed": (_("Private needs"), {"place": _("Place"), "said_at": _("Said")}),
    "seat": (_("Seats in classes"), {"course": _("Class"), "number": _("Seat"), "place": _("Place")}),
}
