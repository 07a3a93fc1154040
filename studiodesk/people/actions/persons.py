"""Who comes here: making people, their roles and passwords, failures to log in, tablets."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import date, datetime

from django.contrib.sessions.models import Session
from django.db import IntegrityError, transaction

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal import actions as journal
from studiodesk.journal.models import Entry

from .. import queries, rules
from ..models import Member, Tablet


def _roles_of(member: Member) -> frozenset[str]:
    return frozenset(role for role in rules.ROLES if getattr(member, f"is_{role}"))


def _require(refusal: object) -> None:
    if refusal is not None:
        raise Refused(refusal)  # type: ignore[arg-type]


@act
def make_person(
    *,
    number: str,
    name: str,
    email: str,
    joined_on: date,
    now: datetime,
    by: Member | None = None,
    roles: Iterable[str] = (),
    invite: bool = True,
) -> Member:
    """A new person without a password; with ``invite`` they are sent a link that sets one.

    ``roles`` are words of ``rules.ROLES``; ``by`` None is the house itself (a command, an import).  Refused:
    ``people.email_taken``, ``people.number_taken``, and what ``rules.may_set_roles`` says.
    """
    wanted = rules.with_implied(roles)
    if by is not None:
        _require(
            rules.may_set_roles(
                by_staff=by.is_staff, by_manager=by.is_manager, before=frozenset(), after=wanted, themselves=False
            )
        )
    email = email.strip()
    if Member.objects.filter(email__iexact=email).exists():
        refuse("people.email_taken", email=email)
    if Member.objects.filter(number=number).exists():
        refuse("people.number_taken", number=number)
    person = Member(
        number=number, name=name, email=email, joined_on=joined_on, **{f"is_{role}": True for role in wanted}
    )
    person.set_unusable_password()
    try:
        with transaction.atomic():
            person.save(force_insert=True)
    except IntegrityError:  # somebody else was quicker by a moment
        refuse(
            "people.email_taken" if Member.objects.filter(email__iexact=email).exists() else "people.number_taken",
            email=email,
            number=number,
        )
    journal.record(code="people.made", happened_at=now, now=now, by=by, about=person, facts={"roles": sorted(wanted)})
    if invite:
        invite_person(person=person, now=now, by=by)
    return person


@act
def invite_person(*, person: Member, now: datetime, by: Member | None) -> None:
    """Send a link that sets a password, at most one in ten minutes.  Only while there is none yet."""
    if not person.is_active:
        refuse("people.not_here_any_more", name=person.name)
    if person.has_usable_password():
        refuse("people.has_a_password", name=person.name)
    _send_link("people.invited", person, now, by)


@act
def ask_from_address(*, code: str, address: str, now: datetime) -> None:
    """Somebody without an account asks for something; a network address that asks too often waits.

    Each ``code`` is counted by itself.  Refused: ``people.wait``, with until when.
    """
    if (until := queries.address_locked_until(code=code, address=address, now=now)) is not None:
        refuse("people.wait", until=until, status=429)
    _count(code, "address", address, now)


@act
def send_password_link(*, email: str, address: str, now: datetime) -> None:
    """Somebody says they forgot their password.  The same is done, as far as anyone can see, for an unknown email."""
    ask_from_address(code="people.password_asked", address=address, now=now)
    person = queries.by_email(email)
    if person is not None:
        _send_link("people.password_link", person, now, None)


def _send_link(code: str, person: Member, now: datetime, by: Member | None) -> None:
    entry = journal.record(code=code, happened_at=now, now=now, by=by, about=person)
    key = f"{code}:{person.pk}:{int(now.timestamp()) // 600}"
    journal.tell(entry=entry, person=person, code=code, unique_key=key, due_at=now)


@act
def set_roles(*, person: Member, roles: Iterable[str], now: datetime, by: Member) -> Member:
    """Grant and revoke at once: afterwards the person has exactly these roles.  One entry; none if nothing changed."""
    person = locked(Member.objects.filter(pk=person.pk)).get()
    before, after = _roles_of(person), rules.with_implied(roles)
    _require(
        rules.may_set_roles(
            by_staff=by.is_staff, by_manager=by.is_manager, before=before, after=after, themselves=by.pk == person.pk
        )
    )
    if before == after:
        return person
    for role in rules.ROLES:
        setattr(person, f"is_{role}", role in after)
    person.save(update_fields=[f"is_{role}" for role in rules.ROLES])
    facts = {"granted": sorted(after - before), "revoked": sorted(before - after)}
    journal.record(code="people.roles_set", happened_at=now, now=now, by=by, about=person, facts=facts)
    return person


@act
def set_standing(*, person: Member, is_active: bool, now: datetime, by: Member) -> Member:
    """Somebody left, or came back.  Nobody is deleted; who left cannot log in, and their sessions end."""
    person = locked(Member.objects.filter(pk=person.pk)).get()
    _require(queries.may_set_standing(person, by))
    if person.is_active != is_active:
        person.is_active = is_active
        person.save(update_fields=["is_active"])
        code = "people.came_back" if is_active else "people.left"
        journal.record(code=code, happened_at=now, now=now, by=by, about=person)
    if not is_active:
        Session.objects.filter(pk__in=queries.sessions_of(person, now)).delete()
    return person


@act
def set_password(*, person: Member, password: str, now: datetime, by: Member | None) -> Member:
    """A person's own new password; every other session of theirs ends with it."""
    person.set_password(password)
    person.save(update_fields=["password"])
    journal.record(code="people.password_set", happened_at=now, now=now, by=by or person, about=person)
    return person


