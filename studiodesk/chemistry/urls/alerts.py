"""Addresses of what wants doing."""

from django.urls import path

from .. import views

urlpatterns = [
    path("alerts/", views.alerts, name="alerts"),
    path("alerts/<int:pk>/", views.alert, name="alert"),
]
