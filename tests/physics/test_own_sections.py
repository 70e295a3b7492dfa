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


@every_unit
def test_a_relay_coil_takes_its_supply_over_its_ohms_through_a_saturated_transistor(unit):
    """12 V over 400 ohm and 5 percent is 30 mA; a base that conducts sits at one junction, 0.6 to 0.85 V."""
    board = section("relay_driver").board("none", unit)
    assert board.value("GND", "GND", "supply_current", "told_on") == pytest.approx(0.03, rel=0.08)
    assert board.value("Q1 collector", "GND", "dcv", "told_on") < 0.3
    assert 0.6 < board.value("Q1 base", "GND", "dcv", "told_on") < 0.85


@every_unit
def test_the_transistor_without_its_emitter_carries_its_base_up(unit):
    """No current through 2.2 kohm: the base follows the pin's 3.3 V."""
    board = section("relay_driver").board("emitter_joint", unit)
    assert board.value("Q1 base", "GND", "dcv", "told_on") > 3


@every_unit
def test_a_lit_string_holds_the_output_above_the_input_and_its_sense_at_the_reference(unit):
    """Six white LEDs take 2.8 to 3.6 V each; 0.2 V over 10 ohm is 20 mA."""
    board = section("backlight").board("none", unit)
    assert 6 * 2.8 < board.value("J1 anode board", "J1 return board", "dcv", "lit") < 6 * 3.6
    assert board.value("J1 return board", "GND", "dcv", "lit") == pytest.approx(0.2, rel=0.06)


@every_unit
def test_a_chip_whose_supply_joint_is_open_is_fed_through_its_other_pins(unit):
    """One junction below the rail, 0.5 to 0.9 V, at the processor and at the level shifter."""
    for name, pin, state in (("microcontroller_start", "U2 VDD", "run"), ("rs232_port", "U1 VCC", "idle")):
        fault = {"microcontroller_start": "vdd_joint", "rs232_port": "vcc_joint"}[name]
        assert 0.4 < section(name).board(fault, unit).value("3V3", pin, "dcv", state) < 0.95


@every_unit
def test_a_dominant_bus_stays_within_the_limits_of_its_driver(unit):
    """CAN: 1.5 to 3 V between the lines while dominant, nothing while recessive, both then at half the supply."""
    board = section("can_node").board("none", unit)
    assert 1.5 < board.value("H", "L", "dcv", "driving") < 3.0
    assert board.value("H", "L", "dcv", "idle") == pytest.approx(0, abs=0.02)
    assert 2.0 < board.value("H", "GND", "dcv", "idle") < 3.0


@every_unit
def test_a_display_holds_idle_lines_at_its_rail_and_a_sender_pulls_their_mean_down(unit):
    """5 mA on the mean through 50 ohm is 0.25 V below 3.3 V."""
    good, dead = (section("hdmi_source").board(fault, unit) for fault in ("none", "chip_dead"))
    assert dead.value("J1 CLKP", "GND", "dcv", "display") == pytest.approx(3.3, rel=0.01)
    assert good.value("J1 CLKP", "GND", "dcv", "display") == pytest.approx(3.05, rel=0.02)


@every_unit
def test_a_display_feeds_a_chip_without_supply_through_its_picture_lines(unit):
    board = section("hdmi_source").board("rail_dead", unit)
    assert board.value("U1 VDD", "GND", "dcv", "alone") < 0.5
    assert board.value("U1 VDD", "GND", "dcv", "display") > 1.1


@every_unit
def test_half_a_pair_reads_its_terminators_where_the_other_half_is_open(unit):
    """Two of 49.9 ohm meet at the taps: one in series with half a winding, some 50 ohm; a whole pair is below 5 ohm."""
    good, broken = (section("ethernet_port").board(fault, unit) for fault in ("none", "a_trace"))
    assert good.value("U1 A+", "U1 A-", "ohms", "as_found") < 5
    assert 45 < broken.value("U1 A+", "U1 A-", "ohms", "as_found") < 60
