from django.urls import path

from . import views

urlpatterns = [
    path("safety/", views.safety_notes, name="safety_notes"),
    path("safety/<str:code>/", views.safety_note, name="safety_note"),
]
