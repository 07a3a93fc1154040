from django.urls import path

from . import views

urlpatterns = [
    path("", views.home, name="home"),
    path("desk/", views.desk, name="desk"),
    path("desk/in/<int:pk>/", views.sign_in, name="sign_in"),
    path("desk/out/<int:pk>/", views.sign_out, name="sign_out"),
    path("desk/close/", views.close_station, name="close_station"),
    path("desk/reopen/", views.reopen_station, name="reopen_station"),
    path("desk/reckon/", views.reckon, name="reckon"),
    path("baths/", views.board, name="board"),
    path("baths/<str:processor>/<str:code>/", views.bath, name="bath"),
    path("baths/<str:processor>/<str:code>/forecast/", views.bath_forecast, name="bath_forecast"),
    path("safety/<str:code>/edit/", views.safety_note_edit, name="safety_note_edit"),
    path("people/", views.people, name="people"),
    path("people/<str:number>/", views.person, name="person"),
    path("people/<str:number>/standing/", views.person_standing, name="person_standing"),
]
