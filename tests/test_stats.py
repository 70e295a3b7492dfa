"""Statistics of reference readings against published examples and scipy as an independent second method."""

import random
from math import isclose

import pytest
from hypothesis import given, strategies as st
from scipy import stats as peer

from guide.core.jobs import stats

# NIST/SEMATECH e-Handbook 1.3.5.17.1, Tietjen and Moore's uranium data (seen in public copies of the page).
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
# NIST/SEMATECH e-Handbook 1.3.5.17.3, Rosner 1983, 54 values (seen in public copies of the page).
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.7, 1.76,
    1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.4, 2.47, 2.54,
    2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3, 3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
]  # fmt: skip
ROSNER_LIMITS = [3.158, 3.151, 3.143, 3.136, 3.128, 3.12, 3.111, 3.103, 3.094, 3.085]


def test_howes_factor_is_the_one_the_handbook_prints():
    """NIST/SEMATECH 7.2.6.3: n 43, 90 % coverage, 99 % confidence, k 2.2173."""
    assert isclose(stats.tolerance_factor(43, coverage=0.90, confidence=0.99), 2.2173159, abs_tol=1e-6)


def test_the_factor_for_ten_boards_is_near_the_exact_one():
    """Exact 3.393 for 95/95 (ISO 16269-6; Krishnamoorthy and Mathew, recalled)."""
    assert isclose(stats.tolerance_factor(10), 3.393, rel_tol=0.01)


def test_the_grubbs_limit_is_the_handbooks():
    assert isclose(stats.grubbs_limit(8), 2.031652, abs_tol=1e-5)
    assert stats.outliers(URANIUM) == (7,)


@pytest.mark.parametrize(("step", "limit"), list(enumerate(ROSNER_LIMITS, 1)))
def test_rosners_limits_are_the_handbooks(step, limit):
    assert isclose(stats.rosner_limit(54, step), limit, abs_tol=0.001)


def test_rosner_finds_three_outliers_although_the_first_two_steps_do_not_exceed_their_limits():
    assert sorted(ROSNER[i] for i in stats.outliers(ROSNER)) == [5.34, 5.42, 6.01]


def by_the_book(values: list[float], *, alpha: float = 0.05) -> list[float]:
    """The handbook's procedure word for word, with scipy's quantile: the farthest value goes, again and again."""
    n, left, removed, found = len(values), list(values), [], 0
    for step in range(1, n // 3 + 1):
        centre, spread = sum(left) / len(left), peer.tstd(left)
        farthest = max(left, key=lambda v: abs(v - centre))
        statistic = abs(farthest - centre) / spread
        left.remove(farthest)
        removed.append(farthest)
        t = peer.t.ppf(1 - alpha / (2 * (n - step + 1)), n - step - 1)
        if statistic > (n - step) * t / ((n - step - 1 + t * t) * (n - step + 1)) ** 0.5:
            found = step
    return removed[:found]


@pytest.mark.parametrize("seed", range(60))
def test_outliers_are_those_of_the_procedure_word_for_word(seed):
    """Clean samples, and ones with strays on one side, on both, and far enough out to drown the rest."""
    chance = random.Random(seed)
    values = [chance.gauss(12, 0.05) for _ in range(chance.randint(3, 120))]
    for _ in range(seed % 5):
        values[chance.randrange(len(values))] = 12 + chance.choice((-1, 1)) * 10 ** chance.uniform(-1, 5)
    assert [values[i] for i in stats.outliers(values)] == by_the_book(values)


def test_equal_values_are_no_outliers_and_a_stray_among_them_is_one():
    assert stats.outliers([5.0] * 30) == ()
    assert stats.outliers([*[5.0] * 15, 5.1, *[5.0] * 14]) == (15,)


def test_a_value_a_million_million_times_the_spread_does_not_drown_the_next_one():
    values = [12 + i / 1e6 for i in range(-15, 16)] + [12.001, 1e9]
    assert [values[i] for i in stats.outliers(values)] == by_the_book(values) == [1e9, 12.001]


@given(st.integers(3, 300), st.integers(1, 100), st.floats(0.001, 0.2))
def test_the_limit_of_a_normal_is_never_above_rosners(n, step, alpha):
    if step <= n // 3:
        p = 1 - alpha / (2 * (n - step + 1))
        floor = stats._limit(peer.norm.ppf(p), n, step)
        assert floor <= stats.rosner_limit(n, step, alpha=alpha) * (1 + 1e-12)


def test_the_scaled_mad_of_the_analytical_committees_seven_results():
    """RSC AMC Technical Brief 6: 1.04 (recalled)."""
    assert isclose(stats.scaled_mad([4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9]), 1.04, abs_tol=0.005)


@given(st.floats(0.001, 0.999), st.integers(1, 200))
def test_chi_square_quantiles_agree_with_scipy(p, df):
    assert isclose(stats.chi2_quantile(p, df), peer.chi2.ppf(p, df), rel_tol=1e-8, abs_tol=1e-9)


@given(st.floats(0.55, 0.9999), st.integers(1, 200))
def test_student_quantiles_agree_with_scipy(p, df):
    assert isclose(stats.t_quantile(p, df), peer.t.ppf(p, df), rel_tol=1e-7, abs_tol=1e-7)


def test_a_tolerance_interval_holds_what_it_promises():
    """Second method: 2,000 simulated samples of 5; at least 95 % (less 2 for chance) cover 95 % of the population."""
    rng = random.Random(7)
    k, held = stats.tolerance_factor(5), 0
    for _ in range(2000):
        sample = [rng.gauss(0, 1) for _ in range(5)]
        mean, s = sum(sample) / 5, peer.tstd(sample)
        held += peer.norm.cdf(mean + k * s) - peer.norm.cdf(mean - k * s) >= 0.95
    assert held / 2000 >= 0.93
