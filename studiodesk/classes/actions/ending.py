"""What ends by itself: offers that nobody answered, guests who never confirmed, words that only tutors read."""

from __future__ import annotations

from datetime import datetime, timedelta

from studiodesk.acts import act
from studiodesk.journal.actions import record

from ..models import Course, Place, PrivateNeed
from ..queries.places import party_of, run_out, with_a_line
from ..rules import places as rules
from .courses import fresh
from .one_by_one import one_by_one
from .places import end_place, locked_place, offer_seats
from .telling import tell_place

#: So long after the last date what only the tutor may read is deleted.
NEEDS_KEPT = timedelta(days=14)


def end_run_out(*, now: datetime) -> int:
    """Give back what was kept until now, and ask the next in line; answers how many places it touched.

    Whoever let an offer run out is asked again with the next sweep, if the seats still fit nobody else.
    """
    lapsed = frozenset(row.pk for row, did in one_by_one(run_out(now), lambda place: _run_out(place, now)) if did)
    asked = one_by_one(with_a_line(now), lambda course: _ask(course, now, lapsed))
    return len(lapsed) + sum(len(found) for _course, found in asked)


@act
def _ask(course: Course, now: datetime, but: frozenset[int]) -> list[Place]:
    return offer_seats(fresh(course), now, but=but)


@act
def _run_out(place: Place, now: datetime) -> bool:
    row = locked_place(place)
    if row.until is None or row.until > now:  # answered meanwhile
        return False
    was_offered = row.state == Place.State.OFFERED
    stays = was_offered and rules.waits_on(party_of(row))
    if stays:
        row.seats.all().delete()
        row.state, row.until, row.offers_run_out = Place.State.WAITING, None, row.offers_run_out + 1
        row.save(update_fields=["state", "until", "offers_run_out"])
    else:
        end_place(row, now, "ran out")
    code = "classes.offer_ran_out" if was_offered else "classes.not_confirmed"
    facts = {"waits": stays, "heads": row.heads}
    entry = record(code=code, happened_at=now, now=now, about=row, facts=facts)
    tell_place(row, entry, code, now, key=str(entry.pk))
    offer_seats(row.course, now, but={row.pk})
    return True


@act
def forget_needs(*, now: datetime) -> int:
    """Delete what only tutors could read, a fortnight after the last date; answers how many."""
    over = PrivateNeed.objects.exclude(place__course__meetings__stay__ends__gt=now - NEEDS_KEPT)
    return over.delete()[0]