@act
def password_by_link(*, who: str, token: str, password: str, now: datetime) -> Member:
    """The same through a mailed link, which is used up by it.  Refused: ``people.link_is_over``."""
    found = queries.member_of_link(who, token)
    if found is None:
        refuse("people.link_is_over", status=410)
    locked(Member.objects.filter(pk=found.pk)).get()
    person = queries.member_of_link(who, token)  # again under the lock: two presses set one password
    if person is None:
        refuse("people.link_is_over", status=410)
    return set_password(person=person, password=password, now=now, by=person)


def _count(code: str, about: str, what: str, now: datetime) -> None:
    """An entry about a name or a network address that is not kept itself."""
    Entry.objects.create(code=code, happened_at=now, recorded_at=now, about=about, about_id=queries.keyed(about, what))


@act
def note_failure(*, email: str, address: str, now: datetime) -> None:
    """A failure to log in, counted for the account (known or not) and for the network address."""
    _count("people.log_in_failed", "account", email.strip().casefold(), now)
    _count("people.log_in_failed", "address", address, now)


@act
def note_log_in(*, person: Member, now: datetime) -> None:
    journal.record(code="people.logged_in", happened_at=now, now=now, by=person, about=person)


@act
def invite_tablet(*, name: str, now: datetime, by: Member, tablet: Tablet | None = None) -> tuple[Tablet, str]:
    """A code that enrols a tablet within 30 minutes: a new one, or ``tablet`` again.  Only its hash is kept.

    Refused: ``people.tablet_name_taken`` for the name of one that is in use, ``people.tablet_revoked``.
    """
    if not by.is_staff:
        refuse("people.not_yours_to_do", status=403)
    code = "".join(secrets.choice(rules.CODE_LETTERS) for _ in range(rules.CODE_LENGTH))
    values = {"invite_hash": queries.secret_hash(code), "invite_until": now + rules.INVITE_LASTS}
    if tablet is None:
        name = name.strip()
        if queries.tablet_named(name) is not None:
            refuse("people.tablet_name_taken", name=name)
        tablet = Tablet.objects.create(name=name, made_at=now, made_by=by, **values)
    elif not Tablet.objects.filter(pk=tablet.pk, revoked_at__isnull=True).update(**values):
        refuse("people.tablet_revoked", name=tablet.name)
    journal.record(code="people.tablet_invited", happened_at=now, now=now, by=by, about=tablet)
    tablet.refresh_from_db()
    return tablet, rules.spaced_code(code)


@act
def enrol_tablet(*, code: str, now: datetime) -> tuple[Tablet, str]:
    """This browser becomes the tablet that the code was made for; gives the 256-bit secret for its cookie.

    A code works once.  A tablet that was enrolled before loses its old secret.  Refused: ``people.code_unknown``.
    """
    tablet = queries.tablet_invited_by(code, now)
    secret = secrets.token_urlsafe(32)
    used = tablet is not None and Tablet.objects.filter(
        pk=tablet.pk, invite_hash=tablet.invite_hash, revoked_at__isnull=True
    ).update(invite_hash=None, invite_until=None, secret_hash=queries.secret_hash(secret), enrolled_at=now)
    if not used:
        refuse("people.code_unknown", status=422)
    journal.record(code="people.tablet_enrolled", happened_at=now, now=now, about=tablet)
    tablet.refresh_from_db()
    return tablet, secret


@act
def note_code_failure(*, address: str, now: datetime) -> None:
    """A wrong code was typed: counted for the network address, so that codes cannot be guessed."""
    _count("people.code_failed", "address", address, now)


@act
def revoke_tablet(*, tablet: Tablet, now: datetime, by: Member) -> None:
    """The tablet's cookie is worth nothing from now on."""
    if not by.is_staff:
        refuse("people.not_yours_to_do", status=403)
    gone = Tablet.objects.filter(pk=tablet.pk, revoked_at__isnull=True).update(
        revoked_at=now, secret_hash=None, invite_hash=None, invite_until=None
    )
    if gone:
        journal.record(code="people.tablet_revoked", happened_at=now, now=now, by=by, about=tablet)


@act
def tablet_used(*, tablet: Tablet, today: date) -> None:
    """The day on which a tablet was last used, written at most once a day."""
    if tablet.last_used_on != today:
        Tablet.objects.filter(pk=tablet.pk).update(last_used_on=today)


@act
def forget_ended_sessions(*, now: datetime) -> int:
    """Remove the rows of sessions that ended; gives how many."""
    return Session.objects.filter(expire_date__lt=now).delete()[0]
