"""Who must be told what and when; what need not be said any more; which letters somebody wants."""

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any, NamedTuple

from studiodesk.acts import act

from .. import rules
from ..models import Entry, Notice, NoticeChoice
from .writing import record


class Telling(NamedTuple):
    """One person who must be told one thing; a plain tuple in this order is as good."""

    person: Any
    code: str
    unique_key: str
    due_at: datetime


def tell(*, entry: Entry, person: Any, code: str, unique_key: str, due_at: datetime) -> None:
    """Somebody must be told; the same key tells once."""
    Notice.objects.get_or_create(
        unique_key=unique_key, defaults={"entry": entry, "person": person, "code": code, "due_at": due_at}
    )


def tell_address(*, entry: Entry, address: str, code: str, unique_key: str, due_at: datetime) -> None:
    """The same to somebody without an account, who is known by an address alone."""
    Notice.objects.get_or_create(
        unique_key=unique_key, defaults={"entry": entry, "address": address, "code": code, "due_at": due_at}
    )


def tell_many(*, entry: Entry, rows: Iterable[Telling | tuple[Any, str, str, datetime]]) -> None:
    """Several people or several things at once, of an entry that is new: one statement.

    A key that told before is a database error here: nobody can have been told of what has only just happened.
    """
    Notice.objects.bulk_create(
        Notice(entry=entry, person=person, code=code, unique_key=key, due_at=due_at)
        for person, code, key, due_at in rows
    )


@act
def call_off(*, now: datetime, keys: Collection[str] = (), prefix: str = "") -> int:
    """What waits under these keys, or under keys that begin with ``prefix``, need not be said; gives how many.

    What was sent or is being sent just now stays as it is.  A prefix ends with a colon: without it the letters of
    booking 12 would go with those of booking 1 (``ValueError``).
    """
    if prefix and not prefix.endswith(":"):
        raise ValueError(f"{prefix!r} does not end with a colon")
    waiting = Notice.objects.filter(state=Notice.State.WAITING)
    gone = waiting.filter(unique_key__in=list(keys)).update(state=Notice.State.CALLED_OFF) if keys else 0
    if prefix:
        gone += waiting.filter(unique_key__startswith=prefix).update(state=Notice.State.CALLED_OFF)
    return gone


@act
def choose_letters(*, person: Any, wanted: dict[str, bool], now: datetime, by: Any) -> list[str]:
    """Which topics somebody wants letters of; topics that are not named stay as they are.  Gives what changed.

    No row means that a topic is wanted, but for those that come by choice alone; a topic that there is not is a
    ``KeyError``.
    """
    for topic in wanted:
        rules.TOPICS[topic]
    before = dict(NoticeChoice.objects.filter(person=person).values_list("topic", "wanted"))
    changed = sorted(topic for topic, wants in wanted.items() if before.get(topic, rules.comes_unasked(topic)) != wants)
    for topic in changed:
        NoticeChoice.objects.update_or_create(person=person, topic=topic, defaults={"wanted": wanted[topic]})
    if changed:
        facts = {"wanted": [t for t in changed if wanted[t]], "not_wanted": [t for t in changed if not wanted[t]]}
        record(code="journal.letters_chosen", happened_at=now, now=now, by=by, about=person, facts=facts)
    return changed
