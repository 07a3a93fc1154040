"""Rows of the matrix: baths, their books and figures, jobs, paper, waste, cost, and what the tablet's scripts ask."""

from __future__ import annotations

from .roles import ROLES, Row, for_all, for_house, for_members, for_staff


def tablet_alone(status: int) -> dict[str, int]:
    """No page to log in at: a script asks."""
    return {**dict.fromkeys(ROLES, 401), "tablet": status}


BATHING: dict[str, Row] = {
    "baths/<str:processor>/<str:code>/<slug:slug>/": Row(
        "/baths/P-RC/fix/note/", for_house(200), for_house(422), {"key": "note"}
    ),
    "baths/<str:processor>/<str:code>/entry/<int:pk>/undo/": Row(
        "/baths/P-RC/fix/entry/{entry.pk}/undo/", None, for_house(302)
    ),
    "baths/<str:processor>/<str:code>/book/": Row("/baths/P-RC/fix/book/", for_members(200)),
    "alerts/": Row("/alerts/", for_house(200)),
    "alerts/<int:pk>/": Row("/alerts/{alert.pk}/", for_house(200), for_house(302), {"deed": "take"}),
    "tables/": Row("/tables/", for_staff(200)),
    "tables/<slug:what>.csv": Row("/tables/entries.csv", for_staff(200)),
    "baths/<str:processor>/<str:code>/entry/<int:pk>/correct/": Row(
        "/baths/P-RC/fix/entry/{entry.pk}/correct/", for_house(200), for_house(422), {"key": "correct"}
    ),
    "jobs/": Row("/jobs/", for_house(200)),
    "jobs/kept/": Row("/jobs/kept/", for_staff(200)),
    "jobs/new/": Row("/jobs/new/", for_staff(200), for_staff(422)),
    "jobs/of/<str:code>/": Row("/jobs/of/eyewash/", for_staff(200), for_staff(422)),
    "jobs/of/<str:code>/done/": Row("/jobs/of/eyewash/done/", None, for_house(302)),
    "jobs/line/<int:pk>/undo/": Row("/jobs/line/{done.pk}/undo/", None, for_house(302)),
    "processors/<str:code>/day/": Row("/processors/P-RC/day/", for_house(200), for_house(302), {"deed": "begin"}),
    "processors/<str:code>/change/": Row("/processors/P-RC/change/", for_house(200)),
    "processors/<str:code>/trays/": Row("/processors/P-CO/trays/", for_house(200), for_house(422), {"key": "trays"}),
    "baths/<str:processor>/<str:code>/figures/": Row(
        "/baths/P-RC/dev/figures/", for_staff(200), for_staff(422), {"key": "figures"}
    ),
    "baths/<str:processor>/<str:code>/pump/": Row(
        "/baths/P-RC/dev/pump/", for_house(200), for_house(422), {"key": "pump"}
    ),
    "baths/<str:processor>/<str:code>/bottle/": Row(
        "/baths/P-RC/dev/bottle/", for_house(200), for_house(422), {"key": "bottle", "deed": "name"}
    ),
    "baths/<str:processor>/<str:code>/rotate/": Row(
        "/baths/P-CO/fix1/rotate/", for_house(200), for_house(422), {"key": "rotate"}
    ),
    "papers/": Row("/papers/", for_staff(200)),
    "papers/sizes/new/": Row("/papers/sizes/new/", for_staff(200), for_staff(422)),
    "papers/sizes/<str:code>/": Row("/papers/sizes/203x254/", for_staff(200), for_staff(422)),
    "papers/classes/new/": Row("/papers/classes/new/", for_staff(200), for_staff(422)),
    "papers/classes/<str:code>/": Row("/papers/classes/baryta/", for_staff(200), for_staff(422)),
    "processors/<str:code>/strips/": Row("/processors/P-CO/strips/", for_house(200)),
    "processors/<str:code>/strips/new/": Row(
        "/processors/P-CO/strips/new/", for_house(200), for_house(422), {"key": "strip"}
    ),
    "processors/<str:code>/strips/aims/": Row(
        "/processors/P-CO/strips/aims/", for_staff(200), for_staff(422), {"key": "aims"}
    ),
    "processors/<str:code>/strips/<int:pk>/undo/": Row(
        "/processors/P-CO/strips/{strip.pk}/undo/", None, for_house(302)
    ),
    "waste/": Row("/waste/", for_house(200)),
    "waste/streams/new/": Row("/waste/streams/new/", for_staff(200), for_staff(422), {"key": "stream"}),
    "waste/streams/<str:code>/": Row("/waste/streams/fixer/", for_staff(200), for_staff(422), {"key": "stream-2"}),
    "waste/permits/new/": Row("/waste/permits/new/", for_staff(200), for_staff(422), {"key": "permit"}),
    "waste/containers/new/": Row("/waste/containers/new/", for_staff(200), for_staff(422), {"key": "drum"}),
    "waste/containers/<str:code>/": Row(
        "/waste/containers/W-1/", for_house(200), for_house(422), {"key": "level", "deed": "level"}
    ),
    "waste/containers/<str:code>/entry/<int:pk>/undo/": Row(
        "/waste/containers/W-1/entry/{poured.pk}/undo/", None, for_house(302)
    ),
    "waste/pick-up/": Row("/waste/pick-up/", for_house(200), for_house(422), {"key": "pick-up"}),
    # The same for everybody; the worker fetches them as nobody.
    "tablet/shell/": Row("/tablet/shell/", for_all(200)),
    "tablet/worker.js": Row("/tablet/worker.js", for_all(200)),
    "tablet/manifest.webmanifest": Row("/tablet/manifest.webmanifest", for_all(200)),
    "tablet/facts/": Row("/tablet/facts/", tablet_alone(200)),
    # A form is no log: tests/chemistry/test_tablet_logs.py sends real ones.
    "tablet/logs/": Row("/tablet/logs/", None, tablet_alone(400)),
    "tablet/logs/<uuid:key>/undo/": Row(
        "/tablet/logs/3d5c9a1e-0000-4000-8000-00000000abcd/undo/", None, tablet_alone(404)
    ),
    "cost/": Row("/cost/", for_staff(200)),
    "cost/booking/<int:pk>/": Row("/cost/booking/{booking.pk}/", for_staff(200)),
}
