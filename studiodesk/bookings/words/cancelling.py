"""What cancelling means, said before anybody presses the button."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol

from django.utils.translation import gettext, ngettext

from studiodesk.words import fact_words


class Cancelling(Protocol):
    """What the house's numbers make of it at this moment."""

    @property
    def late(self) -> bool: ...
    @property
    def free_until(self) -> datetime: ...
    @property
    def notice_hours(self) -> int: ...
    @property
    def strikes(self) -> int | None: ...
    @property
    def strike_days(self) -> int: ...
    @property
    def pause_days(self) -> int: ...
    @property
    def hours_count(self) -> bool: ...


def cancel_words(now: Cancelling) -> list[str]:
    """Sentences in the order in which they are read; the first says whether it is late."""
    if not now.notice_hours:
        return [gettext("You can cancel until it begins; nothing is held against you.")]
    if not now.late:
        said = gettext("Cancel until %(until)s and nothing is held against you; after that it is late.")
        return [said % {"until": fact_words(now.free_until)}]
    begins = ngettext(
        "It is late to cancel: the booking begins in less than %(hours)s hour.",
        "It is late to cancel: the booking begins in less than %(hours)s hours.",
        now.notice_hours,
    )
    return [begins % {"hours": now.notice_hours}, *what_late_means(now)]


def what_late_means(now: Cancelling) -> list[str]:
    found = []
    if now.strikes is not None:
        counts = ngettext(
            "It is noted: after %(strikes)s late or missed booking in %(days)s days you cannot book for %(pause)s.",
            "It is noted: after %(strikes)s late or missed bookings in %(days)s days you cannot book for %(pause)s.",
            now.strikes,
        )
        pause = ngettext("%(days)s day", "%(days)s days", now.pause_days) % {"days": now.pause_days}
        found.append(counts % {"strikes": now.strikes, "days": now.strike_days, "pause": pause})
    else:
        found.append(gettext("It is noted, and nothing follows from it. Somebody else may still use the time."))
    if now.hours_count:
        found.append(gettext("Its hours still count towards your month."))
    return found
