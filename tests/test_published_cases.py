"""Odds and planner against published worked examples. Beside each: does the source print the value, or not.

printed   a document showing the value was seen
recalled  the value is from memory; no document was seen, recomputation agrees
derived   computed by another program from the source's data; the source does not print it
"""

import itertools
import math

import pytest

from guide.core.odds.belief import Evidence, entropy, posterior, prior
from guide.core.odds.costs import Bench
from guide.core.odds.planner import next_check
from guide.core.odds.problem import Problem
from guide.core.odds.ranking import information
from guide.core.odds.route import plan
from guide.core.odds.search import Budget, Greedy
from guide.core.odds.table import table_of
from tests.tables import check, tree

YES, NO = "yes", "no"


def told(t, name):
    return information(table_of(t)[name], posterior(t, ()))


def sure(name, cells, **given):
    """A check with explicit rows P(band | cause)."""
    bands = sorted({band for row in cells.values() for band in row})
    return check(name, bands, table=cells, **given)


# --- test sequencing --------------------------------------------------------------------------------------------

# Pattipati & Alexandridis 1990, IEEE Trans. SMC 20(4) 872-887: fault-free and five faults, five tests of unit cost;
# also Tu & Pattipati 2003, Table I. Matrix and the optimum 2.18 recalled.
WEIGHTS = (0.7, 0.01, 0.02, 0.1, 0.05, 0.12)
MATRIX = ((0, 0, 0, 0, 0), (0, 1, 0, 0, 1), (0, 0, 1, 1, 0), (1, 0, 0, 1, 1), (1, 1, 0, 0, 0), (1, 1, 1, 1, 0))


def sequencing_tree(**given):
    checks = [
        check(f"t{j + 1}", ("pass", "fail"), normal=("pass",), **given,
              expect={f"s{i}": ("fail",) for i, row in enumerate(MATRIX) if row[j]})
        for j in range(5)
    ]  # fmt: skip
    return tree({f"s{i}": w for i, w in enumerate(WEIGHTS)}, checks, decide_at=0.999)


@pytest.mark.parametrize("reliability", [1.0, 0.98])
def test_pattipati_alexandridis_1990_optimum_of_2_18(reliability):
    """Recalled."""
    found = plan(sequencing_tree(reliability=reliability))
    assert found.exact
    assert found.planned_minutes == pytest.approx(2.18, abs=1e-9)
    assert found.lower_bound == pytest.approx(2.18, abs=1e-9)


def test_pattipati_alexandridis_1990_first_test_and_greedy_cost():
    """Derived: t2 and t4 tie for the first test; one-step gain costs 2.86."""
    t = sequencing_tree(reliability=1.0)
    assert plan(t).order.check in ("t2", "t4")
    assert next_check(t, posterior(t, ()), t.asked(), Bench()).check in ("t2", "t4")
    problem = Problem(t, table_of(t), prior(t), t.asked(), t.decide_at)
    greedy = Greedy(problem, Budget()).value(problem.start, problem.everything, problem.bench(Bench()))
    assert greedy == pytest.approx(2.86, abs=1e-9)


def series(p, c, fault_free):
    """One perfect check a part and a fault-free unit heavy enough that the last check is never saved."""
    checks = [
        check(f"t{i}", ("good", "bad"), normal=("good",), expect={f"p{i}": ("bad",)}, minutes=float(c[i]))
        for i in range(len(p))
    ]
    return tree({f"p{i}": float(w) for i, w in enumerate(p)} | {"none": fault_free}, checks, decide_at=0.99999)


def down(order):
    """The checks along the branch where nothing is found."""
    names = []
    while hasattr(order, "check"):
        names.append(order.check)
        order = next(kid for band, _, kid in order.onward if band == "good")
    return names


@pytest.mark.parametrize(
    ("p", "c", "total"),
    [
        # Kleinberg & Tardos, Algorithm Design, ch. 4 exercise 13: printed, 18 (the other order 46).
        ((10, 2), (1, 3), 18),
        # Biola CSCI 400 homework 2A, 2016: table printed, optimum 2164 derived by subset dynamic programming.
        ((6, 7, 5, 7, 8, 2, 11, 9, 13, 11), (4, 5, 2, 3, 6, 1, 10, 7, 8, 9), 2164),
    ],
)
def test_parts_are_checked_by_rising_cost_over_probability(p, c, total):
    """Kalagnanam & Henrion 1990: the optimal order for single faults and perfect independent checks."""
    free = 5.0
    found = plan(series(p, c, free))
    ratio = sorted(range(len(p)), key=lambda i: c[i] / p[i])
    assert found.exact
    assert down(found.order) == [f"t{i}" for i in ratio]
    # The fault-free unit pays for every check; the faults pay the published total.
    assert found.planned_minutes * (sum(p) + free) == pytest.approx(total + free * sum(c), abs=1e-6)


