"""The only writers of sheets, bath entries, tanks and alerts."""

from .alerts import clear_alert, raise_alert, review_baths, settle_alerts
from .alerts_people import bring_back_alert, clear_by_hand, give_back_alert, put_off_alert, take_alert
from .alerts_telling import tell_of_alerts
from .entries import record_bath_entry, take_back_entry
from .past import record_past_entries, record_past_feeds, record_past_strips
from .sheets import log_sheets, undo_sheets
from .working_day import close_processor, do_job, make_ready, review_jobs, take_back_job

__all__ = [
    "bring_back_alert",
    "clear_alert",
    "clear_by_hand",
    "close_processor",
    "do_job",
    "give_back_alert",
    "log_sheets",
    "make_ready",
    "put_off_alert",
    "raise_alert",
    "record_bath_entry",
    "record_past_entries",
    "record_past_feeds",
    "record_past_strips",
    "review_baths",
    "review_jobs",
    "settle_alerts",
    "take_alert",
    "take_back_entry",
    "take_back_job",
    "tell_of_alerts",
    "undo_sheets",
]
