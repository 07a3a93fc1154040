"""Safety notes, published in versions and acknowledged by members; who was signed off for what."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal import actions as journal
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Processor

from . import queries, rules, texts
from .models import SafetyAcknowledgement, SafetyNote, SignOff, SignOffNeed


@act
def publish_note(
    *, processor: Processor, title: str, body: str, now: datetime, by: Member | None = None, news: str = ""
) -> SafetyNote:
    """A new version, which everybody has to read again; the same words as before, and no ``news``, make none.

    ``news`` becomes the first paragraph.  Without any the body is kept as it is given.
    ``by`` None is the house itself (a description that is loaded).  Refused: ``safety.not_yours_to_write``.
    """
    if by is not None and not by.is_staff:
        refuse("safety.not_yours_to_write", status=403)
    locked(Processor.objects.filter(pk=processor.pk)).get()
    before = queries.current_note(processor)
    title, body, news = title.strip(), "\n".join(body.splitlines()).strip(), news.strip()
    if before is not None and not news:
        same = body in {before.body, texts.without_news(before.body)}
        if same and title == before.title:
            return before
    body = texts.with_news(body, news)
    note = SafetyNote.objects.create(
        processor=processor,
        version=before.version + 1 if before else 1,
        title=title,
        body=body,
        published_at=now,
        published_by=by,
    )
    journal.record(
        code="safety.note_published", happened_at=now, now=now, by=by, about=note, facts={"version": note.version}
    )
    return note


@act
def acknowledge(*, note: SafetyNote, member: Member, now: datetime) -> SafetyAcknowledgement:
    """The member has read this version.  Twice is once.  Refused if it is no longer the one in force."""
    current = queries.current_note(note.processor)
    if current is None or current.pk != note.pk:
        refuse("safety.newer_note", name=note.processor.name)
    read, is_new = SafetyAcknowledgement.objects.get_or_create(
        note=note, member=member, defaults={"acknowledged_at": now}
    )
    if is_new:
        journal.record(code="safety.note_read", happened_at=now, now=now, by=member, about=note)
    return read


@act
def set_sign_off_need(
    *, kind: str = "", process: Process | None = None, lasts_days: int | None = None, now: datetime, by: Member | None
) -> tuple[SignOffNeed, bool]:
    """Whoever books this kind of station, or this process, needs a sign-off, which lasts so many days (None: for good).

    Gives the need and whether anything was written.  Sign-offs given before keep the end that they were given.
    Refused: what ``rules.may_set_need`` says.
    """
    known = bool(kind) and kind in stations.kinds()
    refusal = rules.may_set_need(
        kind=kind,
        kind_known=known,
        of_process=process is not None,
        lasts_days=lasts_days,
        by_manager=by is None or (by.is_active and by.is_manager),
    )
    if refusal is not None:
        raise Refused(refusal)
    need, is_new = SignOffNeed.objects.get_or_create(
        kind=kind, process=process, defaults={"lasts_days": lasts_days, "made_at": now}
    )
    if not is_new and need.lasts_days == lasts_days:
        return need, False
    if not is_new:
        need.lasts_days = lasts_days
        need.save(update_fields=["lasts_days"])
    facts = {"process": need.process_id, "lasts_days": lasts_days}
    journal.record(code="safety.sign_off_needed", happened_at=now, now=now, by=by, about=need, facts=facts)
    return need, True


@act
def end_sign_off_need(*, need: SignOffNeed, now: datetime, by: Member) -> None:
    """It can be booked without a sign-off again.  Sign-offs that were given stay, should it be needed once more."""
    if not (by.is_active and by.is_manager):
        refuse("safety.needs_are_the_managers", status=403)
    found = locked(SignOffNeed.objects.filter(pk=need.pk)).first()
    if found is None:  # a second press
        return
    facts = {"process": found.process_id, "lasts_days": found.lasts_days}
    journal.record(code="safety.sign_off_not_needed", happened_at=now, now=now, by=by, about=found, facts=facts)
    found.delete()


@act
def give_sign_off(
    *, member: Member, kind: str = "", process: Process | None = None, now: datetime, by: Member
) -> SignOff:
    """``by`` saw that ``member`` can do it.  It holds to the end of the local day on which the need says it runs out.

    Without a need it holds for good: people can be signed off before anybody asks for it.  Twice on one day is once.
    Refused: what ``rules.may_sign_off`` says.
    """
    member = locked(Member.objects.filter(pk=member.pk)).get()
    refusal = rules.may_sign_off(
        by_tutor=by.is_active and (by.is_tutor or by.is_staff),
        themselves=member.pk == by.pk,
        is_here=member.is_active,
        kind=kind,
        kind_known=bool(kind) and kind in stations.kinds(),
        of_process=process is not None,
    )
    if refusal is not None:
        raise Refused(refusal)
    zone = stations.zone()
    need = SignOffNeed.objects.filter(kind=kind, process=process).first()
    until = rules.runs_out(now, need.lasts_days if need else None, zone)
    given = queries.valid_sign_offs(now).filter(member=member, kind=kind, process=process, until=until).first()
    if given is not None:
        return given
    made = SignOff.objects.create(member=member, kind=kind, process=process, given_by=by, given_at=now, until=until)
    _tell("safety.signed_off", made, now, by)
    return made


@act
def revoke_sign_off(*, sign_off: SignOff, now: datetime, by: Member) -> SignOff:
    """It holds no longer; what is booked already stays.  By a tutor or staff, whoever gave it."""
    if not (by.is_active and (by.is_tutor or by.is_staff)):
        refuse("safety.tutors_sign_off", status=403)
    found = locked(SignOff.objects.filter(pk=sign_off.pk)).get()
    if found.revoked_at is None:
        found.revoked_at, found.revoked_by = now, by
        found.save(update_fields=["revoked_at", "revoked_by"])
        _tell("safety.sign_off_revoked", found, now, by)
    return found


def _tell(code: str, sign_off: SignOff, now: datetime, by: Member) -> None:
    """About the person: that is where it is looked for; ``sign_off`` and ``process`` are ids."""
    facts = {"sign_off": sign_off.pk, "process": sign_off.process_id}
    entry = journal.record(code=code, happened_at=now, now=now, by=by, about=sign_off.member, facts=facts)
    journal.tell(entry=entry, person=sign_off.member, code=code, unique_key=f"{code}:{sign_off.pk}", due_at=now)
