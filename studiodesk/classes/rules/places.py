"""Places in a class: who has one, who waits, who is asked next, and on what terms one is given back.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import days_shifted

ASKED, WAITING, OFFERED, BOOKED, ENDED = "asked", "waiting", "offered", "booked", "ended"
#: States in which a party has seats.
SEATED = frozenset({ASKED, OFFERED, BOOKED})
#: A guest opens the mailed link within this time, or the seats are free again.
CONFIRM_WITHIN = timedelta(hours=2)
#: An offer is kept so long, but never later than ``ANSWER_BEFORE`` the class begins.
OFFER_LASTS = timedelta(hours=24)
ANSWER_BEFORE = timedelta(hours=1)
#: A party that lets so many offers run out does not wait on.
MOST_RUN_OUT = 2
#: More heads than this are a group, and groups talk to the desk first.
MOST_HEADS = 12
ADULT = 18


@dataclass(frozen=True)
class Party:
    """One sign-up as the rules see it; ``key`` breaks the tie of two that got in line at the same instant."""

    key: int
    heads: int
    state: str
    in_line_since: datetime
    until: datetime | None = None
    offers_run_out: int = 0
    booked_at: datetime | None = None


@dataclass(frozen=True)
class Terms:
    """What a class says to whoever signs up.  ``starts``: of its first date; ``ends``: of its last."""

    heads_most: int
    starts: datetime
    ends: datetime
    is_off: bool = False
    drop_in: bool = False
    is_room: bool = False
    free_cancel_days: int = 0
    minimum_age: int | None = None


def seats_left(terms: Terms, parties: Iterable[Party]) -> int:
    """Seats that nobody has; below 0 where the class was made smaller than what was promised."""
    return terms.heads_most - sum(party.heads for party in parties if party.state in SEATED)


def line(parties: Iterable[Party]) -> list[Party]:
    """Who waits, in the order in which they are asked."""
    return sorted((p for p in parties if p.state == WAITING), key=lambda p: (p.in_line_since, p.key))


def age_on(born: date, day: date) -> int:
    """Whole years on that day; whoever was born on 29 February is a year older from 1 March on in other years."""
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


def may_be_signed_up_for(terms: Terms) -> bool:
    """People just come to an open evening, and nobody to a room that is kept."""
    return not (terms.drop_in or terms.is_room)


def may_sign_up(
    terms: Terms, now: datetime, *, heads: int, day: date, born: date | None = None, adult_name: str = ""
) -> Refusal | None:
    """May a party of ``heads`` ask for places at all?  ``day``: the local day of the first date."""
    if terms.is_off:
        return Refusal("classes.called_off")
    if terms.is_room:
        return Refusal("classes.room_is_kept")
    if terms.drop_in:
        return Refusal("classes.just_come")
    if terms.starts <= now:
        return Refusal("classes.has_begun")
    if heads < 1:
        return Refusal("classes.no_heads", {"status": 422})
    if heads > MOST_HEADS:
        return Refusal("classes.is_a_group", {"most": MOST_HEADS})
    if heads > terms.heads_most:
        return Refusal("classes.never_so_many", {"most": terms.heads_most})
    if born is not None:
        age = age_on(born, day)
        if terms.minimum_age is not None and age < terms.minimum_age:
            return Refusal("classes.too_young", {"age": terms.minimum_age})
        if age < ADULT and not adult_name.strip():
            return Refusal("classes.needs_adult", {"age": ADULT})
    return None


def fits(terms: Terms, parties: Iterable[Party], heads: int) -> bool:
    """Are there seats for ``heads`` more?  Whoever waits is asked first (``to_ask``), as long as there is time to."""
    return heads <= seats_left(terms, parties)


def to_ask(terms: Terms, parties: Sequence[Party], now: datetime) -> list[Party]:
    """Who waits and can be offered seats now: in line order, each for whom what is left is enough.

    A large party at the head of the line keeps its place and does not keep seats empty that smaller ones can have.
    """
    if terms.is_off or offer_until(terms, now) is None:
        return []
    left, found = seats_left(terms, parties), []
    for party in line(parties):
        if party.heads <= left:
            found.append(party)
            left -= party.heads
    return found


def offer_until(terms: Terms, now: datetime) -> datetime | None:
    """Until when seats that are offered now are kept; None: too late to ask anybody."""
    until = min(now + OFFER_LASTS, terms.starts - ANSWER_BEFORE)
    return until if until > now else None


def may_answer(party: Party, now: datetime) -> Refusal | None:
    """May an offer still be taken or declined?"""
    if party.state != OFFERED:
        return Refusal("classes.no_offer")
    if party.until is not None and party.until <= now:
        return Refusal("classes.offer_over", {"until": party.until})
    return None


def may_take(terms: Terms, parties: Iterable[Party], party: Party, now: datetime) -> Refusal | None:
    """May this party have its seats now: those that are kept for it, or, in line, some that nobody has?"""
    if party.state != WAITING:
        return may_answer(party, now)
    if terms.is_off:
        return Refusal("classes.called_off")
    if terms.starts <= now:
        return Refusal("classes.has_begun")
    return None if fits(terms, parties, party.heads) else Refusal("classes.no_offer")


def may_confirm(party: Party, now: datetime) -> Refusal | None:
    """May a guest still say that it was they who asked?"""
    over = party.state == ENDED or (party.state == ASKED and party.until is not None and party.until <= now)
    return Refusal("classes.place_ended") if over else None


def asked_until(terms: Terms, now: datetime) -> datetime:
    """Until when a guest's seats are kept unconfirmed: never beyond the start."""
    return min(now + CONFIRM_WITHIN, terms.starts)


