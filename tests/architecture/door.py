"""Who gets what at the door: its rows of the table in ``matrix``."""

from __future__ import annotations

from .roles import NOT_THERE, Row, for_house, for_members, for_owner, for_staff, for_tablet, only_theirs

DOOR: dict[str, Row] = {
    "door/": Row("/door/", for_members(200)),
    "door/in/<int:pk>/": Row("/door/in/{booking.pk}/", None, only_theirs("member", 302)),
    "door/out/<int:pk>/": Row("/door/out/{present.pk}/", None, only_theirs("other", 302)),
    # Whoever looks after the house or teaches may be in it without a booking.
    "door/here/": Row("/door/here/", None, {**for_members(302), "member": 422, "other": 422}),
    "door/gone/<int:pk>/": Row(
        "/door/gone/{visit.pk}/", None, {**for_owner(302), "member": NOT_THERE, "tutor": NOT_THERE}
    ),
    "door/said/<int:pk>/": Row(
        "/door/said/{present.pk}/",
        None,
        {**for_members(302), "member": NOT_THERE, "tutor": NOT_THERE},
        {"said": "none"},
    ),
    "door/sheets/<int:pk>/": Row(
        "/door/sheets/{present.pk}/", only_theirs("other", 200), only_theirs("other", 422), {"key": "own"}
    ),
    "door/walk-in/": Row(
        "/door/walk-in/", for_house(200), for_house(302), {"name": "Wim", "heads": "1", "key": "walk-in"}
    ),
    "help/": Row("/help/", for_members(200)),
    "help/first-evening/": Row("/help/first-evening/", for_members(200)),
    "help/day/": Row("/help/day/", for_house(200)),
    "help/mixing/": Row("/help/mixing/", for_house(200)),
    "help/bath-change/": Row("/help/bath-change/", for_house(200)),
    "help/bath-change/<str:code>/": Row("/help/bath-change/P-RC/", for_house(200)),
    "signs/": Row("/signs/", for_staff(200)),
    "signs/print/": Row("/signs/print/", for_staff(200)),
    "house/": Row("/house/", for_house(200)),
    "door-sheet/": Row("/door-sheet/", for_house(200)),
    "door-sheet/<day:on>/": Row("/door-sheet/2026-11-26/", for_house(200)),
    # The world's keyholder is on shift; off it they are refused: tests/door/test_door_at_desk.py.
    "roll/": Row("/roll/", for_house(200)),
    "tablet/people/": Row("/tablet/people/", for_tablet(200)),
    "tablet/people/in/<int:pk>/": Row("/tablet/people/in/{booking.pk}/", None, for_tablet(302)),
    "tablet/people/out/<int:pk>/": Row("/tablet/people/out/{present.pk}/", None, for_tablet(302)),
    "tablet/people/said/<int:pk>/": Row(
        "/tablet/people/said/{present.pk}/", None, for_tablet(302), {"said": "unknown"}
    ),
}
