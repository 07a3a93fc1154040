"""The only writers of the house: what there is, and who opens it when."""

from .describing import (
    describe_process,
    describe_processor,
    describe_station,
    describe_studio,
    set_closures,
    set_opening,
)

__all__ = [
    "describe_process",
    "describe_processor",
    "describe_station",
    "describe_studio",
    "set_closures",
    "set_opening",
]
