"""Requests turned into what the rules and acts ask for, by noun."""

from .along import BookAllForm, ChangeForm, as_it_is
from .booking import FIELD_OF, BookForm, query_of
from .days import GoToForm
from .inputs import FURTHEST, LENGTHS, NOTHING, length_choices, near_enough, process_choices, usual_length
from .kit import kit_field, kit_name
from .needs import NeedForm, asked_of, need_fields, need_query
from .series import SeriesForm, SeriesTimeForm, clash_field, option_value, read_choices, scope_choices

__all__ = [
    "FIELD_OF",
    "FURTHEST",
    "LENGTHS",
    "NOTHING",
    "BookAllForm",
    "BookForm",
    "ChangeForm",
    "GoToForm",
    "NeedForm",
    "SeriesForm",
    "SeriesTimeForm",
    "as_it_is",
    "asked_of",
    "clash_field",
    "kit_field",
    "kit_name",
    "length_choices",
    "near_enough",
    "need_fields",
    "need_query",
    "option_value",
    "process_choices",
    "query_of",
    "read_choices",
    "scope_choices",
    "usual_length",
]
