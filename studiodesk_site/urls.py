from django.urls import include, path

urlpatterns = [path("", include("studiodesk.urls"))]

handler400 = "studiodesk.errors.bad_request"
handler403 = "studiodesk.errors.forbidden"
handler404 = "studiodesk.errors.not_found"
handler500 = "studiodesk.errors.server_error"
