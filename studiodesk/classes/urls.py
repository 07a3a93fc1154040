from django.urls import path

from . import views

urlpatterns = [
    path("classes/", views.whats_on, name="whats_on"),
    path("classes/atom.xml", views.atom, name="classes_atom"),
    path("classes/rss.xml", views.rss, name="classes_rss"),
    path("classes/calendar.ics", views.calendar, name="classes_calendar"),
    path("classes/yours/", views.your_places, name="your_places"),
    path("classes/with/<str:word>/", views.invited, name="invited"),
    path("classes/with/<str:word>/calendar.ics", views.invited_calendar, name="invited_calendar"),
    path("classes/<str:reference>/", views.course, name="course"),
    path("classes/<str:reference>/calendar.ics", views.course_calendar, name="course_calendar"),
    path("classes/<str:reference>/plan/", views.plan, name="course_plan"),
    path("classes/<str:reference>/roster/", views.roster, name="roster"),
    path("places/<int:pk>/", views.place, name="place"),
    path("places/of/<str:key>/", views.guest_place, name="guest_place"),
    path("outlines/", views.outlines, name="outlines"),
    path("outlines/new/", views.outline_new, name="outline_new"),
    path("outlines/<str:code>/", views.outline, name="outline"),
    path("outlines/<str:code>/dates/", views.dates, name="outline_dates"),
    path("hires/", views.hires, name="hires"),
    path("hires/new/", views.hire_new, name="hire_new"),
    path("hires/<str:reference>/", views.hire, name="hire"),
    path("hires/<str:reference>/change/", views.hire_change, name="hire_change"),
]
