"""What becomes of a party that has signed up: fewer heads, somebody else instead, names, what the tutor has to know."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from ..models import Place, PrivateNeed, Seat
from ..queries import terms_of
from ..queries.places import party_of
from ..rules import places as rules
from .places import locked_place, no, offer_seats, price_stays
from .telling import tell_place

State = Place.State


@act
def shrink(*, place: Place, heads: int, now: datetime, by: Member | None = None, by_house: bool = False) -> Place:
    """The party becomes smaller: the seats without a name go first, and whoever waits is asked.

    The price falls with it, unless ``rules.places.costs`` says that it stays due.
    """
    row = locked_place(place)
    no(rules.may_shrink(party_of(row), heads))
    if heads == row.heads:
        return row
    terms = terms_of(row.course)
    if terms.starts <= now:
        refuse("classes.has_begun")
    seats = sorted(row.seats.all(), key=lambda seat: (bool(seat.name), -seat.number))
    Seat.objects.filter(pk__in=[seat.pk for seat in seats[: max(len(seats) - heads, 0)]]).delete()
    before = row.heads
    late = price_stays(row, terms, now, by_house=by_house)
    if not late:
        row.price_minor = row.price_minor * heads // before
    row.heads = heads
    row.save(update_fields=["heads", "price_minor"])
    facts = {"before": before, "heads": heads, "late": late}
    record(code="classes.shrunk", happened_at=now, now=now, by=by, about=row, facts=facts)
    offer_seats(row.course, now)
    return row


@act
def transfer(*, place: Place, now: datetime, by: Member | None, to: Member) -> Place:
    """Somebody else comes instead: the place, with its seats and what was to be paid, is theirs.  Both are told.

    Refused: ``classes.not_booked``, ``classes.has_place`` for whoever has one of the course already, and what
    ``may_sign_up`` says of them.
    """
    row = locked_place(place)
    if row.state != State.BOOKED:
        refuse("classes.not_booked")
    if row.member_id == to.pk:
        return row
    if row.course.places.filter(member=to).exclude(state=State.ENDED).exists():
        refuse("classes.has_place", name=to.name)
    terms = terms_of(row.course)
    day = studio_day(terms.starts, stations.zone())
    no(rules.may_sign_up(terms, now, heads=1, day=day, born=to.born_on, adult_name=row.adult_name))
    facts = {"from": row.member_id, "to": to.pk}
    entry = record(code="classes.passed_on", happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_place(row, entry, "classes.passed_on", now, key=str(entry.pk), by=by)
    PrivateNeed.objects.filter(place=row).delete()
    first = row.seats.order_by("number").first()
    if first is not None:
        Seat.objects.filter(pk=first.pk).update(name=to.name)
    row.member, row.name, row.email = to, "", ""
    row.save(update_fields=["member", "name", "email"])
    told = record(code="classes.booked", happened_at=now, now=now, by=by, about=row, facts={"heads": row.heads})
    tell_place(row, told, "classes.booked", now, key=str(told.pk))
    return row


@act
def name_heads(*, place: Place, names: Sequence[str], now: datetime) -> Place:
    """Who the heads are, in seat order; an empty name is one that is not known yet."""
    row = locked_place(place)
    if row.state == State.ENDED:
        refuse("classes.place_ended")
    for seat, name in zip(row.seats.order_by("number"), names, strict=False):
        if seat.name != name.strip()[:120]:
            seat.name = name.strip()[:120]
            seat.save(update_fields=["name"])
    return row


@act
def say_need(*, place: Place, words: str, now: datetime) -> None:
    """What the tutor has to know of them; without words it is taken back.  The journal keeps nothing of it."""
    row = locked_place(place)
    if row.state == State.ENDED:
        refuse("classes.place_ended")
    if not words.strip():
        PrivateNeed.objects.filter(place=row).delete()
        return
    PrivateNeed.objects.update_or_create(place=row, defaults={"words": words.strip()[:2000], "said_at": now})
