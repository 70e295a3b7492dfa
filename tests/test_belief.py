"""The odds against two independent methods, and their laws.

Oracles: brute-force enumeration of the joint table written here (1e-12), and pyAgrum, an independent
Bayesian-network library in C++ (1e-9). The published networks are in test_published_cases.py.
"""

import itertools
import math
import random

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.odds.belief import (
    Evidence,
    entropy,
    explain,
    ground_bits,
    likelihood,
    posterior,
    prior,
)
from guide.core.odds.table import groups, parts, table_of
from guide.core.odds.verdicts import WORTH_NAMING, verdict_of
from guide.core.quantity import Measure
from tests.tables import check, random_tree, sourced, tree

COMMON = {"note": sourced("common practice, no source")}


def by_enumeration(t, evidence):
    """The textbook sum over the joint of cause and every read band, in plain probabilities."""
    total_weight = sum(c.weight for c in t.causes.values())
    joint = {}
    for cause in t.causes:
        joint[cause] = 0.0
        rows = [likelihood(t, t.checks[e.check], cause) for e in evidence]
        for combination in itertools.product(*(row.items() for row in rows)):
            p = t.causes[cause].weight / total_weight
            for e, (band, chance) in zip(evidence, combination, strict=True):
                p *= chance * e.weights.get(band, 0.0)
            joint[cause] += p
    total = math.fsum(joint.values())
    return {cause: p / total for cause, p in joint.items()}


def by_library(t, evidence):
    gum = pytest.importorskip("pyagrum")
    net = gum.BayesNet()
    causes = list(t.causes)
    net.add(gum.LabelizedVariable("cause", "", causes))
    weights = [c.weight for c in t.causes.values()]
    net.cpt("cause").fillWith([w / sum(weights) for w in weights])
    for c in t.checks.values():
        net.add(gum.LabelizedVariable(c.id, "", [b.name for b in c.bands]))
        net.addArc("cause", c.id)
        for i, cause in enumerate(causes):
            net.cpt(c.id)[{"cause": i}] = list(likelihood(t, c, cause).values())
    engine = gum.LazyPropagation(net)
    engine.setEvidence({e.check: [e.weights.get(b.name, 0.0) for b in t.checks[e.check].bands] for e in evidence})
    engine.makeInference()
    found = engine.posterior("cause")
    return {cause: found[{"cause": cause}] for cause in causes}


def soft_readings(t, seed, count):
    draw = random.Random(seed)
    taken = []
    for c in draw.sample(list(t.checks.values()), count):
        raw = [draw.random() ** 4 for _ in c.bands]
        taken.append(Evidence(c.id, {b.name: r / sum(raw) for b, r in zip(c.bands, raw, strict=True)}))
    return taken


@pytest.mark.parametrize("seed", range(20))
def test_odds_equal_brute_force_enumeration(seed):
    t = random_tree(seed, 9, 8, bands=4, other=0.3)
    taken = soft_readings(t, seed, 6)
    ours, theirs = posterior(t, taken), by_enumeration(t, taken)
    assert all(abs(ours[c] - theirs[c]) <= 1e-12 for c in t.causes)


@pytest.mark.parametrize("seed", range(20))
def test_odds_equal_an_independent_bayesian_network_library(seed):
    t = random_tree(seed + 100, 12, 10, bands=4, other=0.3)
    taken = soft_readings(t, seed, 7)
    ours, theirs = posterior(t, taken), by_library(t, taken)
    assert all(abs(ours[c] - theirs[c]) <= 1e-9 for c in t.causes)


@given(st.integers(0, 10**6), st.data())
@settings(max_examples=60, deadline=None)
def test_beliefs_sum_to_one_in_any_order_of_readings(seed, data):
    t = random_tree(seed, 6, 7, bands=3, other=0.2)
    taken = soft_readings(t, seed, 5)
    shuffled = data.draw(st.permutations(taken))
    here, there = posterior(t, taken), posterior(t, shuffled)
    assert math.isclose(sum(here.values()), 1, abs_tol=1e-12)
    assert here == there  # to the last digit: ties between checks are decided by it


