"""Signing up, waiting, taking an offer, giving a place up, passing it on.

Every act here locks the course's row first: over its seats one decides at a time.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.bookings.actions.making import new_reference
from studiodesk.journal.actions import call_off, record
from studiodesk.journal.queries import times_of
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from ..models import Course, Place, PrivateNeed, Seat
from ..queries import parties_of, terms_of
from ..queries.places import party_of, places_to_come
from ..rules import places as rules
from .courses import fresh
from .telling import tell_place

State = Place.State
AGAIN, TOLD_AGAIN = "classes.asked_again", timedelta(minutes=10)


def no(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise Refused(refusal)


@act
def sign_up(
    *,
    course: Course,
    heads: int,
    now: datetime,
    member: Member | None = None,
    name: str = "",
    email: str = "",
    adult_name: str = "",
    by: Member | None = None,
    wait: bool = False,
) -> Place:
    """A place for a party of so many heads; with ``wait`` in line if the class is full.

    A guest (no ``member``) has the seats until the mailed link is opened, or for ``CONFIRM_WITHIN``.  Who signed up
    before and has not ended gets the same place again, and a guest the letter with it.

    Refused: what ``rules.places.may_sign_up`` says, and ``classes.full`` without ``wait``, with the seats left.
    """
    row = fresh(course)
    mine = _has_already(row, member, email)
    if mine is not None:
        return _told_again(mine, now)
    if member is None and not email.strip():
        refuse("classes.no_address", status=422)
    if member is not None and not member.is_active:
        refuse("classes.not_a_member", status=422)
    offer_seats(row, now)  # whoever waits comes before a stranger, also where an offer has just run out
    terms, parties = terms_of(row), parties_of(row)
    day = studio_day(terms.starts, stations.zone())
    born = member.born_on if member is not None else None
    no(rules.may_sign_up(terms, now, heads=heads, day=day, born=born, adult_name=adult_name))
    has_room = rules.fits(terms, parties, heads)
    if not has_room and not wait:
        refuse("classes.full", left=max(rules.seats_left(terms, parties), 0))
    price = row.price_minor
    if member is not None and row.member_price_minor is not None:
        price = row.member_price_minor
    state = State.WAITING if not has_room else State.BOOKED if member is not None else State.ASKED
    place = Place.objects.create(
        reference=new_reference(),
        course=row,
        member=member,
        name="" if member is not None else name.strip()[:120],
        email="" if member is not None else email.strip(),
        heads=heads,
        state=state,
        until=rules.asked_until(terms, now) if state == State.ASKED else None,
        price_minor=price * heads,
        adult_name=adult_name.strip()[:120],
        made_at=now,
        in_line_since=now,
        booked_at=now if state == State.BOOKED else None,
    )
    if has_room:
        _seat(place, [member.name if member is not None else name])
    code = {State.WAITING: "classes.waits", State.BOOKED: "classes.booked", State.ASKED: "classes.asked"}[state]
    entry = record(code=code, happened_at=now, now=now, by=by or member, about=place, facts={"heads": heads})
    tell_place(place, entry, code, now)
    return place


def _has_already(course: Course, member: Member | None, email: str) -> Place | None:
    """One that has not ended: a second press, or somebody who forgot that they did."""
    rows = course.places.exclude(state=State.ENDED)
    if member is not None:
        return rows.filter(member=member).first()
    asked = email.strip().casefold()
    guests = rows.filter(member__isnull=True) if asked else rows.none()
    return next((row for row in guests if row.email.casefold() == asked), None)


def _told_again(place: Place, now: datetime) -> Place:
    """A guest who signs up again has lost the letter: their link comes once more, at most once in ten minutes."""
    since = now - TOLD_AGAIN
    if place.member_id is None and place.made_at <= since and not times_of(AGAIN, "place", place.pk, since):
        codes = {State.ASKED: "asked", State.WAITING: "waits", State.OFFERED: "offered", State.BOOKED: "booked"}
        entry = record(code=AGAIN, happened_at=now, now=now, about=place)
        tell_place(place, entry, f"classes.{codes[State(place.state)]}", now, key=str(entry.pk))
    return place


def _seat(place: Place, names: Sequence[str] = ()) -> None:
    taken = Seat.objects.filter(course=place.course_id).values_list("number", flat=True)
    numbers = rules.free_numbers(taken, place.heads)
    named = [*(one.strip()[:120] for one in names), *[""] * place.heads]
    Seat.objects.bulk_create(
        Seat(course_id=place.course_id, place=place, number=number, name=name)
        for number, name in zip(numbers, named, strict=False)
    )


def locked_place(place: Place) -> Place:
    """The place as it is now, its course locked."""
    fresh(place.course)
    return Place.objects.select_related("course", "member").get(pk=place.pk)


def wait_for_classes(member: Member, now: datetime) -> None:
    """Lock every class to come in which somebody has a place: before the house's row and theirs, as every act does."""
    list(locked(Course.objects.filter(pk__in=places_to_come(member, now).values("course_id")).order_by("pk")))


@act
def confirm_place(*, place: Place, now: datetime) -> Place:
    """The guest opened the mailed link: the seats are theirs.  Twice is once; too late is ``classes.place_ended``."""
    row = locked_place(place)
    no(rules.may_confirm(party_of(row), now))
    if row.state != State.ASKED:
        return row
    row.state, row.until, row.booked_at = State.BOOKED, None, now
    row.save(update_fields=["state", "until", "booked_at"])
    entry = record(code="classes.booked", happened_at=now, now=now, about=row, facts={"heads": row.heads})
    tell_place(row, entry, "classes.booked", now)
    return row


