"""Addresses of what the figures of a bath were summed from, and of everything as tables."""

from django.urls import path

from .. import views

#: Before those of the entries, whose address has any word in the place of "book".
urlpatterns = [
    path("baths/<str:processor>/<str:code>/book/", views.bath_book, name="bath_book"),
    path("tables/", views.csv_tables, name="csv_tables"),
    path("tables/<slug:what>.csv", views.csv_table, name="csv_table"),
]
