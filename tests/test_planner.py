"""The next check: information against a second method, what a bench costs, and what is said about it."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.durations import duration
from guide.core.odds import planner
from guide.core.odds.belief import Evidence, entropy, posterior, prior
from guide.core.odds.costs import Bench, after, minutes
from guide.core.odds.planner import most_bits_a_minute, next_check, what_if, why
from guide.core.odds.problem import Problem
from guide.core.odds.ranking import information
from guide.core.odds.search import Budget, Greedy
from guide.core.odds.table import table_of
from guide.core.tree import Power
from tests.tables import check, random_tree, tree


@given(st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_information_is_the_expected_drop_in_entropy(seed):
    """Second method: entropy now less the mean entropy of the posteriors each band would leave."""
    t = random_tree(seed, 7, 3, bands=4, other=0.2)
    beliefs = posterior(t, [Evidence("t0", {"b0": 0.7, "b1": 0.3})])
    rows = table_of(t)["t1"]
    drop = entropy(beliefs)
    for i, _ in enumerate(rows.bands):
        joint = [p * rows.of(c)[i] for c, p in beliefs.items()]
        drop -= sum(joint) * entropy({str(k): j / sum(joint) for k, j in enumerate(joint)})
    assert information(rows, beliefs) == pytest.approx(drop, abs=1e-12)


def test_a_power_change_opening_up_and_a_caution_cost_minutes():
    t = tree({"a": 1, "other": 1}, (check("x", "pq", hazard="on", minutes=3.0),))
    x = t.checks["x"]
    assert minutes(t, x, Bench()) == minutes(t, x, Bench(Power.OFF)) == 4
    assert minutes(t, x, Bench(Power.ON)) == pytest.approx(3.2)
    assert minutes(t, x, after(t, x, Bench())) == 3


def test_unpowered_checks_come_before_powered_ones_of_the_same_worth():
    t = tree(
        {"a": 1, "b": 1, "other": 0.1},
        [check(n, "pq", normal=("p",), expect={"a": ("q",)}, hazard=n) for n in ("on", "off")],
    )
    assert next_check(t, posterior(t, ()), t.asked(), Bench(Power.OFF, frozenset({"off"}))).check == "off"


def test_no_check_is_proposed_where_none_tells_anything():
    t = tree({"a": 1, "b": 1}, (check("x", "pq", normal=("p",), expect={"a": ("q",), "b": ("q",)}),))
    assert next_check(t, posterior(t, ()), t.asked(), Bench()) is None


def test_why_says_in_the_trees_words_the_rivals_the_bits_the_minutes_and_the_runner_up():
    t = tree(
        {"clamp-short": 1, "pin-short": 1},
        (
            check("bus-b", "pq", normal=("p",), expect={"clamp-short": ("q",)}, minutes=0.5, ask="Diode mode, bus B."),
            check("bus-a", "pq", normal=("p",), expect={"clamp-short": ("q",)}, minutes=3.0, ask="Does bus A differ?"),
        ),
    )
    said = {"clamp-short": "The clamp on line B is shorted. It was a surge.", "pin-short": "The pin is."}
    t = replace(t, causes={name: replace(c, say=said[name]) for name, c in t.causes.items()})
    beliefs = posterior(t, ())
    choice = next_check(t, beliefs, t.asked(), Bench())
    assert why(t, beliefs, choice) == (
        "Diode mode, bus B. It tells whether the clamp on line B is shorted, or the pin is: 0.86 bits for half a"
        " minute. Next best, 0.86 bits for 3 minutes: Does bus A differ?"
    )
    assert choice.bits == pytest.approx(1 + 0.98 * math.log2(0.98) + 0.02 * math.log2(0.02))


def test_why_calls_a_good_unit_and_an_unlisted_fault_by_plain_words():
    t = tree({"none": 1, "other": 1}, (check("x", "pq", ask="Does it hum?", table={"none": {"p": 1}}),))
    beliefs = posterior(t, ())
    assert why(t, beliefs, next_check(t, beliefs, t.asked(), Bench())).startswith(
        "Does it hum? It tells whether nothing is wrong, or something else is wrong: 0.31 bits for 1 minute."
    )


@pytest.mark.parametrize(
    ("say", "said"),
    [
        ("A clamp is shorted.", "a clamp is shorted"),
        ("A is open.", "A is open"),
        ("A and B are bridged.", "A and B are bridged"),
        ("D plus is open.", "D plus is open"),
    ],
)
def test_why_joins_a_cause_to_a_sentence_and_leaves_the_name_of_a_pin(say, said):
    t = tree({"a": 1, "b": 1}, (check("x", "pq", normal=("p",), expect={"a": ("q",)}, ask="Does it hum?"),))
    t = replace(t, causes={name: replace(c, say=say) for name, c in t.causes.items()})
    beliefs = posterior(t, ())
    assert f"whether {said}, or {said}:" in why(t, beliefs, next_check(t, beliefs, t.asked(), Bench()))


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(0.1, "10 seconds"), (0.3, "20 seconds"), (0.5, "half a minute"), (0.7, "40 seconds"), (1, "1 minute"),
     (1.2, "1 minute"), (1.5, "a minute and a half"), (2.2, "2 minutes"), (2.5, "2 and a half minutes"),
     (7.5, "8 minutes"), (20, "20 minutes"), (60, "an hour"), (90, "an hour and a half"), (150, "2 and a half hours")],
)  # fmt: skip
def test_durations_are_said_as_a_person_would(minutes, said):
    assert duration(minutes) == said


def test_what_if_gives_the_odds_that_answer_would_leave():
    t = random_tree(5, 4, 3)
    taken = [Evidence("t0", {"b0": 1.0})]
    assert what_if(t, taken, "t1", "b1") == posterior(t, [*taken, Evidence("t1", {"b1": 1.0})])


@pytest.mark.parametrize(("seed", "work"), [(25, 460), (87, 360), (215, 260)])
def test_a_look_ahead_cut_short_takes_the_cheapest_of_what_it_has_priced(seed, work, monkeypatch):
    t = random_tree(seed, 7, 8, bands=3, reliability=1.0)
    problem = Problem(t, table_of(t), prior(t), t.asked(), t.decide_at)
    greedy, here = Greedy(problem, Budget()), problem.bench(Bench())
    moves = {t.asked()[m.check].id: m for m in problem.moves(problem.start, problem.everything)}

    def chosen(work):
        monkeypatch.setattr(planner, "WORK", work)
        return next_check(t, prior(t), t.asked(), Bench()).check

    none, some, all_ = chosen(0), chosen(work), chosen(10**9)
    assert none == most_bits_a_minute(t, prior(t), t.asked(), Bench()).check
    prices = [greedy.through(moves[c], here) for c in (none, some, all_)]
    assert prices[0] > prices[1] > prices[2]
