"""Addresses of mixing, containers and stock."""

from django.urls import path

from .. import views

urlpatterns = [
    path("mixing/", views.mixing, name="mixing"),
    path("mixing/new/", views.recipe_new, name="recipe_new"),
    path("mixing/mix/<int:number>/", views.mix_label, name="mix_label"),
    path("mixing/mix/<int:number>/undo/", views.mix_undo, name="mix_undo"),
    path("mixing/container/new/", views.container_new, name="container_new"),
    path("mixing/container/<str:code>/", views.container, name="container"),
    path("mixing/container/<str:code>/edit/", views.container_edit, name="container_edit"),
    path("mixing/<str:code>/", views.mixing_recipe, name="mixing_recipe"),
    path("mixing/<str:code>/edit/", views.recipe_edit, name="recipe_edit"),
    path("stock/", views.stock, name="stock"),
    path("stock/new/", views.product_new, name="product_new"),
    path("stock/delivery/", views.delivery, name="delivery"),
    path("stock/count/", views.stock_count, name="stock_count"),
    path("stock/lot/<int:pk>/open/", views.lot_open, name="lot_open"),
    path("stock/lot/<int:pk>/away/", views.lot_away, name="lot_away"),
    path("stock/<str:code>/", views.stock_product, name="stock_product"),
    path("stock/<str:code>/edit/", views.product_edit, name="product_edit"),
]
