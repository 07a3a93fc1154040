"""How much is printed in an hour: process, member and session, each believed as far as it is known.  Pure.

Credibility in three levels (Bühlmann and Straub; Bühlmann and Gisler, A Course in Credibility Theory, chapters 4
and 6).  Session i of member m: booked hours h, area A (0 for a no-show).  E[A|m] = μ_m·h and Var[A|m] = c2·μ²·h·h̄;
the members' μ_m have mean μ and variance t2·μ²; the process's μ has mean m0 and variance (τ·m0)²·(1 + 1/J) with J
other processes to learn m0 from.  Hours and areas of the past lose half their weight in ``half_life_days``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from .values import Stay

DAY_S = 86_400
#: The shape of sessions and members before anything is known, and how many observations that is worth.
C2, C2_WORTH = 0.6, 12.0
T2, T2_WORTH, T2_LEAST, T2_MOST = 0.35, 8.0, 0.05, 1.5
TAU = 0.45
#: A first guess where no process has any history: two to three sheets of 8×10 in an hour (common practice).
GUESS_MM2_PER_H, GUESS_CV2 = 120_000.0, 0.64
GUESS_HOURS = 3.0
ENOUGH_HOURS = 10.0  # of weighted history before a process tells something of the others


@dataclass(frozen=True)
class Tuning:
    """What the tests take away to see whether it matters."""

    half_life_days: float = 30.0
    member_level: bool = True


TUNING = Tuning()


@dataclass(frozen=True)
class Rate:
    """A member's area an hour (mm²/h) and how far it is their own: 0 the process's, 1 only theirs."""

    mm2_per_h: float
    own: float


@dataclass(frozen=True)
class Usage:
    """One process: μ̂ (mm²/h) with its relative variance, the shape of members and sessions, what is known of each."""

    mu: float
    cv2: float
    c2: float
    t2: float
    mean_hours: float
    rates: Mapping[int, Rate]
    per_hour: float  # of the hours as they are booked: who comes often counts often
    strange: float  # the share of those hours in which only the process is known, not the member
    session_cv2: float  # relative variance of a session's area, whoever's it is

    def of(self, member: int) -> Rate:
        return self.rates.get(member, Rate(self.mu, 0.0))


def weight(age_s: float, tuning: Tuning = TUNING) -> float:
    """What something of the past still counts: ½ for each half-life."""
    return float(0.5 ** (max(0.0, age_s) / (tuning.half_life_days * DAY_S)))


@dataclass
class _Sums:
    """Of one member: weighted hours, area and sessions; plain ones for the shape."""

    hours: float = 0.0
    area: float = 0.0
    plain_hours: float = 0.0
    plain_area: float = 0.0
    sessions: int = 0


def past(stays: Iterable[Stay], at: datetime) -> list[Stay]:
    """The sessions that are over: not cancelled, whether anybody came or not."""
    return [stay for stay in stays if stay.cancelled_at is None and stay.ends <= at]


def usages(stays: Sequence[Stay], processes: Iterable[int], at: datetime, tuning: Tuning = TUNING) -> dict[int, Usage]:
    """Process → how it is used, from the sessions that are over at ``at``.  A process without any gets a guess."""
    by_process: dict[int, list[Stay]] = {process: [] for process in processes}
    for stay in past(stays, at):
        by_process.setdefault(stay.process, []).append(stay)
    members = {process: _summed(sessions, at, tuning) for process, sessions in by_process.items()}
    plain = {
        process: (sum(one.hours for one in sums.values()), sum(one.area for one in sums.values()))
        for process, sums in members.items()
    }
    told = {process: (hours, area) for process, (hours, area) in plain.items() if hours >= ENOUGH_HOURS and area}
    out = {}
    for process, sessions in by_process.items():
        others = [area / hours for other, (hours, area) in told.items() if other != process]
        out[process] = _usage(sessions, members[process], others, tuning)
    return out


def _summed(sessions: Iterable[Stay], at: datetime, tuning: Tuning) -> dict[int, _Sums]:
    out: dict[int, _Sums] = defaultdict(_Sums)
    for stay in sessions:
        sums, counts = out[stay.member], weight((at - stay.ends).total_seconds(), tuning)
        sums.hours += counts * stay.hours
        sums.area += counts * stay.area_mm2
        sums.plain_hours += stay.hours
        sums.plain_area += stay.area_mm2
        sums.sessions += 1
    return dict(out)


def _usage(sessions: Sequence[Stay], sums: Mapping[int, _Sums], others: Sequence[float], tuning: Tuning) -> Usage:
    if others:
        m0 = sum(others) / len(others)
        p0 = 1 / (TAU**2 * (1 + 1 / len(others)))
    else:
        m0, p0 = GUESS_MM2_PER_H, 1 / GUESS_CV2
    hours = sum(one.plain_hours for one in sums.values())
    mean_hours = (hours + GUESS_HOURS) / (len(sessions) + 1)
    c2, t2 = _shape(sessions, sums, mean_hours)
    if not tuning.member_level:
        t2 = 0.0
    # No weight depends on μ̂: that would pull it down.
    weights = {member: 1 / (t2 + c2 * mean_hours / one.hours) for member, one in sums.items() if one.hours > 0}
    total = p0 + sum(weights.values())
    mu = (p0 * m0 + sum(w * sums[member].area / sums[member].hours for member, w in weights.items())) / total
    rates = {}
    for member in weights:
        own = t2 / (t2 + c2 * mean_hours / sums[member].hours)
        rates[member] = Rate(own * sums[member].area / sums[member].hours + (1 - own) * mu, own)
    return Usage(
        mu=mu,
        cv2=max(1.0, m0 / mu) / total,  # a few empty first sessions pull μ̂ down, and must not make it surer
        c2=c2,
        t2=t2,
        mean_hours=mean_hours,
        rates=rates,
        per_hour=_per_hour(sums, rates, mu),
        strange=_strange(sums, rates),
        session_cv2=_session_cv2(sessions, c2, t2),
    )


def _shape(sessions: Sequence[Stay], sums: Mapping[int, _Sums], mean_hours: float) -> tuple[float, float]:
    """c2 and t2 by moments, shrunk towards what is usual."""
    hours = sum(one.plain_hours for one in sums.values())
    area = sum(one.plain_area for one in sums.values())
    if not hours or not area:
        return C2, T2
    mean = area / hours
    own = {member: one.plain_area / one.plain_hours for member, one in sums.items()}
    squares = sum((stay.area_mm2 - own[stay.member] * stay.hours) ** 2 / stay.hours for stay in sessions)
    free = len(sessions) - len(sums)
    c2 = (C2_WORTH * C2 + squares / (mean**2 * mean_hours)) / (C2_WORTH + free)
    between = sum(one.plain_hours * (own[member] - mean) ** 2 for member, one in sums.items())
    spread = hours - sum(one.plain_hours**2 for one in sums.values()) / hours
    others = len(sums) - 1
    if not others or spread <= 0:
        return c2, T2
    found = (between / mean**2 - others * c2 * mean_hours) / spread
    t2 = (T2_WORTH * T2 + others * found) / (T2_WORTH + others)
    return c2, min(T2_MOST, max(T2_LEAST, t2))


def _per_hour(sums: Mapping[int, _Sums], rates: Mapping[int, Rate], mu: float) -> float:
    """The rate of an hour that nobody has booked yet: as members share the hours now, strangers among them."""
    hours = sum(one.hours for one in sums.values())
    booked = sum(sums[member].hours * rate.mm2_per_h for member, rate in rates.items())
    return (booked + GUESS_HOURS * mu) / (hours + GUESS_HOURS)


def _strange(sums: Mapping[int, _Sums], rates: Mapping[int, Rate]) -> float:
    """How far ``per_hour`` rests on μ̂ alone: 1 without any history."""
    hours = sum(one.hours for one in sums.values())
    unsure = sum(sums[member].hours * (1 - rate.own) for member, rate in rates.items())
    return (unsure + GUESS_HOURS) / (hours + GUESS_HOURS)


def _session_cv2(sessions: Sequence[Stay], c2: float, t2: float) -> float:
    usual = c2 + t2 + 0.1  # sessions, members, lengths
    area = sum(stay.area_mm2 for stay in sessions)
    if not area:
        return usual
    mean = area / len(sessions)
    squares = sum((stay.area_mm2 / mean - 1) ** 2 for stay in sessions)
    return (C2_WORTH * usual + squares) / (C2_WORTH + len(sessions) - 1)
