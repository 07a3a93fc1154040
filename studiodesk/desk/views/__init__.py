"""The first page, the desk, closing a station, and the people who come here."""

from .closing import close_station, reopen_station
from .home import home
from .notes import safety_note_edit
from .now import desk, sign_in, sign_out
from .persons import people, person, person_standing

__all__ = [
    "close_station",
    "desk",
    "home",
    "people",
    "person",
    "person_standing",
    "reopen_station",
    "safety_note_edit",
    "sign_in",
    "sign_out",
]
