"""The only writers of bookings and holds, by what is done."""

from .arriving import arrive, leave, undo_arrive, undo_leave
from .calendars import calendar_link_used, make_calendar_link, revoke_calendar_link
from .cancelling import cancel, release
from .changing import New, change, undo_last_change
from .closing import Shut, close_processor, close_station, end_early, reopen, shut, shut_service
from .door import come_in, go_out, say_of_sheets
from .faults import report_fault, settle_fault
from .group_door import group_gone
from .groups_hit import do_without, take_another
from .holding import wait_for_the_house
from .house_rules import set_house_rule
from .making import book
from .moving import Moved, cancel_hit, move_all, move_hit, tell_house_closed
from .offers import accept, decline, end_old_wishes, expire_offers, stop_waiting, sweep_offers
from .past import record_past_bookings
from .series import Elsewhere, book_series, cancel_series, change_series
from .usual import forget_usual, keep_usual
from .waiting import serve_all, wait
from .watching import release_no_shows, warn_of_overruns

__all__ = [
    "Elsewhere",
    "Moved",
    "New",
    "Shut",
    "accept",
    "arrive",
    "book",
    "book_series",
    "calendar_link_used",
    "cancel",
    "cancel_hit",
    "cancel_series",
    "change",
    "change_series",
    "close_processor",
    "close_station",
    "come_in",
    "decline",
    "do_without",
    "end_early",
    "end_old_wishes",
    "expire_offers",
    "forget_usual",
    "go_out",
    "group_gone",
    "keep_usual",
    "leave",
    "make_calendar_link",
    "move_all",
    "move_hit",
    "record_past_bookings",
    "release",
    "release_no_shows",
    "reopen",
    "report_fault",
    "revoke_calendar_link",
    "say_of_sheets",
    "serve_all",
    "set_house_rule",
    "settle_fault",
    "shut",
    "shut_service",
    "stop_waiting",
    "sweep_offers",
    "take_another",
    "tell_house_closed",
    "undo_arrive",
    "undo_last_change",
    "undo_leave",
    "wait",
    "wait_for_the_house",
    "warn_of_overruns",
]
