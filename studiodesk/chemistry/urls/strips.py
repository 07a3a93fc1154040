"""Addresses of the control strips of a processor."""

from django.urls import path

from .. import views

urlpatterns = [
    path("processors/<str:code>/strips/", views.strips, name="strips"),
    path("processors/<str:code>/strips/new/", views.strip_new, name="strip_new"),
    path("processors/<str:code>/strips/aims/", views.strip_aims, name="strip_aims"),
    path("processors/<str:code>/strips/<int:pk>/undo/", views.strip_undo, name="strip_undo"),
]
