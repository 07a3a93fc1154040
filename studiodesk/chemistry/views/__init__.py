"""The entries of the baths, pages of the tablet beside a processor, and of sheets logged at the desk."""

from .alerts import alert, alerts
from .board import bath_book
from .board_tables import csv_table, csv_tables
from .containers import container
from .desk import desk_sheets, desk_sheets_undo
from .entries import bath_entry, bath_entry_correct, bath_entry_undo
from .jobs import job_done, job_edit, job_new, job_undo, jobs, jobs_kept, working_day
from .kept import container_edit, container_new, product_edit, product_new, recipe_edit, recipe_new
from .mixing import mix_label, mix_undo, mixing, mixing_recipe
from .stock import delivery, lot_away, lot_open, stock, stock_count, stock_product
from .tablet import tablet, tablet_look, tablet_processor, tablet_undo

__all__ = [
    "alert",
    "alerts",
    "bath_book",
    "bath_entry",
    "bath_entry_correct",
    "bath_entry_undo",
    "container",
    "container_edit",
    "container_new",
    "csv_table",
    "csv_tables",
    "delivery",
    "desk_sheets",
    "desk_sheets_undo",
    "job_done",
    "job_edit",
    "job_new",
    "job_undo",
    "jobs",
    "jobs_kept",
    "lot_away",
    "lot_open",
    "mix_label",
    "mix_undo",
    "mixing",
    "mixing_recipe",
    "product_edit",
    "product_new",
    "recipe_edit",
    "recipe_new",
    "stock",
    "stock_count",
    "stock_product",
    "tablet",
    "tablet_look",
    "tablet_processor",
    "tablet_undo",
    "working_day",
]
