"""The area that will go through each processor, day by day, as mean and variance.  Pure.

Added by moments: the stays that stand in the calendar, those still to be booked, sheets of nobody's stay, and what is
planned besides.  Formulas of the booked part: see ``usage``; the rest is compound Poisson with an uncertain level.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp

from .calendar import Demand, PickUp, demand, lead_days, pick_up
from .clumps import MOST_LEVEL_CV2, loose_days, loose_sheets, weeks_clumped
from .machines import how_divided, squared_part, where_it_went
from .usage import TUNING, Tuning, Usage, past, usages
from .values import HORIZON_DAYS, Course, Known, Machine, Stay

#: What the shape of sessions and members, itself uncertain while there are few, adds to the variance.
SHAPE_MORE, SHAPE_WORTH = 0.5, 12.0


@dataclass
class _Day:
    """What a day adds of the stays in the calendar: member → hours, with what cancelling and moving may do."""

    hours: dict[int, float] = field(default_factory=lambda: defaultdict(float))
    session: float = 0.0  # h̄-scaled variance of sessions, kept ones
    chance: float = 0.0  # Σ s(1−s)(rate·h)²


def courses(known: Known, *, tuning: Tuning = TUNING, widened: Mapping[int, float] | None = None) -> dict[int, Course]:
    """Processor → its course over the next ``HORIZON_DAYS``.  ``widened``: processor → factor on the variance."""
    use = usages(known.stays, {machine.process for machine in known.machines}, known.at, tuning)
    curve = pick_up(known.stays, known.at, tuning)
    over = past(known.stays, known.at)
    ahead = [stay for stay in known.stays if stay.cancelled_at is None and stay.ends > known.at]
    out = {}
    for process, usage in use.items():
        machines = [machine for machine in known.machines if machine.process == process]
        sessions = [stay for stay in over if stay.process == process]
        coming = [stay for stay in ahead if stay.process == process]
        moves = where_it_went(sessions, machines, known.at, tuning)
        parted = how_divided(sessions, machines, known.at, tuning)
        demands = {machine.pk: demand(known, machine, usage.mean_hours, curve, tuning) for machine in machines}
        for machine in machines:
            shares = {other: to.get(machine.pk, 0.0) for other, to in moves.items()}
            lasting = _Lasting(known, machine, usage, sessions, demands, shares, tuning, parted)
            out[machine.pk] = _course(lasting, coming, curve, (widened or {}).get(machine.pk, 1.0))
    return out


def shape(sessions: int) -> float:
    """The factor on the variance of what is booked after so many sessions: 1½ without any, 1 in the end."""
    return 1 + SHAPE_MORE * SHAPE_WORTH / (SHAPE_WORTH + sessions)


class _Lasting:
    """What does not change from day to day in the course of one processor."""

    def __init__(
        self,
        known: Known,
        machine: Machine,
        usage: Usage,
        sessions: Sequence[Stay],
        demands: Mapping[int, Demand],
        shares: Mapping[int, float],
        tuning: Tuning,
        divided: float = 0.0,
    ) -> None:
        self.divided = divided
        self.known, self.machine, self.usage = known, machine, usage
        self.demands, self.shares = demands, shares
        self.machines = {one.pk: one for one in known.machines}
        self.sessions = [
            stay for stay in sessions if shares.get(stay.processor or 0, 0.0) >= 0.5 or machine.pk in stay.fed
        ]
        self.shape = shape(len(self.sessions))
        self.session_mm2 = usage.per_hour * usage.mean_hours
        clumped = weeks_clumped(self.sessions, known, machine)
        weighed = [(one.worth, shares.get(pk, 0.0)) for pk, one in demands.items() if shares.get(pk, 0.0)]
        means = sum(w * q for w, q in weighed)
        square = sum(w * squared_part(divided, q) for w, q in weighed)
        self.scatter = self.session_mm2 * clumped * (1 + usage.session_cv2) * (square / means if means else 1.0)
        worth = means**2 / square if square else 0.0
        self.level_cv2 = min(MOST_LEVEL_CV2, clumped * (1 + usage.session_cv2) / (worth + 0.5))
        loose = loose_days(known, machine)
        self.loose_days = len(loose)
        self.loose_per_hour, self.loose_scatter, self.loose_cv2 = loose_sheets(known, machine, loose, tuning)
        self.watched_days = (known.at - machine.since).days if machine.since else 0


def _course(of: _Lasting, coming: Sequence[Stay], curve: PickUp, widened: float) -> Course:
    known, usage = of.known, of.usage
    days, booked_h = _booked(of, coming, curve)
    places = _taken(of, coming)
    planned: dict[int, tuple[float, float]] = defaultdict(lambda: (0.0, 0.0))
    for one in known.planned:
        number = (one.at.astimezone(known.zone).date() - known.today).days
        if one.processor == of.machine.pk and 0 <= number <= HORIZON_DAYS:
            planned[number] = (planned[number][0] + one.mean_mm2, planned[number][1] + one.variance_mm4)
    held: dict[int, float] = defaultdict(float)
    booked = own = session = chance = unsure = spread = 0.0
    unmade = loose = scattered = fixed = fixed_spread = idle = 0.0
    mean, variance, idle_days, idle_variance = [], [], [], []
    idle_spread = 0.0
    for number in range(HORIZON_DAYS + 1):
        before = booked + unmade + loose + fixed
        for member, hours in days[number].hours.items():
            rate = usage.of(member)
            was, now = held[member], held[member] + hours
            held[member] = now
            booked += hours * rate.mm2_per_h
            own += (now**2 - was**2) * usage.mu**2 * usage.t2 * (1 - rate.own)
            unsure += hours * (1 - rate.own)
        session += days[number].session
        chance += days[number].chance
        unmade += _still_to_be_booked(of, number, curve, places) * usage.per_hour
        loose += of.loose_per_hour * known.hours_ahead(of.machine, known.today + timedelta(days=number))
        fixed, fixed_spread = fixed + planned[number][0], fixed_spread + planned[number][1]
        spread = of.shape * ((own + session) * (1 + usage.cv2) + unsure**2 * usage.mu**2 * usage.cv2) + chance
        scattered = unmade * of.scatter + of.level_cv2 * unmade**2
        # What is booked and what will be rest on the same μ̂, so they are wrong together.
        scattered += 2 * of.shape * unsure * usage.mu * usage.cv2 * usage.strange * unmade
        scattered += loose * of.loose_scatter + of.loose_cv2 * loose**2
        mean.append(booked + unmade + loose + fixed)
        variance.append(widened * (spread + scattered) + fixed_spread)
        none = exp(-(mean[-1] - before) / of.session_mm2)
        idle, idle_spread = idle + none, idle_spread + none * (1 - none)
        idle_days.append(idle)
        idle_variance.append(idle_spread)
    return Course(
        processor=of.machine.pk,
        first_day=known.today,
        mean=mean,
        variance=variance,
        booked_h=booked_h,
        sessions=len(of.sessions),
        watched_days=of.watched_days,
        loose_days=of.loose_days,
        idle_days=idle_days,
        idle_variance=idle_variance,
        scatter_mm2=of.scatter,
    )


def _booked(of: _Lasting, coming: Sequence[Stay], curve: PickUp) -> tuple[list[_Day], float]:
    """The stays in the calendar by the day they end on, and their hours in all."""
    usage, known = of.usage, of.known
    days = [_Day() for _ in range(HORIZON_DAYS + 1)]
    total = 0.0
    for stay in coming:
        share = of.shares.get(stay.processor, 0.0) if stay.processor is not None else 1 / max(1, len(of.shares))
        number = (stay.ends.astimezone(known.zone).date() - known.today).days
        if not share or not 0 <= number <= HORIZON_DAYS:
            continue
        left = stay.hours_after(known.at)
        kept = curve.keep(lead_days(known.at, stay.starts)) if stay.starts > known.at else 1.0
        keep, square = share * kept, squared_part(of.divided, share) * kept
        rate = usage.of(stay.member).mm2_per_h
        day = days[number]
        day.hours[stay.member] += keep * left
        day.session += square * usage.c2 * usage.mean_hours * usage.mu * left * (rate + usage.mu) / 2
        day.chance += (square - keep**2) * (rate * left) ** 2
        total += left * share
    return days, total


def _taken(of: _Lasting, coming: Sequence[Stay]) -> dict[tuple[int, date], float]:
    """(processor, local day) → hours of its places that stand in the calendar."""
    taken: dict[tuple[int, date], float] = defaultdict(float, of.known.kept)
    for stay in coming:
        if stay.processor is not None:
            taken[stay.processor, stay.starts.astimezone(of.known.zone).date()] += stay.hours_after(of.known.at)
    return dict(taken)


def _still_to_be_booked(of: _Lasting, number: int, curve: PickUp, taken: Mapping[tuple[int, date], float]) -> float:
    """Hours of that day that nobody has booked yet and somebody will, at most what the places still hold."""
    known = of.known
    day = known.today + timedelta(days=number)
    to_come = 1 - curve.made(number if number else 0.25)
    hours = 0.0
    for pk, share in of.shares.items():
        open_hours = known.hours_ahead(of.machines[pk], day)
        if share and open_hours:
            free = max(0.0, of.machines[pk].places * open_hours - taken.get((pk, day), 0.0))
            hours += share * min(of.demands[pk].hours(day, open_hours) * to_come, free)
    return hours
