"""Which letters somebody may do without.  No Django."""

from __future__ import annotations

#: Topic → the letters that belong to it.  A name that ends with an underscore or a dot stands for all that begin so.
TOPICS: dict[str, tuple[str, ...]] = {
    "confirmations": (
        "bookings.booked",
        "classes.booked",
        "classes.given_up",
        "classes.waits",
        "bookings.cancelled",
        "bookings.series_booked",
        "bookings.series_cancelled",
    ),
    "changes": ("bookings.changed", "bookings.series_changed"),
    "reminders": ("bookings.reminder",),
    "offers": ("bookings.offer_ran_out", "classes.offer_ran_out"),
    "visits": ("bookings.released",),
    "membership": ("people.membership_", "safety.signed_off"),
    "shifts": ("stations.shift_open_", "stations.shift_given_back", "stations.swap_asked", "bookings.fault_reported"),
    "alerts": ("chemistry.alert",),
}

#: What comes whatever somebody chose: it changes what they may count on, wants an answer, or was asked for by them.
ALWAYS = frozenset(
    {
        "bookings.cancelled_by_house",
        "bookings.group_hit",
        "bookings.group_refitted",
        "bookings.hit",
        "bookings.hit_no_more",
        "bookings.house_closed",
        "bookings.moved_by_house",
        "bookings.offered",
        "bookings.overrun",
        "classes.asked",
        "classes.called_off",
        "classes.goes",
        "classes.hire_agreed",
        "classes.hire_called_off",
        "classes.hire_changed",
        "classes.hire_moved",
        "classes.hire_quote",
        "classes.hired",
        "classes.moved",
        "classes.not_confirmed",
        "classes.offered",
        "classes.passed_on",
        "classes.taken_away",
        "classes.you_teach",
        "classes.you_teach_no_more",
        "people.invited",
        "people.password_link",
        "safety.sign_off_revoked",
        "stations.shift_assigned",
        "stations.shift_called_off",
        "stations.shift_moved",
        "stations.swap_taken",
    }
)

#: What also somebody is told who has left: they still count on a time that they will not have.
WHO_LEFT_TOO = frozenset({"bookings.cancelled_by_house", "classes.called_off", "classes.taken_away"})

#: Only whoever may stand at the door gets letters about shifts and faults, and is asked about them.
OF_THE_HOUSE = frozenset({"shifts"})

#: Only whoever runs the house is asked about these.
OF_WHO_RUNS_IT = frozenset({"alerts"})

#: These come only to whoever chose them; all others come until somebody says no.
BY_CHOICE = frozenset({"alerts"})


def _belongs(code: str, names: tuple[str, ...]) -> bool:
    return any(code == name or (name[-1] in "_." and code.startswith(name)) for name in names)


def topic_of(code: str) -> str | None:
    """The topic of a letter; None for one that comes always, which is also said of a letter that nobody sorted."""
    if code in ALWAYS:
        return None
    return next((topic for topic, names in TOPICS.items() if _belongs(code, names)), None)


def topics_for(*, opens_the_house: bool, runs_the_house: bool = False) -> list[str]:
    """The topics that somebody is asked about, in reading order."""
    not_asked = (frozenset() if opens_the_house else OF_THE_HOUSE) | (frozenset() if runs_the_house else OF_WHO_RUNS_IT)
    return [topic for topic in TOPICS if topic not in not_asked]


def comes_unasked(topic: str) -> bool:
    """Whether letters of a topic come to somebody who chose nothing."""
    return topic not in BY_CHOICE
