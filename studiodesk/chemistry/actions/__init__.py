"""The only writers of sheets, bath entries, tanks and alerts."""

from .alerts import clear_alert, raise_alert, review_baths, settle_alerts
from .alerts_people import bring_back_alert, clear_by_hand, give_back_alert, put_off_alert, take_alert
from .alerts_telling import tell_of_alerts
from .entries import record_bath_entry, take_back_entry
from .figures import put_figures_in_force
from .papers import keep_paper, keep_size
from .past import record_past_entries, record_past_feeds, record_past_strips
from .pumps import book_unseen, calibrate_pump, keep_bottle, read_bottle
from .sheets import log_sheets, undo_sheets
from .strips import record_strip, review_strips, set_strip_aims, take_back_strip
from .trays import rotate_baths, set_trays
from .waste import (
    connect_container,
    keep_permit,
    keep_stream,
    keep_waste_container,
    measure_container,
    pick_up,
    pour_into_container,
    review_waste,
    take_back_container_entry,
)
from .working_day import close_processor, do_job, make_ready, review_jobs, take_back_job

__all__ = [
    "book_unseen",
    "bring_back_alert",
    "calibrate_pump",
    "clear_alert",
    "clear_by_hand",
    "close_processor",
    "connect_container",
    "do_job",
    "give_back_alert",
    "keep_bottle",
    "keep_paper",
    "keep_permit",
    "keep_size",
    "keep_stream",
    "keep_waste_container",
    "log_sheets",
    "make_ready",
    "measure_container",
    "pick_up",
    "pour_into_container",
    "put_figures_in_force",
    "put_off_alert",
    "raise_alert",
    "read_bottle",
    "record_bath_entry",
    "record_past_entries",
    "record_past_feeds",
    "record_past_strips",
    "record_strip",
    "review_baths",
    "review_jobs",
    "review_strips",
    "review_waste",
    "rotate_baths",
    "set_strip_aims",
    "set_trays",
    "settle_alerts",
    "take_alert",
    "take_back_container_entry",
    "take_back_entry",
    "take_back_job",
    "take_back_strip",
    "tell_of_alerts",
    "undo_sheets",
]
