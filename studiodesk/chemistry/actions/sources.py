"""Where what goes into a bath comes from: a container or a mix; the container has less then, and its age goes along."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from studiodesk.answers import refuse

from ..models import BathEntry, Container, Mix
from ..queries import mixing as reads
from ..rules.entering import REFILL
from ..rules.settings import BathSettings
from . import containers


@dataclass(frozen=True)
class Source:
    """``leaves_pl`` of ``container``; ``age_from``: since when the shelf life of the bath counts, if not from now."""

    container: Container | None = None
    mix: Mix | None = None
    leaves_pl: int = 0
    age_from: datetime | None = None


def of_entry(
    settings: BathSettings,
    event: str,
    amount_pl: int | None,
    at: datetime,
    container: Container | None,
    mix: Mix | None,
    corrects: BathEntry | None,
    now: datetime,
    by: Any,
) -> Source:
    """What an entry takes and from where.  What the entry that it corrects took is in the container again before."""
    if corrects is not None:
        gone = list(corrects.container_entries.filter(undone_by=None, undoes=None).select_related("container", "mix"))
        containers.lock([row.container.code for row in gone])
        containers.take_back(gone, now, by)
    if mix is not None and mix.undone_at is not None:
        refuse("chemistry.mix_of_no_bath")
    if container is None:
        return Source(mix=mix)
    row = containers.lock([container.code]).get(container.code)
    if row is None:
        refuse("chemistry.no_such_container", container=container.name)
    wanted = settings.volume_pl if event == REFILL else amount_pl or 0
    if corrects is not None and corrects.container_id == row.pk:
        # What was written of the container since does not keep anybody from correcting how much it was.
        stands = reads.content_of(row, max(at, reads.last_written(row) or at))
        if stands.mix is None or stands.mix.pk != corrects.mix_id:
            return Source(row, corrects.mix, 0, corrects.age_from)
        leaves = min(wanted, stands.level_pl)
    else:
        stands, leaves = containers.what_leaves(row, wanted, at)
    age_from = None
    if event == REFILL and settings.age_limit_s and stands.spent > 0:
        age_from = at - timedelta(seconds=int(stands.spent * settings.age_limit_s))
    return Source(row, stands.mix, leaves, age_from)


def leave(source: Source, entry: BathEntry, now: datetime, by: Any) -> None:
    if source.container is not None and source.mix is not None and source.leaves_pl > 0:
        containers.take_for_bath(
            container=source.container, entry=entry, mix=source.mix, amount_pl=source.leaves_pl, now=now, by=by
        )
