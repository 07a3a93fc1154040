"""What the calendar does before a stay begins: when it is booked, whether it is kept, what is still to come.  Pure."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import accumulate
from math import exp

from .usage import GUESS_HOURS, TUNING, Tuning, weight
from .values import Known, Machine, Stay

DAY_S = 86_400
#: Half of all stays are booked in the last five days before (a guess worth ten bookings).
LEAD_DAYS, LEAD_WORTH = 7.0, 10.0
#: Of ten bookings far ahead nine are kept, and who cancels does it mostly within the last week (likewise).
CANCELLED, CANCEL_LEAD_DAYS, KEPT_WORTH = 0.08, 4.0, 10.0
LEADS = (0.0, 0.5, 1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 25.0, 40.0, 70.0)
#: Before a processor has any history: booked for a fifth of its places' open hours, worth half a booking.
BUSY, BUSY_WORTH = 0.2, 0.5
WEEKDAY_WORTH = 5.0  # bookings


def lead_days(earlier: datetime, later: datetime) -> float:
    return (later - earlier).total_seconds() / DAY_S


@dataclass(frozen=True)
class PickUp:
    """How much of what is booked in the end stands in the calendar so many days before, and how much of it is kept."""

    leads: Sequence[float]  # days, ascending, the last as long ago as the calendar opened
    below: Sequence[float]  # the share of the hours kept in the end that is booked less than leads[i] days before
    behind: Sequence[float]  # weighted hours that tell of leads between leads[i - 1] and leads[i]
    kept: Sequence[float]  # at LEADS
    opened: datetime | None  # when the first booking that is known was made

    def made(self, lead: float) -> float:
        """The share of the hours kept in the end that is booked ``lead`` days before already."""
        at = bisect_left(self.leads, lead)
        if at == len(self.leads):
            return 1 - _usual(lead)
        worth = LEAD_WORTH * GUESS_HOURS
        hours = self.behind[at]
        within = hours + worth * _usual(self.leads[at])
        return 1 - self.below[at] * ((hours + worth * _usual(lead)) / within if within else 1.0)

    def keep(self, lead: float) -> float:
        """The chance that a booking which stands so many days before is not cancelled."""
        lead = max(0.0, lead)
        for n in range(1, len(LEADS)):
            if lead <= LEADS[n]:
                part = (lead - LEADS[n - 1]) / (LEADS[n] - LEADS[n - 1])
                return self.kept[n - 1] + part * (self.kept[n] - self.kept[n - 1])
        return self.kept[-1]


def _usual(lead: float) -> float:
    """The guess: the share booked less than so many days before."""
    return 1 - exp(-max(0.0, lead) / LEAD_DAYS)


def _leads(
    begun: Sequence[Stay], weights: Sequence[float], opened: datetime | None
) -> tuple[list[float], list[float], list[float]]:
    """``leads``, ``below`` and ``behind`` of a ``PickUp``.

    A calendar that opened lately cannot show long leads yet, so a lead is judged by those stays alone that could have
    been booked so early: the product limit of right-truncated times (Lagakos, Barraj and De Gruttola, Biometrika 75,
    1988; from memory) with the guess as a Dirichlet prior.  Where all could, it is the plain share.
    """
    kept = [(stay, counts) for stay, counts in zip(begun, weights, strict=True) if stay.cancelled_at is None]
    if opened is None or not kept:
        return [], [], []
    hours: dict[float, float] = defaultdict(float)
    could: dict[float, float] = defaultdict(float)
    for stay, counts in kept:
        hours[max(0.0, lead_days(stay.made_at, stay.starts))] += counts * stay.hours
        could[max(0.0, lead_days(opened, stay.starts))] += counts * stay.hours
    top = max(could)
    leads = sorted({*hours, top})
    ages, told = sorted(could), [0.0, *accumulate(could[age] for age in sorted(could))]
    within = list(accumulate(hours.get(lead, 0.0) for lead in leads))
    worth = LEAD_WORTH * GUESS_HOURS
    below, behind = [0.0] * len(leads), [0.0] * len(leads)
    share = _usual(top)
    for n in range(len(leads) - 1, -1, -1):
        at, before = leads[n], leads[n - 1] if n else 0.0
        risk = within[n] - told[bisect_left(ages, at)] + worth * _usual(at)
        share *= max(0.0, 1 - hours.get(at, 0.0) / risk) if risk > 0 else 1.0
        below[n] = share
        behind[n] = max(0.0, (within[n - 1] if n else 0.0) - told[bisect_left(ages, before)])
        gap = behind[n] + worth * _usual(at)
        share *= (behind[n] + worth * _usual(before)) / gap if gap else 1.0
    return leads, below, behind


def pick_up(stays: Sequence[Stay], at: datetime, tuning: Tuning = TUNING) -> PickUp:
    """From all stays whose time has come: the whole studio's, for how people book does not hang on the process."""
    begun = [stay for stay in stays if stay.starts <= at]
    weights = [weight((at - stay.starts).total_seconds(), tuning) for stay in begun]
    opened = min((stay.made_at for stay in stays), default=None)
    leads, below, behind = _leads(begun, weights, opened)
    alive, gone = [0.0] * len(LEADS), [0.0] * len(LEADS)
    for stay, counts in zip(begun, weights, strict=True):
        made = lead_days(stay.made_at, stay.starts)
        cancelled = None if stay.cancelled_at is None else lead_days(stay.cancelled_at, stay.starts)
        for n, lead in enumerate(LEADS):
            if made < lead:
                break
            if cancelled is None or cancelled <= lead:
                alive[n] += counts
                gone[n] += counts if cancelled is not None else 0.0
    kept = []
    for n, lead in enumerate(LEADS):
        usual = KEPT_WORTH * CANCELLED * (1 - exp(-lead / CANCEL_LEAD_DAYS))
        kept.append(1 - (gone[n] + usual) / (alive[n] + KEPT_WORTH))
    return PickUp(leads, below, behind, kept, opened)


