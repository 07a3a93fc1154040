"""Keys and fobs: who has which since when, what is lost, what is not in use any more."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal import actions as journal

from .. import queries, rules
from ..models import HouseKey, KeyLoan, Member


def _require(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise Refused(refusal)


def _only_staff(by: Member) -> None:
    if not (by.is_active and by.is_staff):
        refuse("people.not_yours_to_do", status=403)


def _locked(key: HouseKey) -> tuple[HouseKey, KeyLoan | None]:
    row = locked(HouseKey.objects.filter(pk=key.pk)).get()
    return row, queries.loan_of(row)


def _wrote(code: str, key: HouseKey, now: datetime, by: Member, **facts: int) -> None:
    journal.record(code=code, happened_at=now, now=now, by=by, about=key, facts=facts)


@act
def add_key(*, code: str, sort: str, now: datetime, by: Member, opens: str = "") -> HouseKey:
    """A key or fob that the house has.  Refused: ``people.key_code_taken``, whatever its capitals."""
    _only_staff(by)
    code = code.strip()
    if HouseKey.objects.filter(code__iexact=code).exists():
        refuse("people.key_code_taken", key=code)
    try:
        with transaction.atomic():
            key = HouseKey.objects.create(code=code, sort=sort, opens=opens.strip())
    except IntegrityError:  # somebody else was quicker by a moment
        refuse("people.key_code_taken", key=code)
    _wrote("people.key_added", key, now, by)
    return key


@act
def hand_out(*, key: HouseKey, holder: Member, now: datetime, by: Member) -> KeyLoan:
    """Somebody gets a key.  Pressed twice they have it once.  Refused: ``people.key_is_out`` with whom since when."""
    _only_staff(by)
    row, loan = _locked(key)
    if loan is not None and loan.holder_id == holder.pk:
        return loan
    _require(rules.may_hand_out(queries.key_facts(row, loan), name=holder.name, is_here=holder.is_active))
    loan = KeyLoan.objects.create(key=row, holder=holder, given_at=now, given_by=by)
    _wrote("people.key_handed_out", row, now, by, holder=holder.pk, loan=loan.pk)
    return loan


@act
def take_back(*, key: HouseKey, now: datetime, by: Member) -> HouseKey:
    """The key is in the house again; one that was lost has turned up with it.  Nothing happens if nobody has it."""
    _only_staff(by)
    row, loan = _locked(key)
    if loan is None:
        return row
    loan.back_at, loan.back_to = now, by
    loan.save(update_fields=["back_at", "back_to"])
    _wrote("people.key_came_back", row, now, by, holder=loan.holder_id, loan=loan.pk)
    return _found(row, now, by)


def _found(row: HouseKey, now: datetime, by: Member) -> HouseKey:
    if row.lost_at is not None:
        row.lost_at = None
        row.save(update_fields=["lost_at"])
        _wrote("people.key_found", row, now, by)
    return row


@act
def report_lost(*, key: HouseKey, now: datetime, by: Member) -> HouseKey:
    """Nobody knows where it is; who had it last stays to be seen."""
    _only_staff(by)
    row, loan = _locked(key)
    if row.lost_at is None:
        row.lost_at = now
        row.save(update_fields=["lost_at"])
        facts = {"holder": loan.holder_id, "loan": loan.pk} if loan else {}
        _wrote("people.key_lost", row, now, by, **facts)
    return row


@act
def found_again(*, key: HouseKey, now: datetime, by: Member) -> HouseKey:
    """A lost key has turned up: with whoever has it, or in the house if nobody has."""
    _only_staff(by)
    row, _loan = _locked(key)
    return _found(row, now, by)


@act
def retire(*, key: HouseKey, now: datetime, by: Member) -> HouseKey:
    """The key is not in use any more.  Refused while somebody has it, unless it is lost: ``people.key_is_out``."""
    _only_staff(by)
    row, loan = _locked(key)
    if row.retired_at is None:
        _require(rules.may_retire_key(queries.key_facts(row, loan)))
        row.retired_at = now
        row.save(update_fields=["retired_at"])
        _wrote("people.key_given_up", row, now, by)
    return row


@act
def use_again(*, key: HouseKey, now: datetime, by: Member) -> HouseKey:
    """A key that was given up is in use again."""
    _only_staff(by)
    row, _loan = _locked(key)
    if row.retired_at is not None:
        row.retired_at = None
        row.save(update_fields=["retired_at"])
        _wrote("people.key_in_use_again", row, now, by)
    return row