numbers = st.floats(allow_nan=True, allow_infinity=True)


@given(
    weights=st.lists(numbers, min_size=3, max_size=3),
    cells=st.lists(numbers, min_size=4, max_size=4),
    soft=st.lists(numbers, min_size=2, max_size=2),
    reliability=numbers,
)
@settings(max_examples=300, deadline=None)
def test_no_number_an_author_or_meter_gives_makes_nan(weights, cells, soft, reliability):
    table = {"a": {"x": cells[0], "y": cells[1]}, "other": {"x": cells[2], "y": cells[3]}}
    one = check("one", ("x", "y"), table=table)
    two = check("two", ("x", "y"), normal=("x",), expect={"b": ("y",)}, reliability=reliability)
    t = tree(dict(zip(("a", "b", "other"), weights, strict=True)), (one, two))
    taken = [Evidence(c, dict(zip(("x", "y"), soft, strict=True))) for c in ("one", "two")]
    found = posterior(t, taken)
    assert math.isclose(sum(found.values()), 1, abs_tol=1e-9)
    assert all(0 <= p <= 1 for p in found.values())
    assert all(math.isfinite(g.bits) for g in explain(t, taken, "a"))
    assert verdict_of(t, found, taken, left=()) is not None


def test_readings_impossible_under_every_cause_leave_other_alone():
    one = check("one", ("x", "y"), table={"default": {"x": 1.0}, "other": {"x": 1.0}})
    t = tree({"a": 1, "b": 1, "other": 1}, (one,))
    taken = [Evidence("one", {"y": 1.0})]
    assert posterior(t, taken) == {"a": 0.0, "b": 0.0, "other": 1.0}
    assert verdict_of(t, posterior(t, taken), taken, left=()).cause == "other"


def test_a_thousand_contrary_readings_do_not_underflow():
    checks = [check(f"t{i}", ("x", "y"), normal=("x",), expect={"a": ("y",)}, reliability=0.9999) for i in range(999)]
    t = tree({"a": 1, "b": 1, "other": 1}, checks)
    taken = [Evidence(c.id, {"y": 1.0}) for c in checks]
    assert posterior(t, taken)["a"] == pytest.approx(1.0)


def test_a_retaken_reading_replaces_the_first():
    t = random_tree(1, 5, 4)
    first, second = Evidence("t0", {"b0": 1.0}), Evidence("t0", {"b1": 1.0})
    assert posterior(t, [first, second]) == posterior(t, [second])


def test_rows_follow_table_then_default_then_expect_then_normal():
    c = check(
        "one", ("x", "y", "z"), normal=("x",), expect={"e": ("y", "z"), "t": ("y",)},
        table={"t": {"x": 1, "y": 3}, "default": {"x": 8, "y": 1, "z": 1}},
    )  # fmt: skip
    t = tree({"t": 1, "e": 1, "n": 1, "none": 1, "other": 1}, (c,))
    rows = {cause: tuple(likelihood(t, c, cause).values()) for cause in t.causes}
    assert rows["t"] == (0.25, 0.75, 0)
    assert rows["e"] == pytest.approx((0.02, 0.49, 0.49))
    assert rows["n"] == rows["none"] == pytest.approx((0.8, 0.1, 0.1))
    assert rows["other"] == pytest.approx((1 / 3,) * 3)


def test_a_check_that_says_nothing_about_a_cause_is_flat():
    c = check("one", ("x", "y"), expect={"a": ("y",)})
    t = tree({"a": 1, "b": 1, "other": 1}, (c,))
    assert likelihood(t, c, "b") == {"x": 0.5, "y": 0.5}


def test_learned_reliability_takes_the_place_of_the_authors():
    c = check("one", ("x", "y"), normal=("x",), expect={"a": ("y",)})
    t = tree({"a": 1, "b": 1, "other": 0}, (c,))
    taken = [Evidence("one", {"y": 1.0})]
    assert posterior(t, taken)["a"] == pytest.approx(0.98)
    assert posterior(t, taken, reliability={"one": 0.7})["a"] == pytest.approx(0.7)


