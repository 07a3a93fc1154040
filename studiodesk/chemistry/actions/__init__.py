"""The only writers of sheets, bath entries, tanks and alerts."""

from .alerts import clear_alert, raise_alert, review_baths, settle_alerts
from .alerts_people import bring_back_alert, clear_by_hand, give_back_alert, put_off_alert, take_alert
from .alerts_telling import tell_of_alerts
from .containers import empty_container, keep_container, move_mix, read_level
from .entries import record_bath_entry, take_back_entry
from .figures import put_figures_in_force
from .mixing import mix, take_back_mix
from .papers import keep_paper, keep_size
from .past import record_past_entries, record_past_feeds, record_past_strips
from .pumps import book_unseen, calibrate_pump, keep_bottle, read_bottle
from .recipes import PartOf, keep_recipe
from .sheets import log_group_sheets, log_sheets, undo_sheets
from .stock import Came, count_lots, keep_product, open_lot, receive, review_stock, set_stock_alerts, throw_away
from .strips import record_strip, review_strips, set_strip_aims, take_back_strip
from .tablet import log_from_tablet
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
    "Came",
    "PartOf",
    "book_unseen",
    "bring_back_alert",
    "calibrate_pump",
    "clear_alert",
    "clear_by_hand",
    "close_processor",
    "connect_container",
    "count_lots",
    "do_job",
    "empty_container",
    "give_back_alert",
    "keep_bottle",
    "keep_container",
    "keep_paper",
    "keep_permit",
    "keep_product",
    "keep_recipe",
    "keep_size",
    "keep_stream",
    "keep_waste_container",
    "log_from_tablet",
    "log_group_sheets",
    "log_sheets",
    "make_ready",
    "measure_container",
    "mix",
    "move_mix",
    "open_lot",
    "pick_up",
    "pour_into_container",
    "put_figures_in_force",
    "put_off_alert",
    "raise_alert",
    "read_bottle",
    "read_level",
    "receive",
    "record_bath_entry",
    "record_past_entries",
    "record_past_feeds",
    "record_past_strips",
    "record_strip",
    "review_baths",
    "review_jobs",
    "review_stock",
    "review_strips",
    "review_waste",
    "rotate_baths",
    "set_stock_alerts",
    "set_strip_aims",
    "set_trays",
    "settle_alerts",
    "take_alert",
    "take_back_container_entry",
    "take_back_entry",
    "take_back_job",
    "take_back_mix",
    "take_back_strip",
    "tell_of_alerts",
    "throw_away",
    "undo_sheets",
]
