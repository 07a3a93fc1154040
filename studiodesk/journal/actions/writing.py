"""Writing the journal, and answering a form once however often it is sent."""

import hashlib
import json
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import IntegrityError, OperationalError, transaction
from django.db.models import F

from studiodesk.acts import act, is_worth_retrying
from studiodesk.answers import refuse

from .. import queries
from ..models import Entry, GivenAnswer, Notice

log = logging.getLogger(__name__)

#: A claim older than this belongs to somebody who was killed.
CLAIM_LASTS = timedelta(minutes=10)
#: A letter that cannot be sent is tried again after 1, 2, 4 … minutes; the last wait is over four hours.
MOST_TRIES = 9
ANSWERS_KEPT = timedelta(days=7)


def record(
    *,
    code: str,
    happened_at: datetime,
    now: datetime,
    by: Any = None,
    tablet: Any = None,
    about: Any = None,
    facts: Mapping[str, Any] | None = None,
) -> Entry:
    """One entry inside the caller's transaction.  ``facts``: ids and numbers only, no names."""
    return Entry.objects.create(
        code=code,
        happened_at=happened_at,
        recorded_at=now,
        actor=by,
        tablet=tablet,
        about=about._meta.model_name if about is not None else "",
        about_id=about.pk if about is not None else None,
        facts=dict(facts or {}),
    )


def tell(*, entry: Entry, person: Any, code: str, unique_key: str, due_at: datetime) -> None:
    """Somebody must be told; the same key tells once."""
    Notice.objects.get_or_create(
        unique_key=unique_key, defaults={"entry": entry, "person": person, "code": code, "due_at": due_at}
    )


def hash_of(body: Mapping[str, Any]) -> str:
    """A hash of a form's fields, whatever their order."""
    return hashlib.sha256(json.dumps(body, sort_keys=True, default=str).encode()).hexdigest()


@act
def once(
    *, key: str, asker: str, body: Mapping[str, Any], now: datetime, work: Callable[[], dict[str, Any]]
) -> tuple[dict[str, Any], bool]:
    """Do ``work`` the first time this key comes from this asker; afterwards give the same answer again.

    Returns the answer (a JSON object) and whether it was a replay.  The answer is kept in the transaction of the work
    itself, so that a crash leaves both or neither.  Refused: ``journal.no_key`` (400), ``journal.key_used_before``
    (422, the same key with other fields).  A second press while the first still runs waits for it; after the
    database's lock time it is ``journal.still_running`` (409).
    """
    if not key or len(key) > 80:
        refuse("journal.no_key", status=400)
    fingerprint = hash_of(body)
    try:
        with transaction.atomic():
            given = GivenAnswer.objects.create(key=key, asker=asker, body_hash=fingerprint, given_at=now)
    except OperationalError as error:
        if is_worth_retrying(error):  # the first press holds the key and has not finished
            refuse("journal.still_running")
        raise
    except IntegrityError:
        earlier = GivenAnswer.objects.get(key=key, asker=asker)
        if earlier.body_hash != fingerprint:
            refuse("journal.key_used_before", status=422)
        return earlier.answer, True
    answer = work()
    GivenAnswer.objects.filter(pk=given.pk).update(answer=answer)
    return answer, False


@act
def forget_given_answers(*, now: datetime) -> int:
    """Remove answers that no second press will ask for any more; gives how many."""
    return GivenAnswer.objects.filter(given_at__lt=now - ANSWERS_KEPT).delete()[0]


@dataclass(frozen=True)
class Letter:
    """What is said to one person by mail."""

    subject: str
    body: str


@dataclass
class Sweep:
    """What one sweep did: letters sent, of them second copies, not sent this time, given up."""

    sent: int = 0
    second_copies: int = 0
    failed: int = 0
    given_up: int = 0


def send_due_notices(
    *,
    now: datetime,
    render: Callable[[Notice, bool], Letter],
    limit: int = 200,
    clock: Callable[[], datetime] | None = None,
) -> Sweep:
    """Send what is due.  Any number of sweeps may run at once: each letter is claimed by one of them.

    ``render(notice, again)`` writes a letter; ``again`` is true if an earlier sweep claimed it and was never heard of
    since, so that the person may already have it.  Such a second copy carries the same Message-ID and is counted.
    ``clock`` (default: always ``now``) tells the time between letters.
    """
    clock = clock or (lambda: now)
    done = Sweep()
    for notice in list(queries.notices_to_send(now, now - CLAIM_LASTS)[:limit]):
        again = notice.state == Notice.State.CLAIMED
        if not _claim(notice, clock()):
            continue
        try:
            _send(notice, render(notice, again), again)
        except Exception:  # whatever it was, the others still have to be told
            log.exception("notice %s could not be sent", notice.pk)
            done.failed += 1
            done.given_up += _put_back(notice, clock())
            continue
        _mark_sent(notice, again, clock())
        done.sent += 1
        done.second_copies += again
    return done


@act
def _claim(notice: Notice, at: datetime) -> bool:
    """True for the one sweep that gets it: the row must still be as it was seen."""
    seen = Notice.objects.filter(pk=notice.pk, state=notice.state, claimed_at=notice.claimed_at)
    if notice.claimed_at is None:
        seen = Notice.objects.filter(pk=notice.pk, state=notice.state, claimed_at__isnull=True)
    return seen.update(state=Notice.State.CLAIMED, claimed_at=at, tries=F("tries") + 1) == 1


def message_id(notice: Notice) -> str:
    """The same for every copy of one letter, so that mail programs show it once."""
    return f"<notice-{notice.pk}-{hash_of({'key': notice.unique_key})[:16]}@{urlsplit(settings.SITE_ADDRESS).hostname}>"


def _send(notice: Notice, letter: Letter, again: bool) -> None:
    headers = {"Message-ID": message_id(notice), "Auto-Submitted": "auto-generated"}
    if again:
        headers["X-Second-Copy"] = "maybe"
    EmailMessage(
        subject=" ".join(letter.subject.split()), body=letter.body, to=[notice.person.email], headers=headers
    ).send()


@act
def _mark_sent(notice: Notice, again: bool, at: datetime) -> None:
    Notice.objects.filter(pk=notice.pk).update(state=Notice.State.SENT, sent_at=at)
    if again:
        record(code="journal.sent_again", happened_at=at, now=at, about=notice)


@act
def _put_back(notice: Notice, at: datetime) -> bool:
    """Later again, or given up after too many tries (true)."""
    tries = notice.tries + 1
    over = tries >= MOST_TRIES
    Notice.objects.filter(pk=notice.pk).update(
        state=Notice.State.GIVEN_UP if over else Notice.State.WAITING,
        claimed_at=None,
        due_at=at + timedelta(minutes=2 ** (tries - 1)),
    )
    if over:
        record(code="journal.given_up", happened_at=at, now=at, about=notice)
    return over
