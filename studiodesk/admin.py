"""Every table, to look at: for managers, when something rare has to be understood.

Nothing can be added, changed or deleted here: that is what acts are for.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.apps import apps
from django.contrib import admin
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db.models import BooleanField, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext_lazy as _

from studiodesk.tables import TABLES
from studiodesk.units import MM2_PER_M2, PL_PER_ML

#: Never shown, not even to a manager: what opens doors, and what the framework has and this house does not use.
HIDDEN = {"password", "secret_hash", "invite_hash", "token_hash", "groups", "user_permissions", "is_superuser"}


def as_read(field: str, value: Any) -> Any:
    """A value as people say it: mL of pL, m² of mm²; everything else as it is."""
    if value is None:
        return None
    if field.endswith("_pl"):
        return _("%(amount)s mL") % {"amount": f"{value / PL_PER_ML:,.1f}"}
    if field.endswith("_mm2"):
        return _("%(area)s m²") % {"area": f"{value / MM2_PER_M2:,.2f}"}
    return value


def column(field: Any, label: Any) -> Callable[[Any], Any]:
    """A column of a list under the house's own word for it."""
    if isinstance(field, BooleanField):

        @admin.display(description=label, ordering=field.name, boolean=True)
        def tick(row: Any) -> Any:
            return getattr(row, field.name)

        return tick

    @admin.display(description=label, ordering=field.name, empty_value="–")
    def cell(row: Any) -> Any:
        shown = getattr(row, f"get_{field.name}_display", None)
        return shown() if shown else as_read(field.name, getattr(row, field.name))

    return cell


class Called:
    """A model's options under the name that people here use; everything else is theirs."""

    def __init__(self, options: Any, name: Any) -> None:
        self._options = options
        self.verbose_name = self.verbose_name_plural = name

    def __getattr__(self, name: str) -> Any:
        return getattr(self._options, name)


class HouseAdmin(admin.AdminSite):
    site_title = site_header = _("The tables")
    index_title = _("To look at; nothing is changed here")
    enable_nav_sidebar = False

    def get_app_list(self, request: HttpRequest, app_label: str | None = None) -> list[Any]:
        """The tables under the names that people here use, in the order of these."""
        areas = super().get_app_list(request, app_label)
        for area in areas:
            area["name"] = self.index_title
            for table in area["models"]:
                table["name"] = TABLES[table["object_name"].lower()][0]
            area["models"].sort(key=lambda table: str(table["name"]))
        return areas

    def has_permission(self, request: HttpRequest) -> bool:
        return bool(request.user.is_active and getattr(request.user, "is_manager", False))

    def admin_view(self, view: Any, cacheable: bool = False) -> Any:
        """A stranger logs in on the house's own page, with its waits; who is no manager is told so."""
        guarded = super().admin_view(view, cacheable)

        def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not self.has_permission(request):
                raise PermissionDenied
            found: HttpResponse = guarded(request, *args, **kwargs)
            return found

        return answer

    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        return redirect_to_login(str(request.GET.get("next") or request.path.removesuffix("login/")))

    def password_change(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        return redirect("password_change")


class ToLookAt(admin.ModelAdmin):  # type: ignore[type-arg]
    """One table without a single button that writes."""

    actions = None
    list_per_page = 100
    show_full_result_count = False

    def __init__(self, model: Any, admin_site: admin.AdminSite) -> None:
        super().__init__(model, admin_site)
        self.opts: Any = Called(model._meta, TABLES[str(model._meta.model_name)][0])

    def get_changelist_instance(self, request: HttpRequest) -> Any:
        found: Any = super().get_changelist_instance(request)
        found.opts = self.opts
        return found

    def get_list_display(self, request: HttpRequest) -> list[Any]:
        _name, columns = TABLES[str(self.model._meta.model_name)]
        return [column(self.model._meta.get_field(field), label) for field, label in columns.items()]

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        """With what the columns name, so that a page asks once."""
        _name, columns = TABLES[str(self.model._meta.model_name)]
        named = [field for field in columns if self.model._meta.get_field(field).is_relation]
        return super().get_queryset(request).select_related(*named) if named else super().get_queryset(request)

    def changelist_view(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        name = TABLES[str(self.model._meta.model_name)][0]
        return super().changelist_view(request, {"title": name, **(extra_context or {})})

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> list[str]:
        return [field.name for field in self.model._meta.get_fields() if field.name in HIDDEN]

    def has_module_permission(self, request: HttpRequest) -> bool:
        return bool(self.admin_site.has_permission(request))

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return bool(self.admin_site.has_permission(request))

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


site = HouseAdmin(name="admin")
#: What only whoever teaches the class may read is not for managers either.
NOT_SHOWN = {"privateneed"}
for model in apps.get_app_config("studiodesk").get_models():
    if model._meta.model_name in NOT_SHOWN:
        continue
    site.register(model, ToLookAt)
