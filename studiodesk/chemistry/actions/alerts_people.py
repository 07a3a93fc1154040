"""What people do with an alert: take it, give it back, put it off, clear what no rule can."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import record

from ..models import Alert
from ..rules import alerts as rules


def _locked(alert: Alert) -> Alert:
    """The row as it is now."""
    row: Alert = locked(Alert.objects.filter(pk=alert.pk)).get()
    return row


def _require(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise Refused(refusal)


def _wrote(code: str, alert: Alert, now: datetime, by: Any) -> None:
    record(code=code, happened_at=now, now=now, by=by, about=alert, facts={"kind": alert.kind})


@act
def take_alert(*, alert: Alert, now: datetime, by: Any, over: bool = False) -> Alert:
    """It is ``by`` who sees to it; ``over``: taken over from whoever has it.  Taken twice by the same it stays once.

    Refused: chemistry.alert_cleared, alert_taken (by somebody else, unless ``over``).
    """
    row = _locked(alert)
    other = "" if row.taken_by is None or row.taken_by_id == by.pk else row.taken_by.name
    _require(rules.may_take(cleared=row.cleared_at is not None, taken_by=other, over=over))
    if row.taken_by_id != by.pk:
        row.taken_at, row.taken_by = now, by
        row.save(update_fields=["taken_at", "taken_by"])
        _wrote("chemistry.alert_taken", row, now, by)
    return row


@act
def give_back_alert(*, alert: Alert, now: datetime, by: Any) -> Alert:
    """Nobody has it any more.  Refused: chemistry.alert_cleared, alert_not_yours (but for staff)."""
    row = _locked(alert)
    if row.taken_by_id is None:
        return row
    cleared, theirs = row.cleared_at is not None, row.taken_by_id == by.pk
    _require(rules.may_give_back(cleared=cleared, is_theirs=theirs, is_staff=by.is_staff))
    row.taken_at = row.taken_by = None
    row.save(update_fields=["taken_at", "taken_by"])
    _wrote("chemistry.alert_given_back", row, now, by)
    return row


@act
def put_off_alert(*, alert: Alert, until: datetime, reason: str, now: datetime, by: Any) -> Alert:
    """Out of the way until then; it comes back by itself.  An earlier putting off is kept in its ``facts``.

    Refused: chemistry.alert_cleared, alert_until_past, alert_until_far, alert_reason.
    """
    row = _locked(alert)
    _require(rules.may_put_off(cleared=row.cleared_at is not None, until=until, reason=reason, now=now))
    if row.snoozed_at is not None:
        row.facts = {**row.facts, "put_off": [*row.facts.get("put_off", []), _putting_off(row)]}
    row.snoozed_at, row.snoozed_until, row.snoozed_by, row.snooze_reason = now, until, by, reason.strip()
    row.save(update_fields=["snoozed_at", "snoozed_until", "snoozed_by", "snooze_reason", "facts"])
    _wrote("chemistry.alert_put_off", row, now, by)
    return row


def _putting_off(row: Alert) -> dict[str, Any]:
    """The row's columns about putting off, as JSON keeps them."""
    at, until = row.snoozed_at, row.snoozed_until
    return {
        "at": at.isoformat() if at else None,
        "until": until.isoformat() if until else None,
        "by": row.snoozed_by_id,
        "reason": row.snooze_reason,
    }


@act
def bring_back_alert(*, alert: Alert, now: datetime, by: Any) -> Alert:
    """It is there again before its time.  Refused: chemistry.alert_cleared."""
    row = _locked(alert)
    if row.cleared_at is not None:
        _require(Refusal("chemistry.alert_cleared"))
    if rules.is_put_off(row.snoozed_until, now):
        row.snoozed_until = now
        row.save(update_fields=["snoozed_until"])
        _wrote("chemistry.alert_brought_back", row, now, by)
    return row


@act
def clear_by_hand(*, alert: Alert, reason: str, now: datetime, by: Any) -> Alert:
    """Over, as a person says who looked into it; why is kept in its ``facts``.

    Refused: chemistry.alert_cleared, alert_by_rule (what puts it right clears it), alert_reason.
    """
    row = _locked(alert)
    _require(rules.may_clear(row.kind, cleared=row.cleared_at is not None, reason=reason))
    row.cleared_at, row.cleared_person = now, by
    row.facts = {**row.facts, "why_cleared": reason.strip()}
    row.save(update_fields=["cleared_at", "cleared_person", "facts"])
    _wrote("chemistry.alert_cleared", row, now, by)
    return row
