"""The only writers of sheets, bath entries, tanks and alerts."""

from .alerts import review_baths, settle_alerts
from .entries import record_bath_entry, take_back_entry
from .past import record_past_entries, record_past_feeds, record_past_strips
from .sheets import log_sheets, undo_sheets

__all__ = [
    "log_sheets",
    "record_bath_entry",
    "record_past_entries",
    "record_past_feeds",
    "record_past_strips",
    "review_baths",
    "settle_alerts",
    "take_back_entry",
    "undo_sheets",
]
