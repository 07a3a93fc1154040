"""The only writers of classes: outlines, dates, places, the evening itself."""

from .courses import announce, make_invitation, move_course, set_tutor
from .deciding import call_off_course, decide, decide_due
from .ending import end_run_out, forget_needs
from .evening import (
    all_left,
    leave_note,
    mark_arrivals,
    seat_heads,
    set_tally,
    share_out_stations,
    sign_off_heads,
    some_left,
)
from .hires import agree, change_hire, forget_contact, hire, quote
from .outlines import retire_outline, write_outline
from .parties import name_heads, say_need, shrink, transfer
from .places import accept_offer, confirm_place, correct_address, decline_offer, give_up, sign_up, wait_for_classes

__all__ = [
    "accept_offer",
    "agree",
    "all_left",
    "announce",
    "call_off_course",
    "change_hire",
    "confirm_place",
    "correct_address",
    "decide",
    "decide_due",
    "decline_offer",
    "end_run_out",
    "forget_contact",
    "forget_needs",
    "give_up",
    "hire",
    "leave_note",
    "make_invitation",
    "mark_arrivals",
    "move_course",
    "name_heads",
    "quote",
    "retire_outline",
    "say_need",
    "seat_heads",
    "set_tally",
    "set_tutor",
    "share_out_stations",
    "shrink",
    "sign_off_heads",
    "sign_up",
    "some_left",
    "transfer",
    "wait_for_classes",
    "write_outline",
]
