"""Preferred values of resistors and capacitors: the E series of IEC 60063."""

from __future__ import annotations

from bisect import bisect_left
from functools import cache
from math import floor, log10

# IEC 60063, two digits. These are older than the formula, which would give other values from 2.7 to 4.7 and at 8.2.
_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
# The tolerance each series is meant for, in percent (IEC 60063, as recalled).
TOLERANCES = {"E6": 20.0, "E12": 10.0, "E24": 5.0, "E48": 2.0, "E96": 1.0, "E192": 0.5}
NAMES = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")


@cache
def values(name: str) -> tuple[int, ...]:
    """Return one decade of series `name` as three digits, 100 to under 1000.

    E48 and up are 10^(i/n) rounded to three digits, but that 919 is 920 in E192 (IEC 60063). Raises KeyError for a
    name that is no series.
    """
    n = {f"E{n}": n for n in (3, 6, 12, 24, 48, 96, 192)}[name]
    if n <= 24:
        return tuple(10 * v for v in _E24[:: 24 // n])
    rounded = (round(100 * 10 ** (i / n)) for i in range(n))
    return tuple(920 if v == 919 else v for v in rounded)


def nearest(value: float, name: str) -> float:
    """Return the value of series `name` nearest to a positive `value`, by ratio; the lower one on a tie."""
    decade = floor(log10(value) + 1e-12)
    digits = value / float(f"1e{decade - 2}")
    ladder = (*values(name), 1000)
    at = bisect_left(ladder, digits - 1e-9)
    around = ladder[max(at - 1, 0) : at + 1]
    best = min(around, key=lambda v: max(v / digits, digits / v))
    return float(f"{best}e{decade - 2}")


def first_series(value: float) -> str | None:
    """Return the coarsest series that holds `value`, None where none does."""
    if value <= 0:
        return None
    return next((n for n in NAMES if abs(nearest(value, n) / value - 1) < 1e-6), None)
