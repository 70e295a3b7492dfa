"""Sections solved from our own netlists, against arithmetic without a simulator. Parts 1 %, meter 0.5 % + 2 counts."""

import pytest

from tests.physics.boards import UNITS, section

every_unit = pytest.mark.parametrize("unit", range(UNITS))


@every_unit
def test_a_sink_divides_the_default_pull_up_of_its_source(unit):
    """56 kohm over 5.1 kohm from 5 V: 0.417 V; the default window of USB Type-C is 0.25 to 0.61 V."""
    board = section("usb_c_sink").board("none", unit)
    assert board.value("J1 CC1", "GND", "dcv", "source_one") == pytest.approx(5 * 5.1 / 61.1, rel=0.07)
    assert board.value("J1 CC2", "GND", "dcv", "source_two") == pytest.approx(5 * 5.1 / 61.1, rel=0.07)
    assert board.value("J1 CC2", "GND", "dcv", "source_one") == pytest.approx(0, abs=1e-3)


@every_unit
def test_two_pull_downs_that_touch_read_half_of_one(unit):
    board = section("usb_c_sink").board("cc_bridge", unit)
    assert board.value("J1 CC1", "GND", "ohms", "as_found") == pytest.approx(2550, rel=0.03)


@every_unit
def test_bias_resistors_set_the_idle_bus(unit):
    """680, 120 and 680 ohm in series on 5 V: 2.70 V on A and 2.30 V on B, 0.405 V between."""
    board = section("two_wire_bus").board("none", unit)
    assert board.value("A", "GND", "dcv", "idle") == pytest.approx(5 * 800 / 1480, rel=0.02)
    assert board.value("B", "GND", "dcv", "idle") == pytest.approx(5 * 680 / 1480, rel=0.02)
    assert board.value("A", "B", "dcv", "idle") == pytest.approx(5 * 120 / 1480, rel=0.04)


@every_unit
def test_a_driven_bus_shows_the_driver_through_the_terminator(unit):
    """Two outputs of 25 ohm across 120 ohm beside the bias: at least 1.5 V, and current as Ohm's law has it."""
    board = section("two_wire_bus").board("none", unit)
    between = board.value("A", "B", "dcv", "driving")
    assert between == pytest.approx(5 * 120 / 170, rel=0.03)
    assert board.value("A", "B", "dcv", "driving") > 1.5


@every_unit
def test_an_idle_terminated_bus_reads_its_terminator_beside_the_bias(unit):
    """120 ohm beside 680 + 680 ohm and the dead rail's 6 kohm: between 120 ohm alone and 120 beside 1360 ohm."""
    board = section("two_wire_bus").board("none", unit)
    assert 110 * 0.98 < board.value("A", "B", "ohms", "as_found") < 120 * 1.02
