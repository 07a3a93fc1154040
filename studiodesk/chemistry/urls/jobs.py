"""Addresses of the jobs that recur and of the working day of a processor."""

from django.urls import path

from .. import views

urlpatterns = [
    path("jobs/", views.jobs, name="jobs"),
    path("jobs/kept/", views.jobs_kept, name="jobs_kept"),
    path("jobs/new/", views.job_new, name="job_new"),
    path("jobs/line/<int:pk>/undo/", views.job_undo, name="job_undo"),
    path("jobs/of/<str:code>/", views.job_edit, name="job_edit"),
    path("jobs/of/<str:code>/done/", views.job_done, name="job_done"),
    path("processors/<str:code>/change/", views.bath_change_list, name="bath_change_list"),
    path("processors/<str:code>/day/", views.working_day, name="working_day"),
]
