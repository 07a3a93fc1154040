"""Containers for mixes: what is poured in, over, out and read.  Nothing is poured onto another mix or stream."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.units import PL_PER_ML

from ..models import Bath, BathEntry, Container, ContainerEntry, Mix
from ..queries import mixing as reads
from ..rules import mixing as rules

KEPT = ("name", "sort", "capacity_pl", "place", "stream", "feeds_bath", "in_use")
Event = ContainerEntry.Event


@act
def keep_container(
    *,
    code: str,
    name: str,
    sort: str,
    capacity_pl: int,
    now: datetime,
    by: Any = None,
    place: str = "",
    stream: Any = None,
    feeds_bath: Bath | None = None,
    in_use: bool = True,
) -> tuple[Container, bool]:
    """A container for mixes with this code, made or changed; answers the row and whether anything changed.

    Refused: chemistry.container_needs_name, container_capacity, container_in_use (out of use with something in it).
    """
    if sort not in Container.Sort.values or sort == Container.Sort.WASTE:
        raise ValueError(f"no such sort of container: {sort!r}")
    if not name.strip():
        refuse("chemistry.container_needs_name")
    row = lock([code]).get(code)
    level = reads.content_of(row, now).level_pl if row else 0
    if not max(1, level) <= capacity_pl <= rules.MOST_PL:
        refuse("chemistry.container_capacity", least_ml=-(-level // PL_PER_ML))
    if not in_use and level > 0:
        refuse("chemistry.container_in_use", container=name.strip())
    values = dict(zip(KEPT, (name.strip(), sort, capacity_pl, place.strip(), stream, feeds_bath, in_use), strict=True))
    if row is None:
        row = Container.objects.create(code=code, **values)
    else:
        if all(getattr(row, field) == value for field, value in values.items()):
            return row, False
        for field, value in values.items():
            setattr(row, field, value)
        row.save(update_fields=list(KEPT))
    record(code="chemistry.container_kept", happened_at=now, now=now, by=by, about=row, facts={"container": code})
    return row, True


@act
def move_mix(
    *, source: Container, target: Container, amount_pl: int, now: datetime, by: Any = None, note: str = ""
) -> ContainerEntry:
    """Pour so much of what stands in one container over into another; its age goes along.

    Refused: chemistry.same_container, container_empty, container_less, and as pouring in is.
    """
    if source.pk == target.pk:
        refuse("chemistry.same_container")
    rows = lock([source.code, target.code])
    source, target = rows[source.code], rows[target.code]
    stands, mix = _something(source, now)
    if not 0 < amount_pl <= stands.level_pl:
        refuse("chemistry.container_less", container=source.name, level_ml=stands.level_pl // PL_PER_ML)
    may_pour(target, mix, amount_pl, now)
    _written(source, Event.TAKEN, now, now, by, amount_pl=amount_pl, mix=mix, note=note)
    return _written(target, Event.FILLED, now, now, by, amount_pl=amount_pl, mix=mix, note=note)


@act
def empty_container(*, container: Container, note: str, now: datetime, by: Any = None) -> ContainerEntry:
    """What was left in it is gone, into the waste container of its stream.

    Refused: chemistry.container_empty, reason_needed.
    """
    row = lock([container.code])[container.code]
    stands, mix = _something(row, now)
    if not note.strip():
        refuse("chemistry.reason_needed")
    return _written(row, Event.EMPTIED, now, now, by, amount_pl=stands.level_pl, mix=mix, note=note)


@act
def read_level(*, container: Container, level_pl: int, now: datetime, by: Any = None, note: str = "") -> ContainerEntry:
    """What is really in it, as it was read: a pump that draws from it writes nothing down.

    Refused: chemistry.container_empty, level_out_of_range.
    """
    row = lock([container.code])[container.code]
    _stands, mix = _something(row, now)
    if not 0 <= level_pl <= row.capacity_pl:
        refuse("chemistry.level_out_of_range", most_ml=row.capacity_pl // PL_PER_ML)
    return _written(row, Event.MEASURED, now, now, by, amount_pl=level_pl, mix=mix, note=note)


# --- steps of other acts --------------------------------------------------------------------------------------------


def lock(codes: Iterable[str]) -> dict[str, Container]:
    """The containers of these codes, locked until the act ends, always in the same order."""
    wanted = reads.containers().filter(code__in=set(codes))
    list(locked(Container.objects.filter(pk__in=list(wanted.values_list("pk", flat=True))).order_by("pk")))
    return {one.code: one for one in wanted}


def may_pour(target: Container, mix: Mix, amount_pl: int, at: datetime) -> None:
    """Refused: chemistry.no_such_container, other_stream, other_mix, over_capacity, container_later."""
    if not target.in_use or target.sort == Container.Sort.WASTE:
        refuse("chemistry.no_such_container", container=target.name)
    stream = mix.recipe.stream
    if target.stream and target.stream != stream:
        refuse("chemistry.other_stream", container=target.name, stream=target.stream.name)
    stands = reads.content_of(target, _moment(target, at))
    if stands.mix is not None and stands.mix.pk != mix.pk:
        refuse("chemistry.other_mix", container=target.name, number=stands.mix.number)
    if amount_pl > stands.room_pl:
        refuse("chemistry.over_capacity", container=target.name, room_ml=stands.room_pl // PL_PER_ML)


def pour_in(*, target: Container, mix: Mix, amount_pl: int, at: datetime, now: datetime, by: Any) -> ContainerEntry:
    """A new mix into a locked container that ``may_pour`` let pass."""
    return _written(target, Event.FILLED, at, now, by, amount_pl=amount_pl, mix=mix)


def what_leaves(container: Container, amount_pl: int, at: datetime) -> tuple[reads.Content, int]:
    """(what stands in a locked container then, how much of it goes if so much is asked): all of it at the most."""
    stands, _mix = _something(container, _moment(container, at))
    return stands, min(amount_pl, stands.level_pl)


def take_for_bath(
    *, container: Container, entry: BathEntry, mix: Mix, amount_pl: int, now: datetime, by: Any
) -> ContainerEntry:
    return _written(container, Event.TAKEN, entry.at, now, by, amount_pl=amount_pl, mix=mix, bath_entry=entry)


def take_back(rows: Iterable[ContainerEntry], now: datetime, by: Any) -> None:
    """These lines do not count any more; who took them back is kept."""
    for row in rows:
        _written(row.container, row.event, row.at, now, by, amount_pl=row.amount_pl, mix=row.mix, undoes=row)


def _something(container: Container, at: datetime) -> tuple[reads.Content, Mix]:
    """What stands in it, and of which mix.  Refused: chemistry.container_empty."""
    stands = reads.content_of(container, at)
    if stands.mix is None:
        refuse("chemistry.container_empty", container=container.name)
    return stands, stands.mix


def _moment(container: Container, at: datetime) -> datetime:
    """``at``, or the last line of the same minute (a form knows no seconds).  Refused: chemistry.container_later."""
    last = reads.last_written(container)
    if last is None or at >= last:
        return at
    if at.replace(second=0, microsecond=0) == last.replace(second=0, microsecond=0):
        return last
    refuse("chemistry.container_later", container=container.name, at=last)


def _written(
    container: Container, event: str, at: datetime, now: datetime, by: Any, *, note: str = "", **more: Any
) -> ContainerEntry:
    if not more.get("undoes"):
        at = max(at, reads.last_written(container) or at)
    entry = ContainerEntry.objects.create(
        container=container, event=event, at=at, recorded_at=now, note=note.strip(), recorded_by=by, **more
    )
    facts = {"container": container.pk, "event": event, "pl": more.get("amount_pl"), "mix": entry.mix_id}
    facts |= {"undoes": entry.undoes_id} if entry.undoes_id else {}
    record(code="chemistry.container_entry", happened_at=at, now=now, by=by, about=entry, facts=facts)
    return entry
