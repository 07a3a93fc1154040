"""A thing that a group has goes out of service: it takes another one like it, or goes on without."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import call_off, record, tell
from studiodesk.journal.models import Entry
from studiodesk.people.models import Member
from studiodesk.stations.models import Resource

from ..models import GroupStay, Hold, Outage
from ..queries.groups import Facts
from ..queries.groups_hit import GroupHit, instead_of
from ..queries.outages import Thing, thing_of
from .groups import hold_all
from .holding import let_outages_have, wait_for_the_house


def tell_group_hit(hit: GroupHit, outage: Outage, now: datetime, by: Member | None) -> None:
    """Write down that the outage stands in a group's way, and tell whoever leads it."""
    stay, thing = hit.stay, hit.thing
    facts = {"outage": outage.pk, "resource": thing.resource_id, "thing": thing.name, "reason": outage.reason}
    entry = record(code="bookings.group_hit", happened_at=now, now=now, by=by, about=stay, facts=facts)
    _tell_leader(stay, entry, "bookings.group_hit", f"{outage.pk}:{thing.resource_id}", now, by)


def _tell_leader(stay: GroupStay, entry: Entry, code: str, key: str, now: datetime, by: Member | None) -> None:
    """Whoever leads the group; not of what they did themselves."""
    if stay.led_by is not None and (by is None or by.pk != stay.led_by_id):
        tell(entry=entry, person=stay.led_by, code=code, unique_key=f"{code}:{stay.pk}:{key}", due_at=now)


def _open(stay: GroupStay, now: datetime, by: Member) -> GroupStay:
    wait_for_the_house()
    row = locked(GroupStay.objects.filter(pk=stay.pk)).get()
    if not by.may_run_the_house:
        refuse("bookings.not_yours_to_move", status=403)
    if row.cancelled_at is not None or row.ends <= now:
        refuse("bookings.group_is_over")
    return row


@act
def take_another(*, stay: GroupStay, resource: Resource, now: datetime, by: Member) -> Thing:
    """Instead of a thing that it has a group gets another one like it for the rest of its time; answers which.

    Whoever leads it is told.  Refused: ``bookings.not_yours_to_move``, ``bookings.group_is_over``,
    ``bookings.not_its_thing``, ``bookings.nothing_like_it``.
    """
    row = _open(stay, now, by)
    old = _kept(row, resource, now)
    wish = instead_of(row, resource, now)
    if not old or wish is None:
        refuse("bookings.not_its_thing")
    facts = Facts(wish.needs, wish.whole, lock=locked)
    fit = facts.fit(wish)
    if fit.clashes:
        refuse("bookings.nothing_like_it")
    freed = _give_up(old, now)
    kept = hold_all(row, fit, facts)
    new = Resource.objects.select_related("station", "processor").get(pk=next(iter({**fit.stations, **fit.places})))
    thing = thing_of(new)
    _said(row, resource, thing, now, by)
    let_outages_have(freed, now, kept)
    return thing


@act
def do_without(*, stay: GroupStay, resource: Resource, now: datetime, by: Member) -> None:
    """A group gives one thing back and comes all the same.  Refused as ``take_another`` is."""
    row = _open(stay, now, by)
    old = _kept(row, resource, now)
    if not old:
        refuse("bookings.not_its_thing")
    freed = _give_up(old, now)
    _said(row, resource, None, now, by)
    let_outages_have(freed, now)


def _kept(stay: GroupStay, resource: Resource, now: datetime) -> list[Hold]:
    rows = Hold.objects.filter(group=stay, lane__resource=resource, ends__gt=now).select_related("lane")
    return list(rows.order_by("lane_id", "starts"))


def _give_up(old: list[Hold], now: datetime) -> list[Hold]:
    """From now on it is not theirs: what has been stays."""
    freed = []
    for hold in old:
        if hold.starts < now:
            freed.append(Hold(lane_id=hold.lane_id, starts=now, ends=hold.ends, cause=hold.cause))
            hold.ends = now
            hold.save(update_fields=["ends"])
        else:
            freed.append(hold)
    Hold.objects.filter(pk__in=[hold.pk for hold in freed if hold.pk is not None]).delete()
    return freed


def _said(stay: GroupStay, was: Resource, now_has: Thing | None, now: datetime, by: Member) -> None:
    call_off(now=now, prefix=f"bookings.group_hit:{stay.pk}:")
    GroupStay.objects.filter(pk=stay.pk).update(sequence=stay.sequence + 1, changed_at=now)
    facts = {"was": thing_of(was).name, "has": now_has.name if now_has is not None else ""}
    entry = record(code="bookings.group_refitted", happened_at=now, now=now, by=by, about=stay, facts=facts)
    _tell_leader(stay, entry, "bookings.group_refitted", str(stay.sequence + 1), now, by)
