"""Addresses of figures, pumps, bottles, pairs of baths, trays, and of the paper that goes through."""

from django.urls import path

from .. import views

#: Before those of the entries, whose address has any word in the place of "figures".
urlpatterns = [
    path("baths/<str:processor>/<str:code>/figures/", views.bath_figures, name="bath_figures"),
    path("baths/<str:processor>/<str:code>/pump/", views.bath_pump, name="bath_pump"),
    path("baths/<str:processor>/<str:code>/bottle/", views.bath_bottle, name="bath_bottle"),
    path("baths/<str:processor>/<str:code>/rotate/", views.bath_rotate, name="bath_rotate"),
    path("processors/<str:code>/trays/", views.trays, name="trays"),
    path("papers/", views.papers, name="papers"),
    path("papers/sizes/new/", views.size_new, name="size_new"),
    path("papers/sizes/<str:code>/", views.size_edit, name="size_edit"),
    path("papers/classes/new/", views.paper_new, name="paper_new"),
    path("papers/classes/<str:code>/", views.paper_edit, name="paper_edit"),
]
