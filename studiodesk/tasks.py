"""The whole background timetable.  ``manage.py tick`` does the same once, from any timer, without a worker.

Nothing here is the only copy of anything: a tick that is lost is made good by the next, and two at once share the work
because each letter is claimed.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from typing import Any

from celery import current_app, shared_task
from django.utils import timezone

from studiodesk import letters
from studiodesk.chemistry import actions as chemistry
from studiodesk.journal import actions as journal
from studiodesk.people import actions as people
from studiodesk.planning import actions as planning

log = logging.getLogger(__name__)

#: In this order, each on its own: what fails is told and does not keep back what comes after it.
CHORES: dict[str, Callable[[datetime], Any]] = {
    "baths": lambda now: chemistry.review_baths(now=now),
    "forecasts": lambda now: planning.forecast_tonight(now=now),
    "letters": lambda now: journal.send_due_notices(now=now, render=letters.render, clock=timezone.now),
    "answers": lambda now: journal.forget_given_answers(now=now),
    "sessions": lambda now: people.forget_ended_sessions(now=now),
}


def do_chores(now: datetime) -> tuple[dict[str, Any], list[str]]:
    """Every chore once: what each answered, and the names of those that failed."""
    answers: dict[str, Any] = {}
    failed: list[str] = []
    for name, chore in CHORES.items():
        try:
            answers[name] = chore(now)
        except Exception:  # the next chore has to be done all the same
            log.exception("the chore %s failed", name)
            failed.append(name)
    return answers, failed


@shared_task(name="studiodesk.tick", ignore_result=True)
def tick() -> None:
    do_chores(timezone.now())


#: For the timer, which loads its app before this page.  A tick that nobody took before the next is not worth doing.
current_app.conf.beat_schedule = {
    "tick": {"task": "studiodesk.tick", "schedule": 60.0, "options": {"expires": 55}},
}
