"""What the tablet needs to go on without the network: its manifest, worker and shell, the facts of today, its logs.

Manifest, worker and shell are the same for everybody and name nobody: the worker keeps nothing else.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from ..forms import OTHERS, TABLET_KINDS
from ..rules.feeding import MOST_SHEETS

LOOK = "studiodesk/tablet.css"
#: All that the shell is drawn with; it asks for nothing else.
FILES = (
    LOOK,
    "studiodesk/fonts/b612-latin-400-normal.woff2",
    "studiodesk/fonts/b612-latin-700-normal.woff2",
    "studiodesk/icons/tablet.svg",
    "studiodesk/js/tablet.js",
    "studiodesk/js/tablet_queue.js",
    "studiodesk/js/tablet_log.js",
    "studiodesk/js/tablet_shell.js",
)
WORKER = "studiodesk/js/tablet_worker.js"
ICONS = ((192, "any"), (512, "any"), (512, "maskable"))


@cache
def _found(name: str) -> Path:
    return Path(str(finders.find(name)))


def _language(request: HttpRequest) -> str:
    """The house's own, so that what is kept for everybody reads the same for everybody."""
    return getattr(getattr(request, "studio", None), "language", "") or "en-gb"


def _shell_page(request: HttpRequest) -> str:
    """Rendered without the request: no person, message or token can get into it."""
    with translation.override(_language(request)):
        blank = {"sheet": [], "paper": [], "kind": TABLET_KINDS, "who": OTHERS}
        tiles = {name: [(code, label, code == "print") for code, label in listed] for name, listed in blank.items()}
        studio = getattr(request, "studio", None)
        context = {"shell": True, "studio": studio, "tiles": tiles, "sheets": "1", "most": MOST_SHEETS}
        return render_to_string("tablet/shell.html", context)


@require_safe
@cache_control(no_cache=True)
def tablet_shell(request: HttpRequest) -> HttpResponse:
    """The page that stands in for every page of the tablet while the network is away."""
    return HttpResponse(_shell_page(request))


@require_safe
@cache_control(no_cache=True)
def tablet_worker(request: HttpRequest) -> HttpResponse:
    """The worker, told what to keep; another byte anywhere in it makes another version, which browsers then fetch."""
    source = _found(WORKER).read_text(encoding="utf-8")
    kept = hashlib.sha256(source.encode())
    for name in FILES:
        kept.update(_found(name).read_bytes())
    kept.update(_shell_page(request).encode())
    told = {
        "version": f"tablet-{kept.hexdigest()[:16]}",
        "files": [static(name) for name in FILES],
        "shell": reverse("tablet_shell"),
        "home": reverse("tablet"),
    }
    return HttpResponse(f"self.told = {json.dumps(told)};\n{source}", content_type="text/javascript; charset=utf-8")


@require_safe
@cache_control(no_cache=True)
def tablet_manifest(request: HttpRequest) -> HttpResponse:
    """What makes the tablet's pages a thing of their own on its home screen: black, without the browser's bars."""
    with translation.override(_language(request)):
        studio = getattr(request, "studio", None)
        manifest = {
            "id": reverse("tablet"),
            "name": _("%(studio)s tablet") % {"studio": studio} if studio else _("Tablet"),
            "short_name": _("Tablet"),
            "lang": _language(request),
            "start_url": reverse("tablet"),
            "scope": reverse("tablet"),
            "display": "standalone",
            "background_color": "#000000",
            "theme_color": "#000000",
            "icons": [_icon(size, purpose) for size, purpose in ICONS],
        }
    return JsonResponse(manifest, content_type="application/manifest+json")


def _icon(size: int, purpose: str) -> dict[str, Any]:
    name = f"studiodesk/icons/tablet{'-maskable' if purpose == 'maskable' else ''}-{size}.png"
    return {"src": static(name), "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
