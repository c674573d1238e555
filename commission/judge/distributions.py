"""Tails of the counting distributions and the one root finder of this room.

Everything is summed from exact binomial coefficients, so the figures hold to about twelve digits without any
library beyond the standard one.
"""

import math
from collections.abc import Callable
from functools import lru_cache

_HALVINGS = 200


def log_beta(a: float, b: float) -> float:
    """Natural logarithm of the beta function, ln Γ(a) + ln Γ(b) - ln Γ(a+b); no unit. Source: its definition."""
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


@lru_cache(maxsize=4096)
def _log_choose(n: int, k: int) -> float:
    return math.log(math.comb(n, k))


def _below_the_mean(k: int, n: int, p: float) -> float:
    """P(X <= k) for k below n·p, where each term towards zero is smaller than the one before."""
    term = math.exp(_log_choose(n, k) + k * math.log(p) + (n - k) * math.log1p(-p))
    total = term
    for i in range(k, 0, -1):
        term *= i / (n - i + 1) * (1 - p) / p
        total += term
        if term < total * 1e-18:
            break
    return total


def binomial_cdf(k: int, n: int, p: float) -> float:
    """P(X <= k) = Σ C(n,i) p^i (1-p)^(n-i), i = 0..k, for X binomial in n trials; no unit.

    Raises:
        ValueError: p is no probability or n is negative.
    """
    if n < 0 or not 0 <= p <= 1:
        raise ValueError(f"A binomial needs n >= 0 and 0 <= p <= 1, not n = {n}, p = {p}.")
    if k < 0:
        return 0.0
    if k >= n or p == 0:
        return 1.0
    if p == 1:
        return 0.0
    if k < n * p:
        return _below_the_mean(k, n, p)
    return 1.0 - _below_the_mean(n - k - 1, n, 1 - p)


def poisson_cdf(k: int, mean: float) -> float:
    """P(N <= k) = Σ e^-m m^i / i!, i = 0..k, for N Poisson with that mean count; no unit.

    Raises:
        ValueError: the mean is negative or not finite.
    """
    if mean < 0 or not math.isfinite(mean):
        raise ValueError(f"A Poisson mean is a finite number from 0 up, not {mean}.")
    if k < 0:
        return 0.0
    if mean == 0:
        return 1.0
    terms = (math.exp(i * math.log(mean) - mean - math.lgamma(i + 1)) for i in range(k + 1))
    return min(1.0, math.fsum(terms))


def falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero between two arguments, by halving down to the last bit.

    Raises:
        ArithmeticError: the function does not cross zero there.
    """
    if function(low) < 0 or function(high) > 0:
        raise ArithmeticError(f"No crossing between {low} and {high}.")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if function(middle) > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2