@dataclass(frozen=True)
class Demand:
    """How a processor is booked: hours of stays in one open hour, by weekday; ``worth`` bookings stand behind it."""

    per_open_hour: float
    weekday: Mapping[int, float]
    worth: float

    def hours(self, day: date, open_hours: float) -> float:
        return self.per_open_hour * self.weekday[day.weekday()] * open_hours


def demand(known: Known, machine: Machine, mean_hours: float, curve: PickUp, tuning: Tuning = TUNING) -> Demand:
    """Booked (and kept) hours over open hours since the processor first showed a sign of life."""
    since = machine.since.astimezone(known.zone).date() if machine.since else known.today + timedelta(days=1)
    opened = curve.opened.astimezone(known.zone).date() if curve.opened else since
    booked, open_for = [0.0] * 7, [0.0] * 7
    for day in known.open_hours:
        if since <= day <= known.today:
            counts = weight((known.today - day).days * DAY_S, tuning)
            # A day just after the calendar opened shows only what was booked late.
            seen = 1 - curve.made((day - opened).days + 0.7)
            open_for[day.weekday()] += counts * known.hours_behind(machine, day) * seen
    worth, squares = 0.0, 0.0
    for stay in known.stays:
        if stay.processor == machine.pk and stay.cancelled_at is None and stay.starts <= known.at:
            counts = weight((known.at - stay.starts).total_seconds(), tuning)
            gone = (min(stay.ends, known.at) - stay.starts).total_seconds() / 3600
            booked[stay.starts.astimezone(known.zone).weekday()] += counts * gone
            worth, squares = worth + counts, squares + counts**2
    first = BUSY * max(1, machine.places)
    rate = (sum(booked) + BUSY_WORTH * mean_hours) / (sum(open_for) + BUSY_WORTH * mean_hours / first)
    usual = WEEKDAY_WORTH * mean_hours
    weekday = {n: (booked[n] + usual) / (rate * open_for[n] + usual) for n in range(7)}
    return Demand(rate, weekday, worth**2 / squares if squares else 0.0)
