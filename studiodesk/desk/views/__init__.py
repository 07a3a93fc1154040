"""The first page, the desk, the baths, closing a station, and the people who come here."""

from .baths import bath, board
from .closing import close_station, reopen_station
from .forecast import bath_forecast, reckon
from .home import home
from .notes import safety_note_edit
from .now import desk, sign_in, sign_out
from .persons import people, person, person_standing

__all__ = [
    "bath",
    "bath_forecast",
    "board",
    "close_station",
    "desk",
    "home",
    "people",
    "person",
    "person_standing",
    "reckon",
    "reopen_station",
    "safety_note_edit",
    "sign_in",
    "sign_out",
]
