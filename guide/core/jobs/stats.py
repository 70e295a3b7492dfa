"""The few statistics reference readings need, in the standard library: quantiles, tolerance factors, outliers.

The core imports no numerics package; the tests hold every function against scipy and the published examples.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from math import dist, exp, lgamma, log, sqrt
from statistics import NormalDist, fmean, median

MAD_FACTOR = 1.4826  # scaled median absolute deviation of a normal sample; ISO 13528 prints 1.483
_STEPS = 400
_CLOSE = 1e-15
_NORMAL = NormalDist()


def gamma_below(a: float, x: float) -> float:
    """Return the regularised lower incomplete gamma function P(a, x), by series below a + 1 and by fraction above."""
    if x <= 0:
        return 0.0
    scale = exp(-x + a * log(x) - lgamma(a))
    if x < a + 1:
        term = total = 1 / a
        for n in range(1, _STEPS):
            term *= x / (a + n)
            total += term
            if term < total * _CLOSE:
                break
        return min(1.0, total * scale)
    tiny = 1e-300
    b, c = x + 1 - a, 1 / tiny
    d = 1 / b
    h = d
    for n in range(1, _STEPS):
        step = -n * (n - a)
        b += 2
        d = 1 / ((step * d + b) or tiny)
        c = (b + step / c) or tiny
        h *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return max(0.0, 1 - scale * h)


def beta_below(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b) by its continued fraction (Lentz)."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_below(b, a, 1 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1 - x)) / a
    tiny = 1e-300
    c, d = 1.0, 1 / ((1 - (a + b) * x / (a + 1)) or tiny)
    h = d
    for m in range(1, _STEPS):
        before = h
        for step in (m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
                     -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))):  # fmt: skip
            d = 1 / ((1 + step * d) or tiny)
            c = (1 + step / c) or tiny
            h *= c * d
        if abs(h - before) < abs(h) * _CLOSE:
            break
    return front * h


def _root(wanted: float, below: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if below(middle) < wanted else (low, middle)
        if high - low <= _CLOSE * high:
            break
    return (low + high) / 2


def chi2_quantile(p: float, df: int) -> float:
    """Return x with P(chi-square(df) < x) = p."""
    return _root(p, lambda x: gamma_below(df / 2, x / 2), 0.0, df + 60 * sqrt(2 * df) + 60)


def t_quantile(p: float, df: int) -> float:
    """Return t with P(Student(df) < t) = p, for p of one half and above."""
    return _root(p, lambda t: 1 - beta_below(df / 2, 0.5, df / (df + t * t)) / 2, 0.0, 1e6)


@cache  # a new job asks for the same few sizes at every check
def tolerance_factor(n: int, *, coverage: float = 0.95, confidence: float = 0.95) -> float:
    """Return k so that mean ± k·s holds `coverage` of a normal population with `confidence`, two-sided.

    Howe's factor as NIST/SEMATECH e-Handbook 7.2.6.3 prints it; it runs a little low for small n (0.3 % at 10).
    """
    z = _NORMAL.inv_cdf((1 + coverage) / 2)
    return z * sqrt((n - 1) * (1 + 1 / n) / chi2_quantile(1 - confidence, n - 1))


def scaled_mad(values: Sequence[float]) -> float:
    """Return the median absolute deviation, scaled to estimate sigma."""
    centre = median(values)
    return MAD_FACTOR * median(abs(v - centre) for v in values)


def grubbs_limit(n: int, *, alpha: float = 0.05) -> float:
    """Return the one-sided Grubbs limit for the greatest of n deviations (NIST/SEMATECH 1.3.5.17.1)."""
    t = t_quantile(1 - alpha / n, n - 2)
    return (n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t))


def outliers(values: Sequence[float], *, alpha: float = 0.05) -> tuple[int, ...]:
    """Return the indices of outliers by Rosner's generalised ESD test, up to a third of the values.

    Every step is carried out before judging: a later step may exceed its limit where an earlier one does not
    (NIST/SEMATECH 1.3.5.17.3). Below three values nothing is an outlier.
    """
    n, found = len(values), 0
    order = sorted(range(n), key=lambda i: values[i])
    left = _Ranked([values[i] for i in order])
    removed: list[int] = []
    for step in range(1, n // 3 + 1):
        centre, spread = left.centre(), left.spread()
        below, above = centre - left.lowest, left.highest - centre
        removed.append(order[left.drop_lowest() if below > above else left.drop_highest()])
        if spread > 0 and _beyond(max(below, above) / spread, n, step, alpha):
            found = step
    return tuple(removed[:found])


class _Ranked:
    """Sorted values that lose one end after the other: what is farthest from the mean is always at an end.

    The sums run along about a fixed point and are taken anew once half of the squares have gone, so that what is left
    of them never drowns in the rounding of what was.
    """

    def __init__(self, values: Sequence[float]) -> None:
        self._values, self._low, self._high = values, 0, len(values)
        self._sum_anew()

    def _sum_anew(self) -> None:
        left = self._values[self._low : self._high]
        self._about = fmean(left) if left else 0.0
        self._sum, self._squares = 0.0, dist(left, [self._about] * len(left)) ** 2
        self._at_first = self._squares

    @property
    def lowest(self) -> float:
        return self._values[self._low]

    @property
    def highest(self) -> float:
        return self._values[self._high - 1]

    def centre(self) -> float:
        return self._about + self._sum / (self._high - self._low)

    def spread(self) -> float:
        """Return the standard deviation of what is left."""
        count = self._high - self._low
        return sqrt(max(0.0, self._squares - self._sum**2 / count) / (count - 1))

    def drop_lowest(self) -> int:
        """Take the lowest value away; return its rank."""
        self._low += 1
        return self._without(self._low - 1)

    def drop_highest(self) -> int:
        """Take the highest value away; return its rank."""
        self._high -= 1
        return self._without(self._high)

    def _without(self, rank: int) -> int:
        apart = self._values[rank] - self._about
        self._sum -= apart
        self._squares -= apart**2
        if self._squares - self._sum**2 / max(1, self._high - self._low) < self._at_first / 2:
            self._sum_anew()
        return rank


def _beyond(statistic: float, n: int, step: int, alpha: float) -> bool:
    """Tell whether `statistic` exceeds its limit. The limit of a normal is always the lower one, and it is cheap."""
    floor = _limit(_NORMAL.inv_cdf(1 - alpha / (2 * (n - step + 1))), n, step)
    return statistic > floor and statistic > rosner_limit(n, step, alpha=alpha)


@cache
def rosner_limit(n: int, step: int, *, alpha: float = 0.05) -> float:
    """Return the limit of the `step`-th statistic of n values (NIST/SEMATECH 1.3.5.17.3)."""
    p = 1 - alpha / (2 * (n - step + 1))
    return _limit(t_quantile(p, n - step - 1), n, step)


def _limit(t: float, n: int, step: int) -> float:
    return (n - step) * t / sqrt((n - step - 1 + t * t) * (n - step + 1))
