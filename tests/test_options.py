"""The order in which repairs are offered where several causes stand."""

from dataclasses import replace
from itertools import permutations
from math import isclose

from hypothesis import given, settings, strategies as st

from guide.core.jobs import events as ev
from guide.core.jobs.folding import evolve
from guide.core.jobs.job import opened
from guide.core.jobs.mending import options
from guide.core.tree import Repair
from tests.worlds import HERE, shipped_tree

CAUSES = ("fuse-open", "feed-shorted", "cable-broken")


def expected_minutes(order, minutes, p):
    """Minutes until the fault is gone when repairs are tried one after the other."""
    total = spent = 0.0
    for cause in order:
        spent += minutes[cause]
        total += p[cause] * spent
    return total


def offered(minutes, weights):
    tree, _ = shipped_tree("fernleaf-gh2/sensor-bus-dead")
    causes = {
        c: replace(cause, weight=weights.get(c, 0.001),
                   repairs=(Repair("Mend it", minutes[c], "unplugged", HERE),) if c in minutes else ())
        for c, cause in tree.causes.items()
    }  # fmt: skip
    job = opened(replace(tree, causes=causes))
    verdict = ev.VerdictGiven(CAUSES[0], 0.9, CAUSES, (), separable=False)
    for event in (ev.Opened("1", tree.id, "0" * 64), verdict):
        job = evolve(job, event)
    return [cause for _, cause, _, _ in options(job)]


def test_two_jobs_of_the_textbook_go_by_minutes_over_probability():
    """Kleinberg and Tardos, Algorithm Design, ch. 4 ex. 13: weights 10 and 2, times 1 and 3; 18 against 46 (found in
    public copies of the exercise). The third cause is made negligible and dear."""
    order = offered({"fuse-open": 1, "feed-shorted": 3, "cable-broken": 1000}, {"fuse-open": 10, "feed-shorted": 2})
    assert order[:2] == ["fuse-open", "feed-shorted"]
    assert expected_minutes(order[:2], {"fuse-open": 1, "feed-shorted": 3}, {"fuse-open": 10, "feed-shorted": 2}) == 18


@settings(max_examples=60)
@given(st.tuples(*[st.floats(1, 90)] * 3), st.tuples(*[st.floats(0.1, 10)] * 3))
def test_no_other_order_is_cheaper(times, weights):
    minutes, p = dict(zip(CAUSES, times, strict=True)), dict(zip(CAUSES, weights, strict=True))
    best = min(expected_minutes(order, minutes, p) for order in permutations(CAUSES))
    assert isclose(expected_minutes(offered(minutes, p), minutes, p), best, rel_tol=1e-9)
