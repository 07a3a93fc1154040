"""The waiting list: who gets what somebody else gave back.

Locks: the house (if heads are counted), the booking that is given back or answered, wishes in the order of the line,
then what ``book`` locks.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime

from django.db import DatabaseError, transaction

from studiodesk.acts import act, is_away, is_worth_retrying, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record, tell
from studiodesk.journal.models import Entry
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from ..models import Booking, Hold, Offer, WaitingWish
from ..queries import rules_for
from ..queries import waiting as queries
from ..queries.touching import grid_of
from ..rules import waiting as rules
from ..rules.needs import Need, need_to_json
from ..rules.own import age_on
from .holding import wait_for_the_house
from .making import book

log = logging.getLogger(__name__)

#: How many stays are tried for one wish: in the act of somebody who gave a time back, and in the sweep.
TRIES, TRIES_OF_THE_SWEEP = 24, 200


@act
def wait(
    *,
    member: Member,
    need: Need,
    first_day: date,
    last_day: date,
    now: datetime,
    by: Member,
    not_before: int | None = None,
    not_after: int | None = None,
) -> WaitingWish:
    """Put ``member`` on the waiting list for ``need`` on one of these days.

    ``not_before`` and ``not_after`` (minutes after midnight) take the place of the need's own.  Refused: with a code of
    ``rules.waiting``, with ``bookings.wish_of_a_minor``, or with ``bookings.note_not_acknowledged``, for without that
    nothing could be offered.
    """
    need = replace(
        need,
        first_day=first_day,
        last_day=last_day,
        not_before=need.not_before if not_before is None else not_before,
        not_after=need.not_after if not_after is None else not_after,
    )
    # Two wishes of one person wait for each other, so that neither is counted past the other.
    who = locked(Member.objects.filter(pk=member.pk)).get()
    if not who.is_active:
        refuse("bookings.not_a_member", status=422)
    house = queries.rooms()
    refusal = rules.may_wait(
        need,
        now=now,
        zone=house.zone,
        grid=grid_of(house.studio, who),
        waits_for=queries.open_needs(who),
        fitting=len(house.made_for(need)),
    )
    if refusal:
        raise Refused(refusal)
    adult_age = rules_for(who, now).number("adult_age")
    if who.born_on is not None and age_on(who.born_on, last_day) < adult_age:
        refuse("bookings.wish_of_a_minor", age=adult_age)
    unread = queries.unread_for(who, need, house)
    if unread is not None:
        refuse("bookings.note_not_acknowledged", processor=unread.name, processor_code=unread.code)
    window = rules.outer(need, house.zone)
    if window is None:  # may_wait has seen to that
        refuse("bookings.wish_without_room", length=need.stay)
    wish = WaitingWish.objects.create(
        member=who,
        made_at=now,
        need=need_to_json(need),
        first_day=first_day,
        last_day=last_day,
        not_before=window.starts,
        not_after=window.ends,
    )
    facts = {"member": who.pk, "first_day": first_day.isoformat(), "last_day": last_day.isoformat()}
    record(code="bookings.wished", happened_at=now, now=now, by=by, about=wish, facts=facts)
    return wish


def end_wish(wish: WaitingWish, why: str, now: datetime, by: Member | None = None) -> None:
    """The wish is no longer in the line.  ``why``: "stopped", "over", "ran out"."""
    wish.state, wish.ended_at = WaitingWish.State.ENDED, now
    wish.save(update_fields=["state", "ended_at"])
    record(
        code="bookings.wish_ended",
        happened_at=now,
        now=now,
        by=by,
        about=wish,
        facts={"member": wish.member_id, "why": why},
    )


def offer_key(booking: Booking) -> str:
    return f"bookings.offered:{booking.pk}"


def serve_freed(booking: Booking, now: datetime, freed: Iterable[Hold] = ()) -> None:
    """What ``booking`` gave back is offered to the first who waits for it, in the same transaction.

    ``freed``: the holds it gave back; without them its own times.  Whatever goes wrong here, the time stays given back,
    and the sweep looks again; only a fault for which the whole act is tried again is passed on.
    """
    holds = list(freed)
    starts = min((hold.starts for hold in holds), default=booking.starts)
    ends = max((hold.ends for hold in holds), default=booking.ends)
    if ends <= now:
        return
    around = Span(starts, ends).widened(rules.REACH, rules.REACH)
    if not queries.somebody_waits(around):
        return
    try:
        with transaction.atomic():
            house = queries.rooms()
            for wish in queries.line(around):
                _serve(wish, house, now, around, TRIES)
    except DatabaseError as error:
        if is_worth_retrying(error) or is_away(error):
            raise
        log.exception("what booking %s gave back could not be offered", booking.pk)
    except Exception:
        log.exception("what booking %s gave back could not be offered", booking.pk)


def serve_all(*, now: datetime) -> int:
    """Look for everybody who waits, in their order: for what became free otherwise; gives how many were served."""
    if not queries.somebody_waits():
        return 0
    house, served = queries.rooms(), 0
    for wish in queries.line():
        # Looked for outside the act: mostly there is nothing, and nobody has to wait for that.
        if next(queries.stays_for(wish, house, now), None) is None:
            continue
        try:
            served += _serve(wish, house, now, None, TRIES_OF_THE_SWEEP)
        except Exception:  # whatever is wrong with this one, the next still waits
            log.exception("nothing could be offered for wish %s", wish.pk)
    return served


@act
def _serve(wish: WaitingWish, house: queries.Rooms, now: datetime, around: Span | None, tries: int) -> bool:
    """Offer the first stay that can be booked for this wish; False if there is none, or it waits no more."""
    wait_for_the_house()
    stays = queries.stays_for(wish, house, now, around)
    first = next(stays, None)
    if first is None:
        return False
    row = locked(WaitingWish.objects.filter(pk=wish.pk, state=WaitingWish.State.WAITING)).first()
    kit = queries.kit_for(queries.need_of(wish))
    if row is None or kit is None:
        return False
    minutes = rules_for(wish.member, now).number("offer_minutes")
    passed_over: set[date] = set()
    # Read again under the lock: meanwhile this very wish may have been offered something and given it back.
    for stay in queries.stays_for(wish, house, now, around):
        if stay.day in passed_over:
            continue
        until = rules.kept_until(now, minutes, stay.span.starts)
        try:
            booking = book(
                member=wish.member,
                station=stay.station,
                process=stay.process,
                starts=stay.span.starts,
                ends=stay.span.ends,
                now=now,
                by=wish.member,
                kit=kit,
                offered_until=until,
                quietly=True,
            )
        except Refused as refused:
            tries -= 1
            if refused.refusal.code in rules.OF_THE_PERSON or not tries:
                return False
            if refused.refusal.code in rules.OF_THE_DAY:
                passed_over.add(stay.day)
            continue
        _offer(row, booking, until, now)
        return True
    return False


def _offer(wish: WaitingWish, booking: Booking, until: datetime, now: datetime) -> None:
    """Write down that this is the offer, and tell whoever waited."""
    Offer.objects.create(wish=wish, booking=booking, made_at=now, until=until)
    wish.state = WaitingWish.State.OFFERED
    wish.save(update_fields=["state"])
    entry = Entry.objects.filter(about=Booking._meta.model_name, about_id=booking.pk, code="bookings.offered").get()
    tell(entry=entry, person=booking.member, code="bookings.offered", unique_key=offer_key(booking), due_at=now)
