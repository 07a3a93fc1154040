"""Addresses of waste, and of what the chemistry cost."""

from django.urls import path

from .. import views

urlpatterns = [
    path("waste/", views.waste, name="waste"),
    path("waste/streams/new/", views.stream_new, name="stream_new"),
    path("waste/streams/<str:code>/", views.stream_edit, name="stream_edit"),
    path("waste/permits/new/", views.permit_new, name="permit_new"),
    path("waste/containers/new/", views.waste_container_new, name="waste_container_new"),
    path("waste/containers/<str:code>/", views.waste_container, name="waste_container"),
    path("waste/containers/<str:code>/entry/<int:pk>/undo/", views.container_entry_undo, name="container_entry_undo"),
    path("waste/pick-up/", views.pick_up_new, name="pick_up"),
    path("cost/", views.cost, name="cost"),
    path("cost/booking/<int:pk>/", views.cost_of_booking, name="cost_of_booking"),
]
