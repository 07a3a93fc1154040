"""Writing an outline: what is taught, what it needs, on what terms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process

from ..models import Outline, OutlineNeed, OutlinePaper

#: What an outline says in columns of its own.
SAID = (
    "name",
    "sort",
    "summary",
    "level",
    "meetings",
    "length_minutes",
    "before_minutes",
    "after_minutes",
    "heads_least",
    "heads_most",
    "heads_a_station",
    "minimum_age",
    "price_minor",
    "member_price_minor",
    "free_cancel_days",
    "decide_days",
    "materials",
    "bring",
    "process",
)


@act
def write_outline(
    *,
    code: str,
    says: Mapping[str, Any],
    needs: Sequence[tuple[str, Process | None, int | None]],
    papers: Sequence[tuple[int, int, int]] = (),
    tutor_needs: Sequence[SignOffNeed] = (),
    signs_off: Sequence[SignOffNeed] = (),
    now: datetime,
    by: Member | None,
    is_new: bool = False,
) -> tuple[Outline, bool]:
    """A new outline, or the one of that code as it now reads.  Answers it and whether anything was written.

    ``is_new``: only a new one, so that nobody's is written over.

    ``needs``: (kind of station, process, how many), without a kind places at a processor.  ``papers``: (mm, mm, sheets
    a head).  Dates made before keep what it said then.  Refused: ``classes.staff_write_outlines``,
    ``classes.no_such_kind``, ``classes.no_room_in_outline``, ``classes.outline_exists``.
    """
    if by is not None and not (by.is_active and (by.is_staff or by.is_tutor)):
        refuse("classes.staff_write_outlines", status=403)
    known = set(stations.kinds())
    for kind, _process, _number in needs:
        if kind and kind not in known:
            refuse("classes.no_such_kind", kind=kind)
    if says["heads_most"] < says["heads_least"]:
        refuse("classes.no_room_in_outline", least=says["heads_least"], most=says["heads_most"])
    row = locked(Outline.objects.filter(code=code)).first()
    values = {name: says[name] for name in SAID if name in says}
    if row is None:
        # Two who write one at once: the second finds what the first wrote.
        row, changed = Outline.objects.get_or_create(code=code, defaults={"made_at": now, "made_by": by, **values})
        if not changed:
            refuse("classes.outline_exists")
    elif is_new:
        refuse("classes.outline_exists")
    else:
        differing = [name for name, value in values.items() if getattr(row, name) != value]
        for name in differing:
            setattr(row, name, values[name])
        if differing:
            row.save(update_fields=differing)
        changed = bool(differing)
    changed |= _put_needs(row, needs)
    changed |= _put_papers(row, papers)
    for many, wanted in ((row.tutor_needs, tutor_needs), (row.signs_off, signs_off)):
        keys = {one.pk for one in wanted}
        if keys != set(many.values_list("pk", flat=True)):
            many.set(keys)
            changed = True
    if changed:
        record(code="classes.outline_written", happened_at=now, now=now, by=by, about=row)
    return row, changed


def _put_needs(row: Outline, needs: Sequence[tuple[str, Process | None, int | None]]) -> bool:
    wanted = [(kind, process.pk if process else None, number) for kind, process, number in needs]
    if wanted == list(row.needs.order_by("pk").values_list("kind", "process_id", "number")):
        return False
    row.needs.all().delete()
    OutlineNeed.objects.bulk_create(
        OutlineNeed(outline=row, kind=kind, process_id=process, number=number) for kind, process, number in wanted
    )
    return True


def _put_papers(row: Outline, papers: Sequence[tuple[int, int, int]]) -> bool:
    wanted = sorted(papers)
    if wanted == sorted(row.papers.values_list("width_mm", "height_mm", "sheets_a_head")):
        return False
    row.papers.all().delete()
    OutlinePaper.objects.bulk_create(
        OutlinePaper(outline=row, width_mm=width, height_mm=height, sheets_a_head=sheets)
        for width, height, sheets in wanted
    )
    return True


@act
def retire_outline(*, outline: Outline, now: datetime, by: Member) -> Outline:
    """No new dates are made from it; those that stand stay.  Twice is once."""
    if not (by.is_active and (by.is_staff or by.is_tutor)):
        refuse("classes.staff_write_outlines", status=403)
    row: Outline = locked(Outline.objects.filter(pk=outline.pk)).get()
    if row.retired_at is None:
        row.retired_at = now
        row.save(update_fields=["retired_at"])
        record(code="classes.outline_retired", happened_at=now, now=now, by=by, about=row)
    return row
