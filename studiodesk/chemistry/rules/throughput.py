"""How fast material passes a roller-transport processor.  Pure; lengths mm, times s, speeds mm/s."""

from __future__ import annotations

from fractions import Fraction


def transport_speed(path_mm: int | Fraction, dwell_s: int | Fraction) -> Fraction:
    """v = path / dwell."""
    return Fraction(path_mm) / dwell_s


def roll_time_s(process_s: int | Fraction, length_mm: int | Fraction, speed_mm_per_s: int | Fraction) -> Fraction:
    """From the leading edge going in until the trailing edge comes out: t_process + length / v."""
    return process_s + Fraction(length_mm) / speed_mm_per_s


def replenisher_flow_pl_per_s(speed_mm_per_s: int | Fraction, pl_per_mm: int | Fraction) -> Fraction:
    """What a rate per length asks of the pump while material runs."""
    return Fraction(speed_mm_per_s) * pl_per_mm
