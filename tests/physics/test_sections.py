"""Every tree tied to a simulated section meets its figures there: each fault, on five boards, both ways of seeing.

The figures are goals, not what happens to come out; `python -m tests.physics.report` prints the confusion tables.
"""

import pytest

from guide.core.tree import NONE
from tests.physics import driver, maps, report
from tests.physics.boards import UNITS
from tests.physics.driver import Sight
from tests.physics.score import Score, outcome

MAPS = maps.names()
# Least share right, most share wrong.
GOALS = {Sight.SEES: (0.95, 0.01), Sight.BLIND: (0.85, 0.02)}
both = pytest.mark.parametrize("sight", Sight, ids=lambda s: s.name.lower())


def test_the_sections_of_the_shipped_trees_are_tied():
    assert {"a_usb2_device_port", "c_power_12v", "d_shorted_rail"} <= set(MAPS)


@pytest.mark.parametrize("name", MAPS)
def test_a_map_leaves_nothing_unsaid(name):
    tied, tree, _ = report.loaded(name)
    assert maps.mistakes(tied, tree) == []


@both
@pytest.mark.parametrize("name", MAPS)
def test_a_tree_names_the_fault(name, sight):
    found = report.result(name, sight)
    least_right, most_wrong = GOALS[sight]
    assert len(found.outcomes) == UNITS * len(maps.load(name).faults)
    assert found.right >= least_right, "\n".join(report.lines(found))
    assert found.wrong <= most_wrong, "\n".join(report.lines(found))


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("can_node", "clamp_h_short"),  # lifting the clamp parts it from the transceiver
        ("can_node", "driver_dead"),  # CAN has no driver enable that could be held off instead
        ("ethernet_port", "c_joint"),  # whether the port is a gigabit one says what its open pair means
        ("ethernet_port", "tap_open"),  # it hangs free: the meter itself pulls it to either side
    ],
)
def test_a_fault_a_technician_can_part_from_its_rivals_is_named_alone(name, fault):
    found = [o.score for o in report.result(name, Sight.SEES).outcomes if o.fault == fault]
    assert found == [Score.RIGHT] * UNITS


@both
@pytest.mark.parametrize("name", MAPS)
def test_a_good_board_is_called_good(name, sight):
    """Alone, or beside causes that no board of the section has and so nothing here can refute."""
    good = [o for o in report.result(name, sight).outcomes if o.fault == NONE]
    assert len(good) == UNITS
    assert all(NONE in o.named and o.score in (Score.RIGHT, Score.GROUP) for o in good)


@both
@pytest.mark.parametrize("name", MAPS)
def test_no_order_of_the_same_checks_is_better_than_the_least_possible(name, sight):
    """The least is exact, and a bound for the tree: it asks no fewer, save where it settles for a list."""
    found = report.result(name, sight)
    assert found.least.exact
    assert found.readings >= found.least.bound


@pytest.mark.parametrize("name", MAPS)
def test_the_program_itself_comes_to_the_same_verdict(name, tmp_path):
    """A handful of jobs in a process of their own, against the same board asked in this one."""
    tied, *_ = report.loaded(name)
    for fault in (tied.faults[1], tied.faults[-1]):
        outside = outcome(tied, driver.run_outside(tied, fault, 2, Sight.SEES, tmp_path))
        inside = next(o for o in report.result(name, Sight.SEES).outcomes if (o.fault, o.unit) == (fault, 2))
        assert outside == inside


def test_the_report_shows_figures_and_a_confusion_table(capsys):
    report.main(["d_shorted_rail"])
    said = capsys.readouterr().out
    assert "d_shorted_rail, looks answered: 80 runs" in said
    assert "least possible" in said
    assert said.count("right        cap-2") == 2
    assert Score.RIGHT.value in said
