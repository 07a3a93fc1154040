"""Who searches: everything that the rules of the house ask about one person, for all days of a search at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.safety.models import SignOff, SignOffNeed
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process
from studiodesk.timekeeping import Span, day_span, studio_day

from ..models import Booking
from ..rules import own
from ..rules.asking import Asked
from ..rules.house import HouseRules, Row, in_force
from ..rules.needs import Need, need_from_json
from .house_rules import rule_rows
from .persons import own_ones, own_since, own_stay

#: What the person can still put right on the page where they book.
ASKED_FOR = "bookings.needs_adult"


@dataclass(frozen=True)
class Signed:
    """A sign-off that is needed: until when the person has it (None: never had; ``ever``: for good)."""

    name: str
    ever: bool
    until: datetime | None

    def lacks(self, at: datetime) -> bool:
        return not self.ever and (self.until is None or self.until <= at)


@dataclass
class Searcher:
    """``kinds`` and ``process``: the sign-offs that are needed; ``supervised``: when somebody helps beginners."""

    rows: list[Row]
    memberships: list[tuple[date, date | None, int]]
    runs_the_house: bool
    born_on: date | None
    zone: ZoneInfo
    kinds: dict[str, Signed] = field(default_factory=dict)
    process: Signed | None = None
    usual: Need | None = None
    own: Sequence[own.OwnStay] = ()
    supervised: Sequence[Span] = ()
    rules: dict[date, tuple[HouseRules, int | None, date | None]] = field(default_factory=dict)

    def on(self, day: date) -> tuple[HouseRules, int | None, date | None]:
        """The rules that hold on that day, the plan, and the last day of the latest membership begun by then."""
        if day not in self.rules:
            begun = [one for one in self.memberships if one[0] <= day]
            plan = next((plan for _first, last, plan in reversed(begun) if last is None or last >= day), None)
            self.rules[day] = (in_force(self.rows, day, plan), plan, begun[-1][1] if begun else None)
        return self.rules[day]

    def lacks(self, kind: str, at: datetime) -> tuple[str, ...]:
        needed = [self.kinds.get(kind), self.process]
        return tuple(one.name for one in needed if one is not None and one.lacks(at))

    def supervised_for(self, kind: str) -> Sequence[Span] | None:
        """When somebody helps; None for whoever needs no help."""
        return self.supervised if kind in self.kinds or self.process else None

    def needs_adult_on(self, day: date) -> bool:
        age = self.on(day)[0].number("adult_age")
        return self.born_on is not None and own.age_on(self.born_on, day) < age

    def refusal(self, span: Span, kind: str, process: Process | None, now: datetime) -> Refusal | None:
        """The gravest rule of the house that stands in the way, but for what the person is asked when booking."""
        rules, plan, until = self.on(studio_day(span.starts, self.zone))
        lacks = self.lacks(kind, span.starts)
        person = own.Person(
            plan=str(plan or ""),
            member_until=until,
            runs_the_house=self.runs_the_house,
            born_on=self.born_on,
            own=self.own,
            lacks=lacks,
            supervised=tuple(self.supervised) if lacks else (),
        )
        asked = Asked(span.starts, span.ends, process.code if process else None, now)
        found = own.broken(asked, person, rules, self.zone)
        return next((one for one in found if one.code != ASKED_FOR), None)


def _signed(needs: QuerySet[SignOffNeed], **of: Any) -> tuple[Exists, Exists, Subquery]:
    """Is a sign-off needed; is there one for good; until when does the longest other hold?"""
    mine = SignOff.objects.filter(member=OuterRef("pk"), revoked_at__isnull=True, **of)
    dated = mine.filter(until__isnull=False).order_by("-until").values("until")[:1]
    return Exists(needs), Exists(mine.filter(until__isnull=True)), Subquery(dated)


def searcher(
    member: Member,
    kinds: Sequence[str],
    process: Process | None,
    first: date,
    last: date,
    now: datetime,
    zone: ZoneInfo,
) -> Searcher:
    """Two queries; one more where a rule looks at what the person booked, one more for whoever is not signed off."""
    extra: dict[str, Any] = {}
    for number, kind in enumerate(kinds):
        parts = _signed(SignOffNeed.objects.filter(kind=kind), kind=kind)
        extra |= dict(zip((f"kind{number}", f"kind{number}_ever", f"kind{number}_until"), parts, strict=True))
    if process is not None:
        parts = _signed(SignOffNeed.objects.filter(process=process.pk), process=process.pk)
        extra |= dict(zip(("process", "process_ever", "process_until"), parts, strict=True))
    rows = list(
        Member.objects.filter(pk=member.pk)
        .annotate(
            usual=F("usual_need__need"),
            plan=F("memberships__plan"),
            from_day=F("memberships__first_day"),
            until_day=F("memberships__last_day"),
            **extra,
        )
        .order_by("from_day", "memberships__pk")
    )
    row: Any = rows[0]
    who = Searcher(
        rows=rule_rows(),
        memberships=[(one.from_day, one.until_day, one.plan) for one in rows if one.plan is not None],
        runs_the_house=row.may_run_the_house or row.is_tutor,
        born_on=row.born_on,
        zone=zone,
        usual=need_from_json(row.usual) if row.usual is not None else None,
    )
    for number, kind in enumerate(kinds):
        if getattr(row, f"kind{number}"):
            who.kinds[kind] = Signed(kind, getattr(row, f"kind{number}_ever"), getattr(row, f"kind{number}_until"))
    if process is not None and row.process:
        who.process = Signed(process.name, row.process_ever, row.process_until)
    until = day_span(last + timedelta(days=1), zone).ends
    who.kinds = {kind: one for kind, one in who.kinds.items() if one.lacks(until)}
    who.process = who.process if who.process and who.process.lacks(until) else None
    who.own = _own(member, who, first, last, now, zone)
    if who.kinds or who.process:
        who.supervised = stations.supervised_spans(Span(now, until + timedelta(days=60)))
    return who


def _own(
    member: Member, who: Searcher, first: date, last: date, now: datetime, zone: ZoneInfo
) -> Sequence[own.OwnStay]:
    """The person's stays as the first day on which a rule looks at them needs them; later days need no more."""
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    since = next((found for day in days if (found := own_since(first, now, who.on(day)[0], zone))), None)
    if since is None:
        return ()
    return [own_stay(row, now) for row in Booking.objects.filter(own_ones(member, since))]
