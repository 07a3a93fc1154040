"""The entries of the baths, pages of the tablet beside a processor, and of sheets logged at the desk."""

from .alerts import alert, alerts
from .board import bath_book
from .board_tables import csv_table, csv_tables
from .desk import desk_sheets, desk_sheets_undo
from .entries import bath_entry, bath_entry_correct, bath_entry_undo
from .jobs import job_done, job_edit, job_new, job_undo, jobs, jobs_kept, working_day
from .tablet import tablet, tablet_look, tablet_processor, tablet_undo

__all__ = [
    "alert",
    "alerts",
    "bath_book",
    "bath_entry",
    "bath_entry_correct",
    "bath_entry_undo",
    "csv_table",
    "csv_tables",
    "desk_sheets",
    "desk_sheets_undo",
    "job_done",
    "job_edit",
    "job_new",
    "job_undo",
    "jobs",
    "jobs_kept",
    "tablet",
    "tablet_look",
    "tablet_processor",
    "tablet_undo",
    "working_day",
]
