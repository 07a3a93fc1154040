"""The tables of booking in full: memberships, shifts, kit, rules, the waiting list, faults, the door."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

TABLES: dict[str, tuple[Any, dict[str, Any]]] = {
    "bookingchange": (_("Changes of bookings"), {"booking": _("Booking"), "at": _("When"), "undone_at": _("Undone")}),
    "bookingkit": (_("Kit of bookings"), {"booking": _("Booking"), "item": _("Item"), "pieces": _("Pieces")}),
    "calendarlink": (
        _("Links to calendars"),
        {
            "member": _("Whose"),
            "station": _("Station"),
            "made_at": _("Made"),
            "revoked_at": _("Revoked"),
            "last_used_on": _("Last used"),
        },
    ),
    "chorelease": (_("Chores under way"), {"name": _("Chore"), "until": _("Until"), "last_done_at": _("Last done")}),
    "faultreport": (
        _("Faults reported"),
        {
            "resource": _("Belongs to"),
            "what": _("What"),
            "reported_at": _("When"),
            "reported_by": _("By"),
            "settled_at": _("Settled"),
        },
    ),
    "housekey": (
        _("Keys and fobs"),
        {"code": _("Key"), "sort": _("Sort"), "opens": _("Opens"), "lost_at": _("Lost"), "retired_at": _("Given up")},
    ),
    "houserule": (
        _("Rules of the house"),
        {
            "code": _("Rule"),
            "plan": _("Membership"),
            "value": _("Number"),
            "in_force_from": _("In force from"),
            "set_by": _("Set by"),
        },
    ),
    "keyloan": (
        _("Keys handed out"),
        {"key": _("Key"), "holder": _("To"), "given_at": _("When"), "back_at": _("Came back")},
    ),
    "kititem": (_("Kit"), {"code": _("Code"), "name": _("Item"), "sort": _("Sort"), "pieces": _("Pieces")}),
    "membership": (
        _("Memberships"),
        {"member": _("Whose"), "plan": _("Membership"), "first_day": _("First day"), "last_day": _("Last day")},
    ),
    "membershipplan": (
        _("Kinds of membership"),
        {"code": _("Code"), "name": _("Membership"), "is_day_pass": _("Day pass"), "in_use": _("In use")},
    ),
    "noticechoice": (_("Letters wanted"), {"person": _("Who"), "topic": _("Of what"), "wanted": _("Wanted")}),
    "offer": (
        _("Offers to people who waited"),
        {"wish": _("Wish"), "booking": _("Booking"), "until": _("Stands until"), "answer": _("Answer")},
    ),
    "outage": (
        _("Times out of service"),
        {
            "cause": _("Why"),
            "service": _("Service"),
            "starts": _("From"),
            "ends": _("Until"),
            "reason": _("In words"),
            "made_by": _("By"),
        },
    ),
    "series": (
        _("Series of bookings"),
        {
            "member": _("Whose"),
            "station": _("Station"),
            "process": _("Process"),
            "every_weeks": _("Every … weeks"),
            "first_day": _("First day"),
            "last_day": _("Last day"),
        },
    ),
    "service": (_("Services"), {"name": _("Service")}),
    "shift": (
        _("Shifts"),
        {
            "starts": _("From"),
            "ends": _("Until"),
            "person": _("Who"),
            "supervises": _("Helps beginners"),
            "began_at": _("Began"),
            "ended_at": _("Ended"),
        },
    ),
    "shiftswap": (
        _("Shifts to be taken over"),
        {"shift": _("Shift"), "asked_by": _("Asked by"), "taken_by": _("Taken by"), "settled_at": _("Settled")},
    ),
    "signoff": (
        _("Sign-offs"),
        {
            "member": _("Whose"),
            "kind": _("Kind of station"),
            "process": _("Process"),
            "given_by": _("Given by"),
            "given_at": _("When"),
            "until": _("Until"),
            "revoked_at": _("Taken back"),
        },
    ),
    "signoffneed": (
        _("What needs a sign-off"),
        {"kind": _("Kind of station"), "process": _("Process"), "lasts_days": _("Lasts, days")},
    ),
    "usualneed": (_("Usual needs"), {"member": _("Whose"), "kept_at": _("Kept")}),
    "visit": (
        _("People in without a booking of their own"),
        {
            "kind": _("As what"),
            "person": _("Who"),
            "heads": _("Heads"),
            "came_at": _("Came"),
            "left_at": _("Left"),
        },
    ),
    "waitingwish": (
        _("The waiting list"),
        {
            "member": _("Who"),
            "made_at": _("Since"),
            "first_day": _("First day"),
            "last_day": _("Last day"),
            "state": _("State"),
        },
    ),
}
