"""Sending what is due: any number of sweeps at once, each letter claimed by one of them."""

import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from email.encoders import encode_base64
from email.mime.nonmultipart import MIMENonMultipart
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db.models import F

from studiodesk.acts import act

from .. import queries, rules
from ..models import Notice
from .writing import hash_of, record

log = logging.getLogger(__name__)

#: A claim older than this belongs to somebody who was killed.
CLAIM_LASTS = timedelta(minutes=10)
#: A letter that cannot be sent is tried again after 1, 2, 4 … 128 minutes: over four hours in all.
MOST_TRIES = 9


@dataclass(frozen=True)
class Attachment:
    """A file that comes with a letter; ``mime`` may carry parameters: ``text/calendar; method=PUBLISH``."""

    name: str
    content: bytes
    mime: str


@dataclass(frozen=True)
class Letter:
    """What is said to one person by mail: as plain text, as HTML too if there is any, and the files with it."""

    subject: str
    body: str
    html: str | None = None
    attachments: tuple[Attachment, ...] = ()


@dataclass
class Sweep:
    """What one sweep did.

    ``second_copies`` are among the letters sent.  ``not_wanted``: the person wants none of that topic;
    ``called_off``: they have left, or it is no longer worth saying.
    """

    sent: int = 0
    second_copies: int = 0
    failed: int = 0
    given_up: int = 0
    not_wanted: int = 0
    called_off: int = 0
    #: (the person's number, what is told, the letter's subject) of each letter sent, in order; a guest has no number
    told: list[tuple[str, str, str]] = field(default_factory=list)


def send_due_notices(
    *,
    now: datetime,
    render: Callable[[Notice, bool], Letter | None],
    limit: int = 200,
    clock: Callable[[], datetime] | None = None,
) -> Sweep:
    """Send what is due, but for what its person does not want and what need not be said any more.

    ``render(notice, again)`` writes a letter, or None if it is no longer worth sending; ``again`` is true if an earlier
    sweep claimed it and was never heard of since, so that the person may already have it.  Such a second copy carries
    the same Message-ID and is counted.  ``clock`` (default: always ``now``) tells the time between letters.
    """
    clock = clock or (lambda: now)
    done = Sweep()
    due = list(queries.notices_to_send(now, now - CLAIM_LASTS)[:limit])
    refused = queries.topics_not_wanted({notice.person_id for notice in due if notice.person_id is not None})
    for notice in due:
        again, at = notice.state == Notice.State.CLAIMED, clock()
        if not _claim(notice, at):
            continue
        person = notice.person
        gone = person is not None and not person.is_active and notice.code not in rules.WHO_LEFT_TOO
        if gone or (notice.person_id, rules.topic_of(notice.code)) in refused:
            done.called_off += gone
            done.not_wanted += not gone
            _mark_called_off(notice)
            continue
        notice.claimed_at = at
        try:
            letter = render(notice, again)
            if letter is not None:
                _send(notice, letter, again)
        except Exception:  # whatever it was, the others still have to be told
            log.exception("notice %s could not be sent", notice.pk)
            done.failed += 1
            done.given_up += _put_back(notice, clock())
            continue
        if letter is None:
            _mark_called_off(notice)
            done.called_off += 1
            continue
        _mark_sent(notice, again, clock())
        done.sent += 1
        done.told.append((person.number if person is not None else "", notice.code, letter.subject))
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


def _part(attachment: Attachment) -> MIMENonMultipart:
    """As base64, which keeps every byte: the lines of a calendar end in CR LF wherever the mail passes (RFC 2045)."""
    kind, *parameters = (piece.strip() for piece in attachment.mime.split(";"))
    main, _slash, sub = kind.partition("/")
    given = {name.strip(): value.strip() for name, _equals, value in (one.partition("=") for one in parameters)}
    part = MIMENonMultipart(main, sub, **given)
    part.set_payload(attachment.content)
    encode_base64(part)
    part.add_header("Content-Disposition", "attachment", filename=attachment.name)
    return part


def _send(notice: Notice, letter: Letter, again: bool) -> None:
    headers = {"Message-ID": message_id(notice), "Auto-Submitted": "auto-generated"}
    if again:
        headers["X-Second-Copy"] = "maybe"
    message = EmailMultiAlternatives(
        subject=" ".join(letter.subject.split()),
        body=letter.body,
        to=[notice.person.email if notice.person is not None else notice.address],
        headers=headers,
    )
    if letter.html is not None:
        message.attach_alternative(letter.html, "text/html")
    for attachment in letter.attachments:
        message.attach(_part(attachment))
    message.send()


@act
def _mark_sent(notice: Notice, again: bool, at: datetime) -> None:
    Notice.objects.filter(pk=notice.pk).update(state=Notice.State.SENT, sent_at=at)
    if again:
        record(code="journal.sent_again", happened_at=at, now=at, about=notice)


@act
def _mark_called_off(notice: Notice) -> None:
    Notice.objects.filter(pk=notice.pk).update(state=Notice.State.CALLED_OFF)


@act
def _put_back(notice: Notice, at: datetime) -> bool:
    """Later again, or given up after too many tries (true).  What another sweep has claimed since is that one's."""
    tries = notice.tries + 1
    over = tries >= MOST_TRIES
    ours = Notice.objects.filter(pk=notice.pk, state=Notice.State.CLAIMED, claimed_at=notice.claimed_at).update(
        state=Notice.State.GIVEN_UP if over else Notice.State.WAITING,
        claimed_at=None,
        due_at=at + timedelta(minutes=2 ** (tries - 1)),
    )
    if over and ours:
        record(code="journal.given_up", happened_at=at, now=at, about=notice)
    return over and bool(ours)
