from django.urls import path

from . import views

urlpatterns = [
    path("kit/", views.kit, name="kit"),
    path("kit/new/", views.kit_new, name="kit_new"),
    path("kit/<str:code>/", views.kit_item, name="kit_item"),
    path("shifts/", views.shifts, name="shifts"),
    path("shifts/plan/", views.shifts_plan, name="shifts_plan"),
    path("shifts/new/", views.shift_new, name="shift_new"),
    path("shifts/<int:pk>/", views.shift, name="shift"),
    path("shifts/<int:pk>/hand-over/", views.shift_hand_over, name="shift_hand_over"),
]