# --- information ------------------------------------------------------------------------------------------------

# Mitchell 1997, section 3.4.2, Table 3.2 (after Quinlan 1986).
TENNIS = """Sunny Hot High Weak No|Sunny Hot High Strong No|Overcast Hot High Weak Yes|Rain Mild High Weak Yes
Rain Cool Normal Weak Yes|Rain Cool Normal Strong No|Overcast Cool Normal Strong Yes|Sunny Mild High Weak No
Sunny Cool Normal Weak Yes|Rain Mild Normal Weak Yes|Sunny Mild Normal Strong Yes|Overcast Mild High Strong Yes
Overcast Hot Normal Weak Yes|Rain Mild High Strong No"""


def test_play_tennis_information_gains():
    """Printed: 0.940 bits; gains 0.246, 0.151, 0.048, 0.029 (some copies truncate)."""
    days = [day.split() for line in TENNIS.splitlines() for day in line.split("|")]
    share = {play: [d for d in days if d[4] == play] for play in ("Yes", "No")}
    checks = []
    for k, name in enumerate(("outlook", "temperature", "humidity", "wind")):
        seen = {d[k] for d in days}
        cells = {play: {v: sum(d[k] == v for d in of) / len(of) for v in seen} for play, of in share.items()}
        checks.append(sure(name, cells))
    t = tree({play: len(of) for play, of in share.items()}, checks)
    assert entropy(posterior(t, ())) == pytest.approx(0.940, abs=5e-4)
    gains = {c.id: told(t, c.id) for c in checks}
    wanted = {"outlook": 0.2467, "humidity": 0.1518, "wind": 0.0481, "temperature": 0.0292}
    assert gains == pytest.approx(wanted, abs=1e-4)
    assert max(gains, key=lambda name: gains[name]) == "outlook"


def test_twelve_balls_first_weighing():
    """MacKay 2003, exercise 4.1: 4 against 4 gives log2 3, printed; the other splits derived."""
    def weighing(k):
        row = {}
        for ball, odd in itertools.product(range(12), ("heavy", "light")):
            side = "left" if ball < k else "right" if ball < 2 * k else "even"
            falls = {"even": "even", "left": "left", "right": "right"}[side]
            if odd == "light" and side != "even":
                falls = "right" if side == "left" else "left"
            row[f"{ball}-{odd}"] = (falls,)
        return check(f"w{k}", ("left", "even", "right"), expect=row, reliability=1.0)

    names = [f"{ball}-{odd}" for ball, odd in itertools.product(range(12), ("heavy", "light"))]
    t = tree(dict.fromkeys(names, 1.0), [weighing(k) for k in (6, 5, 4, 3)])
    bits = {k: told(t, f"w{k}") for k in (6, 5, 4, 3)}
    assert bits == pytest.approx({6: 1.0, 5: 1.4834, 4: math.log2(3), 3: 1.5}, abs=5e-5)
    assert next_check(t, posterior(t, ()), t.asked(), Bench()).check == "w4"


def test_submarine_misses_add_up_to_one_bit():
    """MacKay 2003, section 4.1: 0.0227 for the first miss, 1.0 bit after 32; recalled."""
    checks = [check(f"t{i}", ("miss", "hit"), normal=("miss",), expect={f"c{i}": ("hit",)}, reliability=1.0)
              for i in range(32)]  # fmt: skip
    t = tree({f"c{i}": 1.0 for i in range(64)}, checks)
    left = [entropy(posterior(t, [Evidence(f"t{i}", {"miss": 1.0}) for i in range(n)])) for n in range(33)]
    assert left[0] - left[1] == pytest.approx(0.0227, abs=1e-4)
    assert left[31] - left[32] == pytest.approx(0.0444, abs=1e-4)
    assert left[0] - left[32] == pytest.approx(1.0, abs=1e-9)


# --- multiple faults --------------------------------------------------------------------------------------------

PARTS = ("A1", "A2", "M1", "M2", "M3")


def polybox():
    """De Kleer & Williams 1987: three multipliers, two adders, F read 10 for 12, G read 12 as it should be.

    Each set of faulty parts is one cause; a faulty part may give anything.
    """
    candidates = [frozenset(s) for k in range(6) for s in itertools.combinations(PARTS, k)]
    weights, seen, points = {}, {}, {p: {} for p in "XYZ"}
    for bad in candidates:
        name = "+".join(sorted(bad)) or "none"
        weights[name] = 0.01 ** len(bad) * 0.99 ** (5 - len(bad))
        fits = list(_fitting(bad))
        seen[name] = {"seen": float(bool(fits)), "not": float(not fits)}
        for k, point in enumerate("XYZ"):
            values = {"4": 0, "6": 0, "else": 0}
            for f in fits:
                values[str(f[k]) if f[k] in (4, 6) else "else"] = 1
            total = sum(values.values()) or 1
            points[point][name] = {v: n / total for v, n in values.items()}
    checks = [sure("outputs", seen), *(sure(p, rows) for p, rows in points.items())]
    return tree(weights, checks)


