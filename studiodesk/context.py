"""What every page is given: the studio, who is asking, and the ways on for them."""

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import get_language, pgettext
from django.utils.translation import gettext as _

from studiodesk.manner import LANGUAGES
from studiodesk.people.models import Member
from studiodesk.scheme import AS_DEVICE, scheme_of


def ways(member: Member | None, tablet: Any) -> list[tuple[str, str]]:
    """(URL name, label) of the navigation for this asker, in reading order."""
    if member is None:
        return (
            [("tablet", _("Tablet"))]
            if tablet is not None
            else [("whats_on", _("What is on")), ("log_in", _("Log in"))]
        )
    found = [("desk", _("Desk"))] if member.may_run_the_house else []
    found += [
        ("day", _("The day")),
        ("find", _("Find a time")),
        ("my_bookings", _("My bookings")),
        ("whats_on", _("What is on")),
        ("board", _("Baths")),
    ]
    if not member.may_run_the_house:
        found.append(("safety_notes", _("Safety")))
    if member.is_active and (member.is_keyholder or member.is_tutor or member.is_staff):
        found.append(("shifts", _("Shifts")))
    if member.is_staff:
        found.append(("people", _("People")))
    if member.may_run_the_house:
        # Safety, the tablet and whatever else is set up here have their line on that page.
        found.append(("house", _("The house")))
    return [*found, ("you", member.name)]


def page(request: HttpRequest) -> dict[str, Any]:
    """``studio``, ``nav`` (a list of url, label, current), ``member`` (None for a stranger), ``tablet`` and the look:
    ``scheme`` ("light", "dark" or "" for the device's own), ``schemes`` and ``languages`` (value, label, chosen).
    """
    user = getattr(request, "user", None)
    member = user if user is not None and user.is_authenticated else None
    tablet = getattr(request, "tablet", None)
    return {
        "studio": getattr(request, "studio", None),
        "nav": _nav(request.path, ways(member, tablet)),
        "member": member,
        "tablet": tablet,
        "scheme": (scheme := scheme_of(request)),
        "schemes": _schemes(scheme),
        "languages": [(code, name, code == get_language()) for code, name in LANGUAGES.items()],
    }


def _nav(here: str, links: list[tuple[str, str]]) -> list[dict[str, Any]]:
    found = [(reverse(name), label) for name, label in links]
    return [{"url": url, "label": label, "current": here == url} for url, label in found]


def _schemes(chosen: str) -> list[tuple[str, str, bool]]:
    labels = [(AS_DEVICE, _("As this device")), ("light", pgettext("light or dark", "Light")), ("dark", _("Dark"))]
    return [(value, label, value == (chosen or AS_DEVICE)) for value, label in labels]
