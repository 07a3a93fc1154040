"""Addresses of the chemistry, by subject."""

from . import alerts, board, book, jobs

urlpatterns = [*alerts.urlpatterns, *board.urlpatterns, *book.urlpatterns, *jobs.urlpatterns]
