"""The entries of the baths, pages of the tablet beside a processor, and of sheets logged at the desk."""

from .alerts import alert, alerts
from .board import bath_book
from .board_tables import csv_table, csv_tables
from .containers import container
from .cost import cost, cost_of_booking
from .desk import desk_sheets, desk_sheets_undo
from .entries import bath_entry, bath_entry_correct, bath_entry_undo
from .figures import bath_figures
from .jobs import bath_change_list, job_done, job_edit, job_new, job_undo, jobs, jobs_kept, working_day
from .kept import container_edit, container_new, product_edit, product_new, recipe_edit, recipe_new
from .mixing import mix_label, mix_undo, mixing, mixing_recipe
from .paper import paper_edit, paper_new, papers, size_edit, size_new
from .pumps import bath_bottle, bath_pump
from .stock import delivery, lot_away, lot_open, stock, stock_count, stock_product
from .strips import strip_aims, strip_new, strip_undo, strips
from .tablet import tablet, tablet_look, tablet_processor, tablet_undo
from .tablet_logs import tablet_facts, tablet_log_undo, tablet_logs
from .tablet_offline import tablet_manifest, tablet_shell, tablet_worker
from .trays import bath_rotate, trays
from .waste import (
    container_entry_undo,
    permit_new,
    pick_up_new,
    stream_edit,
    stream_new,
    waste,
    waste_container,
    waste_container_new,
)

__all__ = [
    "alert",
    "alerts",
    "bath_book",
    "bath_bottle",
    "bath_change_list",
    "bath_entry",
    "bath_entry_correct",
    "bath_entry_undo",
    "bath_figures",
    "bath_pump",
    "bath_rotate",
    "container",
    "container_edit",
    "container_entry_undo",
    "container_new",
    "cost",
    "cost_of_booking",
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
    "paper_edit",
    "paper_new",
    "papers",
    "permit_new",
    "pick_up_new",
    "product_edit",
    "product_new",
    "recipe_edit",
    "recipe_new",
    "size_edit",
    "size_new",
    "stock",
    "stock_count",
    "stock_product",
    "stream_edit",
    "stream_new",
    "strip_aims",
    "strip_new",
    "strip_undo",
    "strips",
    "tablet",
    "tablet_facts",
    "tablet_log_undo",
    "tablet_logs",
    "tablet_look",
    "tablet_manifest",
    "tablet_processor",
    "tablet_shell",
    "tablet_undo",
    "tablet_worker",
    "trays",
    "waste",
    "waste_container",
    "waste_container_new",
    "working_day",
]
