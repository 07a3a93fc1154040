"""When did sheets go through that a tablet tells of later?  Pure."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from .feeding import TABLET_LOOKS_BACK

#: A clock this near to ours is right: what it is off by is the way here, and correcting would only blur the moments.
WAY_HERE = timedelta(seconds=10)
#: Further back than may be logged at all; nothing is gained by reckoning on.
LONGEST_WAIT = TABLET_LOOKS_BACK * 2
LATEST_MS = 253_402_300_799_000  # the last second of the year 9999


def moment_of(ms: int) -> datetime | None:
    """Milliseconds since 1970 as browsers count them; None if no calendar has that moment."""
    if not 0 <= ms <= LATEST_MS:
        return None
    return datetime.fromtimestamp(ms // 1000, UTC) + timedelta(milliseconds=ms % 1000)


def fed_at(tapped_at: datetime, sent_at: datetime, now: datetime) -> datetime:
    """``tapped_at`` and ``sent_at`` by the tablet's clock, which may be wrong; ``now`` by ours.

    How long a log waited is right however wrong the clock is, so it is reckoned back from our own time.  A clock that
    is right is believed as it stands.  The answer is never after ``now`` and at most ``LONGEST_WAIT`` before it.  A
    clock that was put right between tap and sending cannot be told from a long wait: what then seems older than a day
    is refused by ``may_log`` and goes to the desk.
    """
    off = now - sent_at
    if abs(off) <= WAY_HERE:
        return max(now - LONGEST_WAIT, min(tapped_at, now))
    waited = min(max(sent_at - tapped_at, timedelta()), LONGEST_WAIT)
    return now - waited
