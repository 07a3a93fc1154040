"""Addresses of the entries of the baths, of sheets logged and of the tablet beside a processor."""

from django.urls import path

from .. import views

urlpatterns = [
    path("baths/<str:processor>/<str:code>/entry/<int:pk>/undo/", views.bath_entry_undo, name="bath_entry_undo"),
    path(
        "baths/<str:processor>/<str:code>/entry/<int:pk>/correct/", views.bath_entry_correct, name="bath_entry_correct"
    ),
    path("baths/<str:processor>/<str:code>/<slug:slug>/", views.bath_entry, name="bath_entry"),
    path("sheets/", views.desk_sheets, name="desk_sheets"),
    path("sheets/<int:pk>/undo/", views.desk_sheets_undo, name="desk_sheets_undo"),
    path("tablet/", views.tablet, name="tablet"),
    path("tablet/look/", views.tablet_look, name="tablet_look"),
    path("tablet/undo/<int:pk>/", views.tablet_undo, name="tablet_undo"),
    path("tablet/shell/", views.tablet_shell, name="tablet_shell"),
    path("tablet/worker.js", views.tablet_worker, name="tablet_worker"),
    path("tablet/manifest.webmanifest", views.tablet_manifest, name="tablet_manifest"),
    path("tablet/facts/", views.tablet_facts, name="tablet_facts"),
    path("tablet/logs/", views.tablet_logs, name="tablet_logs"),
    path("tablet/logs/<uuid:key>/undo/", views.tablet_log_undo, name="tablet_log_undo"),
    path("tablet/processor/<str:code>/", views.tablet_processor, name="tablet_processor"),
]
