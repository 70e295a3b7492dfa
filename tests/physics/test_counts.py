"""What the comparison with the least possible counts."""

from types import SimpleNamespace

import pytest

from guide.core.tree import NONE, OTHER, PLAN
from tests.physics import best, counts, report
from tests.physics.driver import Sight
from tests.tables import check, tree

BOARDS = [(("a", "x"), frozenset({"f1"})), (("a", "y"), frozenset({"f2"})), (("b", "y"), frozenset({"f3"}))]
TWO = tree({"f1": 1, "f2": 1, "f3": 1}, (check("p", "ab"), check("q", "xy"), check("past", "xy")))
TIED = SimpleNamespace(history={"past"}, cannot=set())


@pytest.mark.parametrize(
    ("route", "known"),
    [
        ((("p", "a"), ("q", "x"), ("p", "a")), 2),
        ((("p", "b"), ("q", "y")), 1),
        ((("past", "x"), ("p", "b"), ("q", "y")), 1),  # what tells no board from another is not counted
        ((("q", "x"), ("p", "b")), 1),
        ((("p", "a"), ("p", "c"), ("q", "y")), 3),  # no board reads c: a reading on an edge, and it tells nothing
        ((("p", "a"),), 1),  # never known
    ],
)
def test_a_fault_is_known_once_the_boards_that_read_so_share_a_verdict(route, known, monkeypatch):
    monkeypatch.setattr(best, "boards_of", lambda *_, **__: BOARDS)
    assert counts.known_after(TWO, TIED, Sight.SEES, SimpleNamespace(route=route)) == known


def test_the_planner_alone_has_no_route_to_follow():
    free = counts.routeless(report.loaded("g_i2c_bus")[1])
    assert free.start == ""
    assert {c.then.get(b.name, PLAN) for c in free.checks.values() for b in c.bands} == {PLAN}


def test_who_is_told_the_faults_gives_the_others_no_weight():
    tied, shipped, _ = report.loaded("d_shorted_rail")
    weights = {name: c.weight for name, c in counts.told(shipped, tied).causes.items()}
    assert {name for name, w in weights.items() if w == 1} == {
        name for name in shipped.causes if name != OTHER and (name == NONE or tied.simulated(name))
    }
    assert weights[OTHER] == counts.UNTOLD


def test_the_tree_asks_no_fewer_readings_than_tell_the_boards_apart():
    found = report.result("i_thermistor_input", Sight.BLIND)
    tied, shipped, _ = report.loaded("i_thermistor_input")
    for one in found.outcomes:
        assert 0 < counts.known_after(shipped, tied, Sight.BLIND, one) <= one.checks
