"""Addresses of the chemistry, by subject."""

from . import alerts, board, book, figures, jobs, mixing, strips, waste

urlpatterns = [
    *alerts.urlpatterns,
    *board.urlpatterns,
    *figures.urlpatterns,
    *book.urlpatterns,
    *jobs.urlpatterns,
    *mixing.urlpatterns,
    *strips.urlpatterns,
    *waste.urlpatterns,
]
