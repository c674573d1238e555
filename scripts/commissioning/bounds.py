"""Exact bounds on a proportion, from a library the tool itself does not use.

Source: Clopper and Pearson, as quantiles of the beta distribution (SciPy's inverse of the regularised incomplete beta
function).
"""

from scipy.special import betaincinv


def lower(found: int, tried: int, confidence: float) -> float:
    """The smallest share that so many of so many leave possible, one-sided."""
    return float(betaincinv(found, tried - found + 1, 1 - confidence)) if found else 0.0


def upper(found: int, tried: int, confidence: float) -> float:
    """The largest share that so many of so many leave possible, one-sided; 1 where nothing was tried."""
    return float(betaincinv(found + 1, tried - found, confidence)) if found < tried else 1.0
