"""Addresses of the chemistry, by subject."""

from . import alerts, board, book

urlpatterns = [*alerts.urlpatterns, *board.urlpatterns, *book.urlpatterns]
