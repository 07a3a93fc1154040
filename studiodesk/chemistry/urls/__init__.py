"""Addresses of the chemistry, by subject."""

from . import alerts, board, book, jobs, mixing

urlpatterns = [*alerts.urlpatterns, *board.urlpatterns, *book.urlpatterns, *jobs.urlpatterns, *mixing.urlpatterns]
