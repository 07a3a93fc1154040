"""Every area's addresses, and the back office that only reads."""

from django.urls import URLPattern, URLResolver, include, path

from studiodesk.admin import site

#: The desk before chemistry: a bath's forecast is not one of the entries of its book, whose address has any word there.
AREAS = ("people", "stations", "safety", "bookings", "classes", "desk", "chemistry")
urlpatterns: list[URLPattern | URLResolver] = [
    *(path("", include(f"studiodesk.{area}.urls")) for area in AREAS),
    path("admin/", site.urls),
]
