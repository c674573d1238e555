"""Quantities as a person reads them, each with its unit."""

import math


def percent(proportion: float) -> str:
    """A proportion between 0 and 1 with one decimal and its sign, as in `13.9 %`."""
    return f"{100 * proportion:.1f} %"


def odds(ratio: float) -> str:
    """A ratio of likelihoods as `2703 to 1`; one that has no finite value as `beyond counting`."""
    if not math.isfinite(ratio) or ratio >= 1e9:
        return "more than 1000000000 to 1"
    return f"{ratio:.0f} to 1" if ratio >= 10 else f"{ratio:.1f} to 1"


def seconds(value_s: float) -> str:
    """A length of time: milliseconds below one second, one decimal below a minute, minutes above."""
    if value_s < 1:
        return f"{1000 * value_s:.0f} ms"
    if value_s < 60:
        return f"{value_s:.1f} s"
    return f"{value_s / 60:.1f} min"


def millimetres(value_mm: float) -> str:
    """A length with one decimal, as in `12.5 mm`."""
    return f"{value_mm:.1f} mm"
