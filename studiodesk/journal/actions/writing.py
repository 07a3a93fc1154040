"""Writing the journal, and answering a form once however often it is sent."""

import hashlib
import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, OperationalError, transaction

from studiodesk.acts import act, is_worth_retrying
from studiodesk.answers import refuse

from ..models import Entry, GivenAnswer

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
    if not key or len(key) > 80 or "\x00" in key:
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