@act
def correct_address(*, place: Place, email: str, now: datetime) -> Place:
    """A guest who mistyped their address: the link goes to the right one, the one before opens nothing."""
    row = locked_place(place)
    if row.state != State.ASKED:
        refuse("classes.address_stands")
    if not email.strip():
        refuse("classes.no_address", status=422)
    if row.email.casefold() == email.strip().casefold():
        return row
    row.email = email.strip()
    row.save(update_fields=["email"])
    call_off(now=now, prefix=f"classes.asked:{row.pk}:")
    entry = record(code="classes.address_corrected", happened_at=now, now=now, about=row)
    tell_place(row, entry, "classes.asked", now, key=str(entry.pk))
    return row


@act
def give_up(*, place: Place, now: datetime, by: Member | None = None, by_house: bool = False) -> Place:
    """The place ends and its seats go to whoever waits.  Twice is once.

    ``rules.places.costs`` says whether what was to be paid stays due.  ``by_house``: staff take it away, and whoever
    had it is told so whatever letters they want.
    """
    row = locked_place(place)
    if row.state == State.ENDED:
        return row
    terms = terms_of(row.course)
    no(rules.may_give_up(terms, party_of(row), now, by_house=by_house))
    late = price_stays(row, terms, now, by_house=by_house)
    end_place(row, now, "taken away" if by_house else "given up", late=late)
    code = "classes.taken_away" if by_house else "classes.given_up"
    facts = {"late": late, "heads": row.heads}
    entry = record(code=code, happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_place(row, entry, code, now)
    offer_seats(row.course, now)
    return row


def price_stays(row: Place, terms: rules.Terms, now: datetime, *, by_house: bool) -> bool:
    """``rules.places.costs`` of this place as it stands."""
    moved = row.course.moved_at
    return rules.costs(terms, party_of(row), now, stations.zone(), moved_at=moved, by_house=by_house)


def leave_seats(row: Place) -> None:
    """Its seats are free; those on which somebody came to a date stay, for that is what happened."""
    row.seats.exclude(attendance__came_at__isnull=False).delete()


def end_place(row: Place, now: datetime, because: str, *, late: bool = False) -> None:
    leave_seats(row)
    PrivateNeed.objects.filter(place=row).delete()
    row.state, row.until, row.ended_at, row.ended_because, row.was_late = State.ENDED, None, now, because, late
    row.save(update_fields=["state", "until", "ended_at", "ended_because", "was_late"])
    call_off(now=now, prefix=f"classes.offered:{row.pk}:")


def offer_seats(course: Course, now: datetime, *, but: Collection[int] = ()) -> list[Place]:
    """Whoever waits and whom it fits is asked, in line order.  The course is locked.

    ``but``: whoever has just let an offer run out is not asked again in the same breath, but with the next sweep.
    """
    terms = terms_of(course)
    asked = rules.to_ask(
        terms, [party for party in parties_of(course) if party.key not in but or party.state != State.WAITING], now
    )
    until = rules.offer_until(terms, now)
    rows = {row.pk: row for row in Place.objects.filter(pk__in=[one.key for one in asked]).select_related("member")}
    found = []
    for party in asked:
        row = rows[party.key]
        row.state, row.until = State.OFFERED, until
        row.save(update_fields=["state", "until"])
        _seat(row, [row.member.name if row.member is not None else row.name])
        facts = {"until": until.isoformat() if until else "", "heads": row.heads}
        entry = record(code="classes.offered", happened_at=now, now=now, about=row, facts=facts)
        tell_place(row, entry, "classes.offered", now, key=str(entry.pk))
        found.append(row)
    return found


@act
def accept_offer(*, place: Place, now: datetime, by: Member | None = None) -> Place:
    """The seats that were kept are taken, or by somebody in line such as are free.  Twice is once.

    Who is before them in line is asked first, as long as there is time to ask.
    """
    row = locked_place(place)
    if row.state == State.BOOKED:
        return row
    if row.state == State.WAITING and offer_seats(row.course, now):
        row = locked_place(place)
    no(rules.may_take(terms_of(row.course), parties_of(row.course), party_of(row), now))
    if row.state == State.WAITING:
        _seat(row, [row.member.name if row.member is not None else row.name])
    row.state, row.until, row.booked_at = State.BOOKED, None, now
    row.save(update_fields=["state", "until", "booked_at"])
    call_off(now=now, prefix=f"classes.offered:{row.pk}:")
    entry = record(code="classes.booked", happened_at=now, now=now, by=by, about=row, facts={"heads": row.heads})
    tell_place(row, entry, "classes.booked", now)
    return row


@act
def decline_offer(*, place: Place, now: datetime, by: Member | None = None) -> Place:
    """They do not want it: they wait no longer, and the next in line is asked."""
    row = locked_place(place)
    if row.state == State.ENDED:
        return row
    if row.state != State.OFFERED:
        refuse("classes.no_offer")
    end_place(row, now, "declined")
    record(code="classes.declined", happened_at=now, now=now, by=by, about=row, facts={"heads": row.heads})
    offer_seats(row.course, now)
    return row
