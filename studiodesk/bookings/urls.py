from django.urls import path, register_converter

from . import views
from .views.dates import DayConverter

register_converter(DayConverter, "day")

urlpatterns = [
    path("day/", views.day, name="day"),
    path("day/<day:on>/", views.day, name="day"),
    path("day/<day:on>/<str:slug>/", views.kind_day, name="kind_day"),
    path("find/", views.find, name="find"),
    path("find/usual/", views.usual, name="usual"),
    path("book/", views.book, name="book"),
    path("bookings/", views.my_bookings, name="my_bookings"),
    path("bookings/<int:pk>/", views.booking, name="booking"),
    path("bookings/<int:pk>/calendar.ics", views.booking_calendar, name="booking_calendar"),
    path("bookings/<int:pk>/cancel/", views.cancel_booking, name="cancel_booking"),
    path("bookings/<int:pk>/change/", views.change_booking, name="change_booking"),
    path("bookings/<int:pk>/undo/", views.undo_change, name="undo_change"),
    path("bookings/<int:pk>/accept/", views.accept_offer, name="accept_offer"),
    path("bookings/<int:pk>/decline/", views.decline_offer, name="decline_offer"),
    path("series/new/", views.series_new, name="series_new"),
    path("bookings/<int:pk>/series/", views.series, name="series"),
    path("bookings/<int:pk>/series/cancel/", views.cancel_series, name="cancel_series"),
    path("waiting/", views.waiting, name="waiting"),
    path("waiting/new/", views.wait, name="wait"),
    path("waiting/all/", views.all_waiting, name="all_waiting"),
    path("waiting/<int:pk>/stop/", views.stop_waiting, name="stop_waiting"),
    path("rules/", views.house_rules, name="house_rules"),
    path("rules/<str:code>/", views.house_rule, name="house_rule"),
]
