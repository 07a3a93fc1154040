"""Every read of classes: what is taught, when, and who comes."""

from .courses import (
    access_course,
    access_outline,
    ahead,
    course_of_invitation,
    courses_of_tutor,
    due_for_decision,
    invitation_of,
    meetings_of,
    outlines,
    paper_expected,
    public_ahead,
    wishes_for,
    wishes_of,
)
from .letters import ABOUT as LETTERS_ABOUT
from .letters import letter_facts, reader
from .places import access_place, parties_of, party_of, place_key, place_of_key, places_of, places_to_come, terms_of

__all__ = [
    "LETTERS_ABOUT",
    "access_course",
    "access_outline",
    "access_place",
    "ahead",
    "course_of_invitation",
    "courses_of_tutor",
    "due_for_decision",
    "invitation_of",
    "letter_facts",
    "meetings_of",
    "outlines",
    "paper_expected",
    "parties_of",
    "party_of",
    "place_key",
    "place_of_key",
    "places_of",
    "places_to_come",
    "public_ahead",
    "reader",
    "terms_of",
    "wishes_for",
    "wishes_of",
]