def _fitting(bad):
    """Values of X, Y, Z the healthy parts allow, on a grid wide enough to hold an odd one."""
    for x, y, z in itertools.product((4, 6, 8), repeat=3):
        rules = {"M1": x == 6, "M2": y == 6, "M3": z == 6, "A1": x + y == 10, "A2": y + z == 12}
        if all(holds for part, holds in rules.items() if part not in bad):
            yield x, y, z


def test_polybox_candidates_and_posteriors():
    """Candidates printed; posteriors with prior 0.01 a part derived."""
    t = polybox()
    odds = posterior(t, [Evidence("outputs", {"seen": 1.0})])
    possible = [frozenset(c.split("+")) for c, p in odds.items() if p > 0 and c != "other"]
    minimal = {s for s in possible if not any(other < s for other in possible)}
    assert minimal == {frozenset(s) for s in (("A1",), ("M1",), ("A2", "M2"), ("M2", "M3"))}
    found = {part: sum(p for c, p in odds.items() if part in c.split("+")) for part in PARTS}
    wanted = {"A1": 0.497635, "M1": 0.497635, "A2": 0.01478, "M2": 0.019609, "M3": 0.01478}
    assert found == pytest.approx(wanted, abs=1e-6)
    assert odds["A1"] == pytest.approx(0.478026, abs=1e-6)


def test_polybox_measures_x_next_and_x_of_4_convicts_m1():
    """Printed: X read as 4 leaves M1 as the one minimal candidate. That X comes first is the paper's own argument."""
    t = polybox()
    taken = [Evidence("outputs", {"seen": 1.0})]
    left = [c for c in t.asked() if c.id != "outputs"]
    assert next_check(t, posterior(t, taken), left, Bench()).check == "X"
    odds = posterior(t, [*taken, Evidence("X", {"4": 1.0})])
    possible = [frozenset(c.split("+")) for c, p in odds.items() if p > 0 and c != "other"]
    assert {s for s in possible if not any(other < s for other in possible)} == {frozenset({"M1"})}


# --- Bayesian networks, folded into one cause variable with conditionally independent checks ---------------------


def clinic():
    """Lauritzen & Spiegelhalter 1988 (`Asia`). Cause: tuberculosis, lung cancer, bronchitis; the rest are checks."""
    flags = list(itertools.product((YES, NO), repeat=3))
    weights, rows = {}, {k: {} for k in ("asia", "smoke", "xray", "dysp")}
    for tub, lung, bronc in flags:
        name = f"{tub}-{lung}-{bronc}"
        asia = {a: p * (q if tub == YES else 1 - q) for a, p, q in ((YES, 0.01, 0.05), (NO, 0.99, 0.01))}
        smoke = {
            s: 0.5 * (lc if lung == YES else 1 - lc) * (br if bronc == YES else 1 - br)
            for s, lc, br in ((YES, 0.1, 0.6), (NO, 0.01, 0.3))
        }
        weights[name] = sum(asia.values()) * sum(smoke.values())
        rows["asia"][name] = {a: p / sum(asia.values()) for a, p in asia.items()}
        rows["smoke"][name] = {s: p / sum(smoke.values()) for s, p in smoke.items()}
        either = YES if YES in (tub, lung) else NO
        x = {YES: 0.98, NO: 0.05}[either]
        d = {(YES, YES): 0.9, (YES, NO): 0.8, (NO, YES): 0.7, (NO, NO): 0.1}[bronc, either]
        rows["xray"][name] = {YES: x, NO: 1 - x}
        rows["dysp"][name] = {YES: d, NO: 1 - d}
    return tree(weights, [sure(k, cells) for k, cells in rows.items()])


def test_chest_clinic_marginals():
    """Lung, bronchitis and their joint printed; tuberculosis, either, x-ray and dyspnoea recalled and recomputed."""
    t = clinic()
    p = prior(t)
    of = lambda test: sum(v for c, v in p.items() if c != "other" and test(*c.split("-")))  # noqa: E731
    assert of(lambda tub, lung, bronc: lung == YES) == pytest.approx(0.055, abs=1e-6)
    assert of(lambda tub, lung, bronc: bronc == YES) == pytest.approx(0.45, abs=1e-6)
    assert of(lambda tub, lung, bronc: lung == bronc == YES) == pytest.approx(0.0315, abs=1e-6)
    assert of(lambda tub, lung, bronc: tub == YES) == pytest.approx(0.0104, abs=1e-6)
    assert of(lambda tub, lung, bronc: YES in (tub, lung)) == pytest.approx(0.064828, abs=1e-6)
    table = table_of(t)
    for name, wanted in (("xray", 0.11029), ("dysp", 0.435971)):
        assert sum(v * table[name].chance(c, {YES: 1.0}) for c, v in p.items()) == pytest.approx(wanted, abs=1e-6)