def test_priors_shift_the_weights():
    t = tree({"a": 1, "b": 1, "other": 2}, ())
    assert prior(t, priors={"a": 5}) == {"a": 0.625, "b": 0.125, "other": 0.25}


@pytest.mark.parametrize(("causes", "seed"), [(2, 3), (3, 4), (9, 5), (9, 6)])
def test_evidence_adds_up_in_bits(causes, seed):
    """Log prior odds plus each reading's bits are the log posterior odds (Good 1950), however many causes there are."""
    t = random_tree(seed, causes, 6, bands=3)
    taken = soft_readings(t, seed, 5)

    def bits(beliefs):
        return math.log2(beliefs["c0"] / sum(p for c, p in beliefs.items() if c != "c0"))

    total = sum(g.bits for g in explain(t, taken, "c0"))
    assert bits(prior(t)) + total == pytest.approx(bits(posterior(t, taken)), abs=1e-9)


def test_entropy_of_four_even_causes_is_two_bits():
    assert entropy(dict.fromkeys("abcd", 0.25)) == pytest.approx(2)


TWO = check("two", ("x", "y"), normal=("x",), expect={"a": ("y",), "b": ("y",)})
SPLIT = check("split", ("x", "y"), normal=("x",), expect={"a": ("y",)})


def test_no_verdict_while_a_check_can_still_part_the_rivals():
    t = tree({"a": 1, "b": 1, "none": 1, "other": 0.1}, (TWO, SPLIT))
    taken = [Evidence("two", {"y": 1.0})]
    assert verdict_of(t, posterior(t, taken), taken, left=(SPLIT,)) is None


def test_causes_no_remaining_check_parts_are_named_together():
    t = tree({"a": 1, "b": 1, "none": 1, "other": 0.1}, (TWO, SPLIT))
    taken = [Evidence("two", {"y": 1.0})]
    far = check("far", ("x", "y"), normal=("x",), expect={"none": ("y",)})
    found = verdict_of(t, posterior(t, taken), taken, left=())
    assert (set(found.causes), found.separable, found.grounded) == ({"a", "b"}, False, True)
    t2 = tree({"a": 1, "b": 1, "none": 1, "other": 0.1}, (TWO, far))
    assert set(verdict_of(t2, posterior(t2, taken), taken, left=(far,)).causes) == {"a", "b"}


def test_one_cause_that_stands_out_of_its_group_waits_for_the_others_to_be_excluded():
    """No check is left between a and b, which were told apart already; `far` can exclude c, and then a is enough."""
    two = check("two", ("x", "y"), normal=("x",), expect={"a": ("y",), "b": ("y",), "c": ("y",)})
    split = check("split", ("x", "y"), normal=("x",), expect={"a": ("y",), "c": ("x", "y")})
    far = check("far", ("x", "y"), normal=("x",), expect={"c": ("y",)})
    t = tree({"a": 2, "b": 9, "c": 0.4, "other": 0}, (two, split, far), decide_at=0.9)
    taken = [Evidence("two", {"y": 1.0}), Evidence("split", {"y": 1.0})]
    beliefs = posterior(t, taken)
    assert beliefs["a"] < t.decide_at < beliefs["a"] + beliefs["b"]
    assert verdict_of(t, beliefs, taken, left=(far,)) is None
    taken.append(Evidence("far", {"x": 1.0}))
    assert verdict_of(t, posterior(t, taken), taken, left=()).causes == ("a",)


