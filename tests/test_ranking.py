"""Checks by what they tell a minute: the few that are weighed are those that weighing all would have put first."""

from collections.abc import Iterator

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.odds import ranking
from guide.core.odds.belief import Evidence, posterior
from guide.core.odds.costs import Bench, minutes
from guide.core.odds.problem import LEAST_MINUTES
from guide.core.odds.ranking import LEAST_BITS, groups_of, information, ranked
from guide.core.odds.table import table_of
from guide.core.tree import Power, Tree
from tests.tables import random_tree

BENCH = Bench(Power.OFF, frozenset({"off"}))
SHAPES = {"share": st.sampled_from((0.15, 0.5)), "reliability": st.sampled_from((0.7, 0.98, 1.0))}


def settings_of_a_bench(seed: int, share: float, reliability: float) -> Iterator[tuple[Tree, dict[str, float]]]:
    """A random tree before any reading, and after each of a few sure readings."""
    t = random_tree(seed, 12, 14, bands=4, share=share, reliability=reliability, other=0.1)
    taken: list[Evidence] = []
    for check in t.asked()[:6]:
        yield t, dict(posterior(t, taken))
        taken.append(Evidence(check.id, {check.bands[seed % len(check.bands)].name: 1.0}))


@given(seed=st.integers(0, 10**6), **SHAPES)
@settings(max_examples=60, deadline=None)
def test_no_check_tells_more_than_its_groups_promise(seed, share, reliability):
    """Information is the least sum over causes of P(cause) D(row || any one row): Topsoe 1967, from memory."""
    for t, beliefs in settings_of_a_bench(seed, share, reliability):
        groups, table = groups_of(t), table_of(t)
        shares = groups.shares(beliefs)
        for check in t.asked():
            first, end, _ = groups.of[check.id]
            promised = sum(s * apart for s, apart in zip(shares[first:end], groups.apart[first:end], strict=True))
            assert information(table[check.id], beliefs) <= promised + 1e-9


@given(seed=st.integers(0, 10**6), most=st.integers(1, 9), **SHAPES)
@settings(max_examples=60, deadline=None)
def test_the_best_are_those_that_weighing_every_check_puts_first(seed, most, share, reliability):
    for t, beliefs in settings_of_a_bench(seed, share, reliability):
        found = ranked(t, beliefs, t.asked(), BENCH, most, None)
        table, every = table_of(t), []
        for place, check in enumerate(t.asked()):
            told, cost = information(table[check.id], beliefs), minutes(t, check, BENCH)
            if told >= LEAST_BITS:
                every.append((-round(told / max(LEAST_MINUTES, cost), 10), place, check.id, told, cost))
        first = sorted(every)[:most]
        assert [r.check.id for r in found] == [check for _, _, check, _, _ in first]
        assert [(r.bits, r.minutes) for r in found] == [(pytest.approx(b, abs=1e-12), m) for *_, b, m in first]


def test_what_cannot_be_among_the_best_is_not_weighed(monkeypatch):
    """One cause stands out, and a fifth of forty checks name it: the rest need no weighing."""
    t = random_tree(7, 40, 40, share=0.2, other=0.01)
    beliefs = dict.fromkeys(t.causes, 0.001) | {"c3": 0.6, "c4": 0.3}
    beliefs = {cause: p / sum(beliefs.values()) for cause, p in beliefs.items()}
    weighed, told = [], ranking._told
    monkeypatch.setattr(ranking, "_told", lambda rows, shares: weighed.append(rows) or told(rows, shares))
    assert ranked(t, beliefs, t.asked(), BENCH, 2, None)
    assert len(weighed) < len(t.asked()) / 2
