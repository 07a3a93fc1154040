"""The only writers of sheets, bath entries, tanks and alerts."""

from .alerts import clear_alert, raise_alert, review_baths, settle_alerts
from .alerts_people import bring_back_alert, clear_by_hand, give_back_alert, put_off_alert, take_alert
from .alerts_telling import tell_of_alerts
from .containers import empty_container, keep_container, move_mix, read_level
from .entries import record_bath_entry, take_back_entry
from .mixing import mix, take_back_mix
from .past import record_past_entries, record_past_feeds, record_past_strips
from .recipes import PartOf, keep_recipe
from .sheets import log_sheets, undo_sheets
from .stock import (
    Came,
    count_lots,
    keep_product,
    open_lot,
    receive,
    review_stock,
    set_stock_alerts,
    throw_away,
)
from .working_day import close_processor, do_job, make_ready, review_jobs, take_back_job

__all__ = [
    "Came",
    "PartOf",
    "bring_back_alert",
    "clear_alert",
    "clear_by_hand",
    "close_processor",
    "count_lots",
    "do_job",
    "empty_container",
    "give_back_alert",
    "keep_container",
    "keep_product",
    "keep_recipe",
    "log_sheets",
    "make_ready",
    "mix",
    "move_mix",
    "open_lot",
    "put_off_alert",
    "raise_alert",
    "read_level",
    "receive",
    "record_bath_entry",
    "record_past_entries",
    "record_past_feeds",
    "record_past_strips",
    "review_baths",
    "review_jobs",
    "review_stock",
    "set_stock_alerts",
    "settle_alerts",
    "take_alert",
    "take_back_entry",
    "take_back_job",
    "take_back_mix",
    "tell_of_alerts",
    "throw_away",
    "undo_sheets",
]
