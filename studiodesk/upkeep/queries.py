"""What the files are checked against: the studio's codes and the rows that are here already."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import Max

from studiodesk.bookings.models import Booking
from studiodesk.chemistry.models import Bath, BathEntry, BathSetting, Feed, Fill, SheetSize, StripReading
from studiodesk.classes.models import Outline
from studiodesk.parts import in_parts
from studiodesk.people.models import Member, Membership, MembershipPlan
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, LightZone, Process

from .rules.known import House, KnownBooking, KnownMember, KnownProcessor, KnownSheet, KnownStation
from .rules.known_members import KnownMembership, KnownPlan


def is_a_station(code: str) -> bool:
    return stations.stations().filter(code=code).exists()


def is_kit(code: str) -> bool:
    return KitItem.objects.filter(code=code).exists()


def room_names() -> set[str]:
    """The rooms whose light stations share."""
    return set(LightZone.objects.values_list("name", flat=True))


def outline_codes() -> set[str]:
    return set(Outline.objects.values_list("code", flat=True))


def sign_offs() -> dict[tuple[str, str], SignOffNeed]:
    """(kind, process code), one of them "" → what needs a sign-off."""
    rows = SignOffNeed.objects.select_related("process")
    return {(row.kind, row.process.code if row.process else ""): row for row in rows}


def process_codes() -> set[str]:
    return set(Process.objects.values_list("code", flat=True))


def house() -> House:
    """Every code of the studio."""
    rates = dict(BathSetting.objects.order_by().values_list("bath__processor").annotate(greatest=Max("rate_ul_per_m2")))
    return House(
        processes=dict(Process.objects.values_list("code", "pk")),
        stations={
            row.code: KnownStation(
                row.pk,
                timedelta(minutes=row.set_up_minutes),
                timedelta(minutes=row.clear_up_minutes),
                frozenset(process.code for process in row.processes.all()),
            )
            for row in stations.stations()
        },
        processors={
            row.code: KnownProcessor(row.pk, row.name, row.feed_width_mm, rates.get(row.pk) or 0)
            for row in stations.processors()
        },
        sheets={row.code: KnownSheet(row.pk, row.name, row.width_mm, row.length_mm) for row in SheetSize.objects.all()},
        baths={
            (processor, code): pk for processor, code, pk in Bath.objects.values_list("processor__code", "code", "pk")
        },
    )


def members() -> dict[str, KnownMember]:
    """Number → member."""
    fields = ("pk", "number", "name", "email", "joined_on", "born_on")
    return {row[1]: KnownMember(*row) for row in Member.objects.values_list(*fields)}


def plans() -> dict[str, KnownPlan]:
    """Code → kind of membership."""
    rows = MembershipPlan.objects.values_list("code", "pk", "is_day_pass")
    return {code: KnownPlan(pk, is_day_pass) for code, pk, is_day_pass in rows}


def memberships(numbers: Iterable[str]) -> dict[str, list[KnownMembership]]:
    """Number → the memberships that are here, of those people."""
    out: dict[str, list[KnownMembership]] = {}
    for part in in_parts(numbers):
        rows = Membership.objects.filter(member__number__in=part).order_by("first_day")
        for number, *values in rows.values_list("member__number", "plan__code", "first_day", "last_day"):
            out.setdefault(number, []).append(KnownMembership(*values))
    return out


def bookings(references: Iterable[str]) -> dict[str, KnownBooking]:
    """Reference → booking, of those that are here."""
    fields = ("member__number", "station__code", "process__code", "starts", "ends", "made_at")
    out = {}
    for part in in_parts(references):
        rows = Booking.objects.filter(reference__in=part)
        for reference, *values in rows.values_list("reference", "pk", *fields, "cancelled_at", "arrived_at"):
            out[reference] = KnownBooking(*values)
    return out


def refills(moments: Iterable[datetime]) -> dict[tuple[str, str, datetime], str]:
    """(processor, bath, moment) of every refill at one of ``moments`` → the key of its line ("" if made by hand)."""
    out = {}
    for part in in_parts(set(moments)):
        rows = BathEntry.objects.filter(event=BathEntry.Event.REFILL, at__in=part, corrected_by=None)
        for processor, bath, at, key in rows.values_list("bath__processor__code", "bath__code", "at", "file_key"):
            out[processor, bath, at] = key or ""
    return out


def readings(moments: Iterable[datetime]) -> dict[tuple[str, datetime, str, str], tuple[Decimal, Decimal]]:
    """(processor, moment, patch, channel) of every reading at one of ``moments`` → (aim, reading)."""
    out = {}
    fields = ("processor__code", "read_at", "patch", "channel", "aim", "reading")
    for part in in_parts(set(moments)):
        for processor, at, patch, channel, aim, reading in StripReading.objects.filter(read_at__in=part).values_list(
            *fields
        ):
            out[processor, at, patch, channel] = (aim, reading)
    return out


def sizes_with_sheets() -> set[int]:
    """Ids of the sheet sizes of which something went through already."""
    return set(Feed.objects.order_by().values_list("sheet", flat=True).distinct())


def settings_now(bath: Bath) -> BathSetting | None:
    """The last version of a bath's figures."""
    return BathSetting.objects.filter(bath=bath).order_by("-in_force_from").first()


def has_events_from(bath: Bath, moment: datetime) -> bool:
    """True if something of this bath is recorded at or after ``moment``."""
    return Fill.objects.filter(bath=bath, last_event_at__gte=moment).exists()


def is_untouched(bath: Bath) -> bool:
    """True while nothing at all is recorded of this bath."""
    return not Fill.objects.filter(bath=bath).exists()


def baths_with_tanks() -> list[Bath]:
    return list(Bath.objects.select_related("processor").filter(fills__isnull=False).distinct())


def left_behind(kept: dict[str, set[str]]) -> list[tuple[str, str]]:
    """(kind, code) of what is in the database and not among ``kept``; kinds as the file's tables are called."""
    here = {
        "processes": Process.objects.values_list("code", flat=True),
        "processors": stations.processors().values_list("code", flat=True),
        "stations": stations.stations().values_list("code", flat=True),
        "kit": KitItem.objects.values_list("code", flat=True),
        "sheet_sizes": SheetSize.objects.values_list("code", flat=True),
        "outlines": Outline.objects.filter(retired_at=None).values_list("code", flat=True),
        "baths": [f"{row[0]}/{row[1]}" for row in Bath.objects.values_list("processor__code", "code")],
    }
    return [(kind, code) for kind, codes in here.items() for code in codes if code not in kept[kind]]
