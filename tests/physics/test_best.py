"""The least number of checks, against brute force and against Huffman's published construction."""

from functools import cache
from itertools import combinations

import pytest
from hypothesis import given, settings, strategies as st

from tests.physics.best import huffman, least


def _brute(boards):
    """Every order of checks tried, with no bound and no merging."""
    merged = {}
    for bands, right in boards:
        weight, before = merged.get(bands, (0, frozenset()))
        merged[bands] = (weight + 1, before | right)
    rows = list(merged)

    @cache
    def cost(left):
        if frozenset.intersection(*(merged[rows[i]][1] for i in left)):
            return 0
        best = float("inf")
        for column in range(len(rows[0])):
            parts = {}
            for i in left:
                parts.setdefault(rows[i][column], []).append(i)
            if len(parts) > 1:
                best = min(best, sum(cost(frozenset(p)) for p in parts.values()))
        return sum(merged[rows[i]][0] for i in left) + best

    return cost(frozenset(range(len(rows)))) / len(boards)


tables = st.integers(1, 5).flatmap(
    lambda width: st.lists(
        st.tuples(
            st.tuples(*[st.sampled_from("abc")] * width),
            st.sampled_from([frozenset(s) for s in ("x", "y", "z", "u", "xy")]),
        ),
        min_size=1,
        max_size=9,
    )
)


@given(tables)
@settings(deadline=None, max_examples=150)
def test_the_search_finds_what_trying_everything_finds(boards):
    found = least(boards)
    assert found.exact
    assert found.bound == pytest.approx(_brute(boards))


@given(tables, st.integers(1, 4))
@settings(deadline=None, max_examples=80)
def test_a_search_cut_short_still_gives_a_bound_from_below(boards, nodes):
    assert least(boards, nodes=nodes).bound <= _brute(boards) + 1e-9


def test_with_every_yes_no_question_the_best_order_is_huffman_s():
    """Huffman (1952): leaves 5, 2, 1, 1, 1 have the least weighted depth 5*1 + 2*2 + 1*3 + ... = 20 (by hand:
    1+1=2, 1+2=3, 2+3=5, 5+5=10; sum 20)."""
    weights = [5, 2, 1, 1, 1]
    questions = [set(c) for n in (1, 2) for c in combinations(range(5), n)]
    boards = [
        (tuple("yes" if i in q else "no" for q in questions), frozenset({str(i)}))
        for i, w in enumerate(weights)
        for _ in range(w)
    ]
    assert huffman(weights, 2) == 20
    assert least(boards).bound == pytest.approx(20 / 10)


def test_three_way_questions_join_three_leaves_at_a_time():
    """Ternary Huffman, 1 1 1 1 1: 1+1+1=3, 3+1+1=5; sum 8 (by hand)."""
    assert huffman([1, 1, 1, 1, 1], 3) == 8
    assert huffman([1, 1, 1, 1], 3) == 6  # one empty leaf: 1+1=2, 2+1+1=4


def test_boards_that_read_alike_need_no_check_between_them():
    same = [(("a",), frozenset({"x"})), (("a",), frozenset({"y"}))]
    assert least(same).bound == 0
