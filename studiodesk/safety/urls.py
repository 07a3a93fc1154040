from django.urls import path

from . import views

urlpatterns = [
    path("safety/", views.safety_notes, name="safety_notes"),
    path("sign-offs/", views.sign_offs, name="sign_offs"),
    path("sign-offs/needs/", views.sign_off_needs, name="sign_off_needs"),
    path("sign-offs/needs/<int:pk>/end/", views.sign_off_need_end, name="sign_off_need_end"),
    path("sign-offs/<int:pk>/revoke/", views.sign_off_revoke, name="sign_off_revoke"),
    path("safety/<str:code>/", views.safety_note, name="safety_note"),
]
