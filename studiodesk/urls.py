"""Every area's addresses, and the back office that only reads."""

from django.urls import URLPattern, URLResolver, include, path

from studiodesk.admin import site

AREAS = ("people", "safety", "bookings", "chemistry", "desk")
urlpatterns: list[URLPattern | URLResolver] = [
    *(path("", include(f"studiodesk.{area}.urls")) for area in AREAS),
    path("admin/", site.urls),
]
