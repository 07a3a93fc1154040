from django.urls import path, register_converter

from . import views
from .views.dates import DayConverter

register_converter(DayConverter, "day")

urlpatterns = [
    path("day/", views.day, name="day"),
    path("day/<day:on>/", views.day, name="day"),
    path("day/<day:on>/<str:slug>/", views.kind_day, name="kind_day"),
    path("find/", views.find, name="find"),
    path("book/", views.book, name="book"),
    path("bookings/", views.my_bookings, name="my_bookings"),
    path("bookings/<int:pk>/", views.booking, name="booking"),
    path("bookings/<int:pk>/cancel/", views.cancel_booking, name="cancel_booking"),
]
