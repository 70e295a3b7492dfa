"""The shorted-rail tree on rows of other lengths, copper and spurs than the stored board's."""

from collections import Counter

import pytest

from guide import app
from guide.commands.jsonlines import serve
from tests.physics import driver, report, rows
from tests.physics.driver import Bench, Sight
from tests.physics.score import named

BOARDS = 60


def test_a_current_divides_as_kirchhoff_says():
    """2 ohm from a to b, from there 3 ohm and 6 ohm to ground, 2 ohm together. By hand: 4 ohm in all, so one volt is
    reached at 0.25 A, and b stands at half a volt."""
    volts, amps = rows.solved([("a", "b", 2.0)], {"b": 1 / (1 / 3 + 1 / 6)}, "a")
    assert amps == pytest.approx(0.25)
    assert volts == pytest.approx({"a": 1.0, "b": 0.5})


def test_one_amp_falls_along_the_copper_to_the_short_and_no_further():
    volts, amps = rows.solved([("a", "b", 2e-3), ("b", "c", 3e-3)], {"b": 0.1}, "a")
    assert amps == 1.0
    assert volts["a"] - volts["b"] == pytest.approx(2e-3)
    assert volts["b"] == pytest.approx(volts["c"])


def test_two_shorts_share_the_current_by_the_copper_between_them():
    """0.1 ohm at a, 0.1 ohm behind 0.1 ohm more: two thirds of the amp at a, one third on through the copper."""
    volts, _ = rows.solved([("a", "b", 0.1)], {"a": 0.1, "b": 0.1}, "a")
    assert volts["a"] - volts["b"] == pytest.approx(1 / 3 * 0.1)


def _graded(store, tree, text, tied, seed):
    row, right = rows.drawn(seed)
    bench = Bench(row, rows.tied_to(row, tied), Sight.SEES)
    session, first = app.begin(store, tree, text, clock=lambda: driver.AT)
    serve(session, first, bench.says(), bench.hears)
    said = set(named(bench.verdict))
    return "right" if said <= right else "unsure" if said & right else f"wrong: {row.fault}, {sorted(said)}"


def test_the_tree_finds_shorts_on_rows_it_was_not_drawn_up_for():
    """Four to ten capacitors, up to three spurs, shorts of 20 milliohm to 5 ohm, leaks, two shorts at once."""
    tied, tree, text = report.loaded("d_shorted_rail")
    with driver.scratch_store() as store:
        found = Counter(_graded(store, tree, text, tied, seed) for seed in range(BOARDS))
    wrong = BOARDS - found["right"] - found["unsure"]
    assert found["right"] >= 0.85 * BOARDS, found
    assert wrong <= 0.02 * BOARDS, found
