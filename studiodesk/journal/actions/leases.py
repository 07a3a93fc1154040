"""Who does a chore of the timetable just now, so that two timers do not do the same work side by side."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Q

from studiodesk.acts import act

from ..models import ChoreLease

#: A holder that was killed is waited for this long; every chore bears being done twice, so one that takes longer may be
#: joined by another.
LEASE_LASTS = timedelta(minutes=5)


@act
def take_lease(*, name: str, holder: str, now: datetime, lasts: timedelta = LEASE_LASTS) -> bool:
    """True for the one holder that may begin the chore ``name``; it gives the lease back when it is through.

    ``now`` is the real time, also where the chore is done as if it were another.
    """
    until = now + lasts
    free = Q(until__isnull=True) | Q(until__lte=now)
    if ChoreLease.objects.filter(free, name=name).update(holder=holder, until=until):
        return True
    _row, made = ChoreLease.objects.get_or_create(name=name, defaults={"holder": holder, "until": until})
    return made


@act
def give_back_lease(*, name: str, holder: str, now: datetime, done: bool) -> bool:
    """The next may begin.  False if the lease ran out meanwhile and is another's: then it stays that one's."""
    changes = {"holder": "", "until": None} | ({"last_done_at": now} if done else {})
    return ChoreLease.objects.filter(name=name, holder=holder).update(**changes) == 1
