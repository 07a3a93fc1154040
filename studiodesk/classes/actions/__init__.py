"""The only writers of classes: outlines, dates, places, the evening itself."""

from .courses import announce, call_off_course, decide, decide_due, make_invitation, move_course, set_tutor
from .ending import end_run_out, forget_needs
from .outlines import retire_outline, write_outline
from .parties import name_heads, say_need, shrink, transfer
from .places import accept_offer, confirm_place, correct_address, decline_offer, give_up, sign_up

__all__ = [
    "accept_offer",
    "announce",
    "call_off_course",
    "confirm_place",
    "correct_address",
    "decide",
    "decide_due",
    "decline_offer",
    "end_run_out",
    "forget_needs",
    "give_up",
    "make_invitation",
    "move_course",
    "name_heads",
    "retire_outline",
    "say_need",
    "set_tutor",
    "shrink",
    "sign_up",
    "transfer",
    "write_outline",
]