def test_a_cause_the_readings_have_excluded_is_not_named_among_those_nothing_parts():
    """a and b read alike everywhere; c was excluded 49 to 1 by `split`, though no check is left between it and a."""
    same = check("same", ("x", "y"), normal=("x",), expect={"a": ("y",), "b": ("y",), "c": ("y",)})
    split = check("split", ("x", "y"), normal=("x",), expect={"a": ("y",), "b": ("y",)})
    far = check("far", ("x", "y"), normal=("x",), expect={"none": ("y",)})
    t = tree({"a": 3, "b": 3, "c": 8, "none": 1, "other": 0}, (same, split, far))
    taken = [Evidence("same", {"y": 1.0}), Evidence("split", {"y": 1.0})]
    beliefs = posterior(t, taken)
    assert beliefs["c"] > WORTH_NAMING
    found = verdict_of(t, beliefs, taken, left=(far,))
    assert (set(found.causes), dict(found.rivals).keys()) == ({"a", "b"}, {"c"})


def test_common_practice_alone_never_carries_a_verdict():
    custom = check("custom", ("x", "y"), normal=("x",), expect={"a": ("y",)}, measure=Measure.OHMS, sources=("note",))
    t = tree({"a": 1, "b": 1, "other": 0.1}, (custom, SPLIT), sources=COMMON)
    taken = [Evidence("custom", {"y": 1.0})]
    beliefs = posterior(t, taken)
    assert beliefs["a"] > t.decide_at
    assert verdict_of(t, beliefs, taken, left=(SPLIT,)) is None
    assert not verdict_of(t, beliefs, taken, left=()).grounded
    taken.append(Evidence("split", {"y": 1.0}))
    assert verdict_of(t, posterior(t, taken), taken, left=()).grounded
    assert ground_bits(t, taken, ("a",)) == pytest.approx(math.log2(49 * 1.1 / (1 + 0.1 * 25)), rel=0.05)


def test_a_prior_alone_is_no_verdict():
    t = tree({"a": 99, "b": 1, "other": 0}, (SPLIT,))
    assert verdict_of(t, posterior(t, ()), (), left=(SPLIT,)) is None


def test_all_normal_readings_are_a_good_unit_even_where_no_cause_says_so():
    checks = [check(f"t{i}", ("x", "y"), normal=("x",), expect={"a": ("y",)}) for i in range(3)]
    t = tree({"a": 1, "other": 1}, checks)
    good = [Evidence(c.id, {"x": 1.0}) for c in checks]
    bad = [Evidence("t0", {"y": 1.0}), *good[1:]]
    assert verdict_of(t, posterior(t, good), good, left=()).cause == "none"
    assert verdict_of(t, posterior(t, bad), bad, left=()).cause == "other"


def test_groups_are_causes_alike_in_every_check():
    t = tree({"a": 1, "b": 1, "c": 1, "other": 1}, (TWO,))
    assert groups(t) == (("a", "b"),)
    assert groups(tree({"a": 1, "b": 1, "c": 1, "other": 1}, (TWO, SPLIT))) == ()


@given(st.integers(0, 89), st.permutations(range(4)))
def test_rows_that_differ_by_the_very_limit_do_not_part_causes_whatever_the_last_digits(most, order):
    row, at_limit, beyond = (most, 10, 0, 90 - most), (most + 10, 0, 0, 90 - most), (most + 11, 0, 0, 89 - most)

    def parted(a, b):
        table = {c: {f"b{i}": r[i] / 100 for i in order} for c, r in (("a", a), ("b", b))}
        t = tree({"a": 1, "b": 1, "other": 1}, (check("x", [f"b{i}" for i in order], table=table),))
        return parts(table_of(t)["x"], "a", "b")

    assert not parted(row, at_limit)
    assert parted(row, beyond)


@given(st.lists(st.integers(1, 20), min_size=2, max_size=8))
def test_a_share_settles_whatever_the_order_its_parts_are_added_in(parts_of):
    t, whole = tree({"a": 1, "other": 1}, (), decide_at=sum(parts_of) / 200), 200
    forward, backward = (sum(p / whole for p in ps) for ps in (parts_of, parts_of[::-1]))
    assert t.settles(forward)
    assert t.settles(backward)
    assert t.settles(3 * forward, of=3.0)
    assert not t.settles(forward - 1e-6)
