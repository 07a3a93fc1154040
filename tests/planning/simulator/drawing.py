"""Draws that ``random.Random`` lacks.  All take the generator, so a seed names the whole studio."""

from __future__ import annotations

import math
from random import Random


def poisson(random: Random, mean: float) -> int:
    """A Poisson number: products of uniforms (Knuth, The Art of Computer Programming, vol. 2, section 3.4.1).

    A large mean is parted, for the sum of two Poisson numbers is one.
    """
    if mean > 25:
        return poisson(random, mean / 2) + poisson(random, mean / 2)
    floor, product, number = math.exp(-mean), random.random(), 0
    while product > floor:
        product *= random.random()
        number += 1
    return number


def negative_binomial(random: Random, mean: float, shape: float) -> int:
    """A number with this mean and variance mean + mean²/shape: Poisson with a gamma-distributed mean."""
    if mean <= 0:
        return 0
    return poisson(random, random.gammavariate(shape, mean / shape))


def lognormal(random: Random, spread: float) -> float:
    """A factor with mean 1 and coefficient of variation ``spread``."""
    log_variance = math.log1p(spread * spread)
    return random.lognormvariate(-log_variance / 2, math.sqrt(log_variance))


def of_mixture(random: Random, parts: tuple[tuple[float, float, float], ...]) -> float:
    """One of several gammas (weight, mean, shape)."""
    mark = random.random() * sum(weight for weight, _, _ in parts)
    for weight, mean, shape in parts:  # noqa: B007  (the last is kept where rounding leaves a rest)
        mark -= weight
        if mark <= 0:
            break
    return random.gammavariate(shape, mean / shape)
