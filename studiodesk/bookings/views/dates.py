"""Days in addresses, and the links between them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.http import HttpRequest
from django.urls import reverse
from django.utils.text import slugify

from studiodesk.dates import written
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Station, Studio
from studiodesk.timekeeping import Span

from ..forms import query_of
from ..rules.asking import next_on_grid, on_grid
from ..rules.day import DayLine, Stretch

USUAL_LENGTH = timedelta(hours=2)


class DayConverter:
    """A date as "2026-11-27"; any other text is no address."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date | str) -> str:
        return value if isinstance(value, str) else value.isoformat()


@dataclass(frozen=True)
class DayLink:
    url: str
    label: str
    current: bool


def day_links(middle: date, name: str = "day", *more: str) -> list[DayLink]:
    """The day before, this one and the five after it."""
    return [
        DayLink(reverse(name, args=[at, *more]), written(at, "D j M"), at == middle)
        for at in (middle + timedelta(days=n) for n in range(-1, 6) if date.min < middle + timedelta(days=n))
    ]


def slugs(kinds: list[str]) -> dict[str, str]:
    """Kind → the word for it in an address, unique and never empty."""
    out: dict[str, str] = {}
    for number, kind in enumerate(kinds, start=1):
        slug = slugify(kind, allow_unicode=True) or f"kind-{number}"
        out[kind] = slug if slug not in out.values() else f"{slug}-{number}"
    return out


def book_url(station: Station, process: Process | None, span: Span, zone: ZoneInfo, whom: str = "") -> str:
    """``whom`` is the number of the member for whom somebody else books."""
    fields = query_of(station, process, span, zone) | ({"whom": whom} if whom else {})
    return f"{reverse('book')}?{urlencode(fields)}"


def free_url(stretch: Stretch, station: Station, grid: timedelta, zone: ZoneInfo) -> str | None:
    """Where a free stretch leads: the booking page, at its beginning and for the usual length or what there is."""
    starts = next_on_grid(stretch.starts + timedelta(minutes=station.set_up_minutes), grid, zone)
    room = stretch.ends - timedelta(minutes=station.clear_up_minutes) - starts
    length = min(USUAL_LENGTH - USUAL_LENGTH % grid or grid, room - room % grid)
    if length < grid or not on_grid(starts + length, grid, zone):
        return None
    does = list(station.processes.all())
    return book_url(station, does[0] if len(does) == 1 else None, Span(starts, starts + length), zone)


def linked(line: DayLine, station: Station | None, grid: timedelta, zone: ZoneInfo) -> DayLine:
    """The line with an address on each free stretch and on the bookings that this person may open."""

    def url(stretch: Stretch) -> str | None:
        if stretch.what == "free" and station is not None:
            return free_url(stretch, station, grid, zone)
        return reverse("booking", args=[stretch.url]) if stretch.url else None

    return replace(line, stretches=tuple(replace(stretch, url=url(stretch)) for stretch in line.stretches))


def studio_of(request: HttpRequest) -> Studio:
    """The studio that the middleware has read already; refused before one was loaded."""
    return getattr(request, "studio", None) or stations.studio()


def query(**more: Any) -> str:
    return "?" + urlencode({name: value for name, value in more.items() if value}) if any(more.values()) else "?"
