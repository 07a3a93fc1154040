"""The only writers of the house: what there is, and who opens it when."""

from .describing import (
    describe_process,
    describe_processor,
    describe_room,
    describe_station,
    describe_studio,
    set_closures,
    set_opening,
    set_writing,
)
from .jobs import do_job, keep_job, take_back_job
from .kit import describe_kit
from .on_shift import begin_shift, end_shift, hand_over
from .openings import begin_opening, close_processor, make_ready
from .shifts import add_shift, assign, call_off, give_back, plan_shifts, put_back, set_supervises, take_shift
from .swaps import ask_swap, take_over, withdraw_swap
from .uncovered import flag_uncovered

__all__ = [
    "add_shift",
    "ask_swap",
    "assign",
    "begin_opening",
    "begin_shift",
    "call_off",
    "close_processor",
    "describe_kit",
    "describe_process",
    "describe_processor",
    "describe_room",
    "describe_station",
    "describe_studio",
    "do_job",
    "end_shift",
    "flag_uncovered",
    "give_back",
    "hand_over",
    "keep_job",
    "make_ready",
    "plan_shifts",
    "put_back",
    "set_closures",
    "set_opening",
    "set_supervises",
    "set_writing",
    "take_back_job",
    "take_over",
    "take_shift",
    "withdraw_swap",
]
