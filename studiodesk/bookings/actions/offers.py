"""What becomes of an offer: taken, declined, or run out; and the end of wishes."""

from __future__ import annotations

import logging
from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import Refused
from studiodesk.journal.actions import call_off, record, tell
from studiodesk.people.models import Member

from ..models import Booking, Offer, WaitingWish
from ..queries import outages_hitting, rules_for
from ..queries import waiting as queries
from ..rules import waiting as rules
from .closing import tell_hit
from .holding import give_back, let_outages_have, wait_for_the_house
from .making import tell_booked
from .waiting import end_wish, offer_key, serve_all, serve_freed

log = logging.getLogger(__name__)
Answer = Offer.Answer
OPEN = [WaitingWish.State.WAITING, WaitingWish.State.OFFERED]


def _both(offer: Offer) -> tuple[Booking, Offer]:
    """The booking, locked, and its offer as it is now: whoever holds the booking holds both."""
    row = locked(Booking.objects.filter(pk=offer.booking_id)).get()
    return row, Offer.objects.select_related("wish").get(pk=offer.pk)


def _wish_of(offer: Offer) -> WaitingWish:
    found: WaitingWish = locked(WaitingWish.objects.filter(pk=offer.wish_id)).get()
    return found


@act
def accept(*, offer: Offer, now: datetime, by: Member) -> Booking:
    """Take what is kept: from now on it is booked like any other.  Taken before, it changes nothing."""
    row, offer = _both(offer)
    if offer.answer == Answer.TAKEN:
        return row
    refusal = rules.may_answer(offer.answer, offer.until, now)
    if refusal:
        raise Refused(refusal)
    wish = _wish_of(offer)
    row.offered_until, row.sequence, row.changed_at = None, row.sequence + 1, now
    row.save(update_fields=["offered_until", "sequence", "changed_at"])
    offer.answer, offer.answered_at = Answer.TAKEN, now
    offer.save(update_fields=["answer", "answered_at"])
    wish.state, wish.ended_at = WaitingWish.State.SERVED, now
    wish.save(update_fields=["state", "ended_at"])
    call_off(now=now, keys=[offer_key(row)])
    facts = {"member": row.member_id, "wish": wish.pk}
    entry = record(code="bookings.offer_taken", happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_booked(row, entry, rules_for(row.member, row.starts).limit("reminder_hours"), now)
    for outage in outages_hitting(row, now):  # went out of service while it was only kept
        tell_hit(row, outage, now, outage.made_by)
    return row


@act
def decline(*, offer: Offer, now: datetime, by: Member) -> Booking:
    """Give back what is kept; the wish goes on waiting at its place.  Declined before, it changes nothing."""
    wait_for_the_house()
    row, offer = _both(offer)
    if offer.answer == Answer.DECLINED:
        return row
    refusal = rules.may_answer(offer.answer, offer.until, now)
    if refusal:
        raise Refused(refusal)
    let_go(row, offer, Answer.DECLINED, now, by)
    return row


def cancel_kept(row: Booking, now: datetime, by: Member, reason: str = "") -> Booking:
    """Cancelling what is only kept: by the person it is a no to the offer, by the house it is told with its reason.

    ``row`` is locked.
    """
    let_go(row, queries.offer_of(row), Answer.DECLINED, now, by, reason)
    return row


def let_go(
    row: Booking, offer: Offer | None, answer: str, now: datetime, by: Member | None = None, reason: str = ""
) -> None:
    """The kept time is free again, the next in line is asked, and the wish waits on or ends.

    It is never late and nobody's strike.  ``row`` is locked.
    """
    wish = _wish_of(offer) if offer is not None else None
    row.cancelled_at, row.sequence, row.changed_at = now, row.sequence + 1, now
    row.save(update_fields=["cancelled_at", "sequence", "changed_at"])
    freed = give_back(row)
    call_off(now=now, keys=[offer_key(row)])
    facts: dict[str, object] = {"member": row.member_id}
    if offer is not None and wish is not None:
        offer.answer, offer.answered_at = answer, now
        offer.save(update_fields=["answer", "answered_at"])
        ran_out = queries.times_run_out(wish)
        stays = _wait_on(wish, ran_out, now, by)
        facts |= {"wish": wish.pk, "waits": stays, "times": ran_out}
    if reason:
        facts["reason"] = reason[:200]
    code = "bookings.offer_ran_out" if answer == Answer.RAN_OUT else "bookings.offer_declined"
    entry = record(code=code, happened_at=now, now=now, by=by, about=row, facts=facts)
    told = code if answer == Answer.RAN_OUT else "bookings.cancelled_by_house"
    if answer == Answer.RAN_OUT or (by is not None and by.pk != row.member_id):
        tell(entry=entry, person=row.member, code=told, unique_key=f"{told}:{row.pk}:{row.sequence}", due_at=now)
    let_outages_have(freed, now)
    serve_freed(row, now, freed)


def _wait_on(wish: WaitingWish, ran_out: int, now: datetime, by: Member | None) -> bool:
    """True if the wish waits on; one that let too many offers run out, or whose days are over, ends."""
    if wish.state not in OPEN:
        return False
    over = wish.not_after <= now
    if over or ran_out >= rules.MOST_RUN_OUT:
        end_wish(wish, "over" if over else "ran out", now, by)
        return False
    wish.state = WaitingWish.State.WAITING
    wish.save(update_fields=["state"])
    return True


@act
def stop_waiting(*, wish: WaitingWish, now: datetime, by: Member) -> WaitingWish:
    """Leave the line, and give back what is kept for it.  Stopped before, it changes nothing."""
    wait_for_the_house()
    offer = Offer.objects.filter(wish=wish.pk, answer="").first()
    row = None
    if offer is not None:
        row, offer = _both(offer)
    again = locked(WaitingWish.objects.filter(pk=wish.pk)).get()
    if again.state not in OPEN:
        return again
    end_wish(again, "stopped", now, by)
    if row is not None and offer is not None and offer.answer == "":
        let_go(row, offer, Answer.DECLINED, now, by)
    return again


@act
def _run_out(offer: Offer, now: datetime) -> bool:
    wait_for_the_house()
    row, offer = _both(offer)
    if offer.answer or offer.until > now:
        return False
    let_go(row, offer, Answer.RAN_OUT, now)
    return True


def expire_offers(*, now: datetime) -> int:
    """Offers whose time is up are given back, each in one transaction with what the next in line gets."""
    done = 0
    due = Offer.objects.filter(answer="", until__lte=now, booking__offered_until__isnull=False)
    for offer in list(due.order_by("until", "pk")):
        try:
            done += _run_out(offer, now)
        except Exception:  # the others are waited for all the same
            log.exception("offer %s could not run out", offer.pk)
    return done


@act
def end_old_wishes(*, now: datetime) -> int:
    """Who waited for days that are over waits no more; gives how many."""
    rows = WaitingWish.objects.filter(state=WaitingWish.State.WAITING, not_after__lte=now).order_by("pk")
    if not rows.exists():
        return 0
    ended = list(locked(rows))
    for wish in ended:
        end_wish(wish, "over", now)
    return len(ended)


def sweep_offers(*, now: datetime) -> int:
    """What time does to the waiting list; gives how many offers were made or ran out."""
    ran_out = expire_offers(now=now)
    end_old_wishes(now=now)
    return ran_out + serve_all(now=now)
