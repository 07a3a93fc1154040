"""The whole background timetable.  ``manage.py tick`` does the same once, from any timer, without a worker.

Once a minute (``STUDIODESK_TICK_SECONDS``) the timer (Celery's beat) asks for one tick and a worker does it: all of
``CHORES`` in their order.  A chore is begun only by whoever gets its lease; somebody else's is left alone.  A holder
that was killed is waited for until its lease runs out; one that failed gives it back at once, for the next tick.

Nothing here is the only copy of anything: a tick that is lost is made good by the next, every chore bears being done
twice, and each letter is claimed besides.  No page and no act asks for a tick, so none ever waits for Redis.
"""

from __future__ import annotations

import logging
import os
import secrets
import socket
from collections.abc import Callable
from datetime import datetime, time
from typing import Any, NamedTuple

from celery import current_app, shared_task
from django.conf import settings
from django.utils import timezone

from studiodesk import letters
from studiodesk.bookings import actions as bookings
from studiodesk.chemistry import actions as chemistry
from studiodesk.classes import actions as classes
from studiodesk.journal import actions as journal
from studiodesk.people import actions as people
from studiodesk.planning import actions as planning
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as stations_queries
from studiodesk.timekeeping import localise, studio_day

log = logging.getLogger(__name__)

#: When a letter that has all day is sent, on the studio's clock.
MORNING = time(9)


def remind_of_endings(now: datetime) -> int:
    """Memberships end with the studio's own days; who is told of one gets the letter in the morning."""
    studio = stations_queries.studio_or_none()
    if studio is None:
        return 0
    zone = stations_queries.zone(studio)
    today = studio_day(now, zone)
    return people.remind_of_endings(now=now, today=today, due_at=localise(datetime.combine(today, MORNING), zone))


def _going_on(now: datetime) -> Callable[[], datetime]:
    """A clock that stood at ``now`` and goes on from there: also where ``now`` is another time than the real one."""
    began = timezone.now()
    return lambda: now + (timezone.now() - began)


#: In this order, each on its own: what fails is told and does not keep back what comes after it.
CHORES: dict[str, Callable[[datetime], Any]] = {
    "baths": lambda now: chemistry.review_baths(now=now),
    "jobs": lambda now: chemistry.review_jobs(now=now),
    "strips": lambda now: chemistry.review_strips(now=now),
    "waste": lambda now: chemistry.review_waste(now=now),
    "stock": lambda now: chemistry.review_stock(now=now),
    "alerts": lambda now: chemistry.tell_of_alerts(now=now),
    "forecasts": lambda now: planning.forecast_tonight(now=now),
    "shifts": lambda now: stations.flag_uncovered(now=now),
    "memberships": lambda now: remind_of_endings(now),
    "no-shows": lambda now: bookings.release_no_shows(now=now),
    "overruns": lambda now: bookings.warn_of_overruns(now=now),
    "offers": lambda now: bookings.sweep_offers(now=now),
    "places": lambda now: classes.end_run_out(now=now),
    "classes": lambda now: classes.decide_due(now=now),
    "private needs": lambda now: classes.forget_needs(now=now),
    "letters": lambda now: journal.send_due_notices(now=now, render=letters.render, clock=_going_on(now)),
    "answers": lambda now: journal.forget_given_answers(now=now),
    "sessions": lambda now: people.forget_ended_sessions(now=now),
}


class Round(NamedTuple):
    """What one tick did: each chore's answer, the names of those that failed, and of those somebody else is at."""

    answers: dict[str, Any]
    failed: list[str]
    elsewhere: list[str]


def _holder() -> str:
    """Who begins a chore, for whoever looks why it does not end: the machine, the process and a word of its own."""
    return f"{socket.gethostname()[:50]}:{os.getpid()}:{secrets.token_hex(4)}"


def do_chores(now: datetime) -> Round:
    """Every chore once, as if it were ``now``; the leases go by the clock all the same."""
    done, holder = Round({}, [], []), _holder()
    for name, chore in CHORES.items():
        try:
            if not journal.take_lease(name=name, holder=holder, now=timezone.now()):
                done.elsewhere.append(name)
                continue
            well = False
            try:
                done.answers[name] = chore(now)
                well = True
            finally:
                journal.give_back_lease(name=name, holder=holder, now=timezone.now(), done=well)
        except Exception:  # the next chore has to be done all the same
            log.exception("the chore %s failed", name)
            done.failed.append(name)
    return done


@shared_task(name="studiodesk.tick", ignore_result=True, Request="studiodesk_site.celery:WithoutReceipt")
def tick() -> None:
    do_chores(timezone.now())


#: For the timer, which loads its app before this page.  A tick that nobody took before the next is not worth doing.
current_app.conf.beat_schedule = {
    "tick": {
        "task": "studiodesk.tick",
        "schedule": settings.TICK_SECONDS,
        "options": {"expires": settings.TICK_SECONDS * 0.9},
    },
}