def test_chest_clinic_after_a_trip_to_asia_with_dyspnoea():
    """Printed: lung 0.09952515, bronchitis 0.8114021."""
    t = clinic()
    odds = posterior(t, [Evidence("asia", {YES: 1.0}), Evidence("dysp", {YES: 1.0})])
    lung = sum(v for c, v in odds.items() if c.split("-")[1:2] == [YES])
    bronc = sum(v for c, v in odds.items() if c.split("-")[2:] == [YES])
    assert (lung, bronc) == pytest.approx((0.09952515, 0.8114021), abs=6e-8)


def test_wet_grass():
    """Murphy 1998: sprinkler 0.4298 and rain 0.7079 given wet grass, printed; 0.1945 given rain too, recalled."""
    weights, wet, rain = {}, {}, {}
    for s, r in itertools.product("tf", repeat=2):
        terms = [(0.5, 0.1, 0.8), (0.5, 0.5, 0.2)]
        weights[s + r] = sum(c * (a if s == "t" else 1 - a) * (b if r == "t" else 1 - b) for c, a, b in terms)
        w = {"tt": 0.99, "tf": 0.9, "ft": 0.9, "ff": 0.0}[s + r]
        wet[s + r], rain[s + r] = {"t": w, "f": 1 - w}, {"t": float(r == "t"), "f": float(r == "f")}
    t = tree(weights, [sure("wet", wet), sure("rain", rain)])
    odds = posterior(t, [Evidence("wet", {"t": 1.0})])
    assert odds["tt"] + odds["tf"] == pytest.approx(0.4298, abs=5.1e-5)
    assert odds["tt"] + odds["ft"] == pytest.approx(0.7079, abs=5.1e-5)
    both = posterior(t, [Evidence("wet", {"t": 1.0}), Evidence("rain", {"t": 1.0})])
    assert both["tt"] == pytest.approx(0.1945, abs=5.1e-5)


def test_car_does_not_start():
    """Jensen & Nielsen, reduced car start problem: 0.58 dirty plugs, 0.29 no fuel; 0.804 with a half tank; recalled."""
    weights, start, gauge = {}, {}, {}
    for fuel, plugs in itertools.product((YES, NO), repeat=2):
        name = f"{fuel}-{plugs}"
        weights[name] = {YES: 0.98, NO: 0.02}[fuel] * {YES: 0.96, NO: 0.04}[plugs]
        s = {"yes-yes": 0.99, "yes-no": 0.01}.get(name, 0.0)
        start[name] = {YES: s, NO: 1 - s}
        gauge[name] = dict(zip(("full", "half", "empty"), (0.39, 0.6, 0.01) if fuel == YES else (0.001, 0.001, 0.998),
                               strict=True))  # fmt: skip
    t = tree(weights, [sure("start", start), sure("gauge", gauge)])
    odds = posterior(t, [Evidence("start", {NO: 1.0})])
    assert odds["yes-no"] + odds["no-no"] == pytest.approx(0.58, abs=0.005)
    assert odds["no-yes"] + odds["no-no"] == pytest.approx(0.29, abs=0.005)
    half = posterior(t, [Evidence("start", {NO: 1.0}), Evidence("gauge", {"half": 1.0})])
    assert half["yes-no"] + half["no-no"] == pytest.approx(0.804, abs=5e-4)


@pytest.mark.parametrize(
    ("prevalence", "sensitivity", "false_positive", "wanted", "tolerance"),
    [
        (0.01, 0.8, 0.096, 0.078, 5e-4),  # Eddy 1982 as used by Gigerenzer & Hoffrage 1995: 7.8 %, recalled
        (0.01, 0.8, 0.1, 0.075, 5e-4),  # Rice, Mathematical Statistics and Data Analysis, 3rd ed.: printed
        (0.001, 1.0, 0.05, 0.02, 5e-3),  # Casscells, Schoenberger & Graboys 1978, NEJM 299, 999-1001: printed
    ],
)
def test_base_rates(prevalence, sensitivity, false_positive, wanted, tolerance):
    rows = {"ill": {"positive": sensitivity, "negative": 1 - sensitivity},
            "well": {"positive": false_positive, "negative": 1 - false_positive}}  # fmt: skip
    t = tree({"ill": prevalence, "well": 1 - prevalence}, [sure("test", rows)])
    assert posterior(t, [Evidence("test", {"positive": 1.0})])["ill"] == pytest.approx(wanted, abs=tolerance)