def waits_on(party: Party) -> bool:
    """After an offer that ran out: does it keep its place in line?"""
    return party.offers_run_out + 1 < MOST_RUN_OUT


def may_give_up(terms: Terms, party: Party, now: datetime, *, by_house: bool = False) -> Refusal | None:
    """Once the first date has begun only the house takes a place away."""
    if party.state == ENDED:
        return Refusal("classes.place_ended")
    return Refusal("classes.has_begun") if terms.starts <= now and not by_house else None


def is_late(terms: Terms, now: datetime, zone: ZoneInfo) -> bool:
    """Later than the class lets people go free: so many local days before, at the hour at which it begins."""
    return now > days_shifted(terms.starts, -terms.free_cancel_days, zone)


def costs(
    terms: Terms, party: Party, now: datetime, zone: ZoneInfo, *, moved_at: datetime | None, by_house: bool = False
) -> bool:
    """Given up now, whole or in part, does what was to be paid stay due?

    Never for what the house takes away, nor for whoever had booked before the class was moved.
    """
    if by_house or party.state != BOOKED:
        return False
    if moved_at is not None and party.booked_at is not None and party.booked_at <= moved_at:
        return False
    return is_late(terms, now, zone)


def may_shrink(party: Party, heads: int) -> Refusal | None:
    """A party may become smaller; larger is a sign-up of its own, behind whoever waits."""
    if party.state == ENDED:
        return Refusal("classes.place_ended")
    if heads < 1:
        return Refusal("classes.no_heads", {"status": 422})
    return Refusal("classes.only_fewer", {"heads": party.heads}) if heads > party.heads else None


def free_numbers(taken: Iterable[int], heads: int) -> list[int]:
    """The lowest ``heads`` seat numbers that nobody has."""
    has = set(taken)
    out: list[int] = []
    number = 1
    while len(out) < heads:
        if number not in has:
            out.append(number)
        number += 1
    return out


def decision(heads_least: int, parties: Iterable[Party]) -> bool:
    """Does the class go?  Counted are places that are booked; who was only asked may still say no."""
    return sum(party.heads for party in parties if party.state == BOOKED) >= heads_least
