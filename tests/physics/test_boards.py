"""The virtual meter: its display, its leads, and what it says of known circuits."""

import pytest

from guide.core.intent import Expecting, Say, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange
from guide.core.words.understanding import understand
from tests.physics.boards import MODE_OF, MODES, UNITS, NotOnThisBoard, section

SECTIONS = ["a_usb2_device_port", "c_power_12v", "d_shorted_rail", "g_i2c_bus", "i_heater_thermistor"]


def _queries(name: str, fault: str):
    """A spread of readings of every mode and state: each probe with the next ones in the list."""
    here = section(name)
    for measure, mode in MODE_OF.items():
        for state in here.data["on" if MODES[mode] else "off"]:
            for i, red in enumerate(here.probes):
                yield measure, mode, state, red, here.probes[(i + 1) % len(here.probes)]


@pytest.mark.parametrize("name", SECTIONS)
def test_the_tool_understands_every_display_as_the_value_that_was_measured(name):
    faults = section(name).faults
    for fault in (faults[0], faults[len(faults) // 2], faults[-1]):
        board = section(name).board(fault, 3)
        for measure, mode, state, red, black in _queries(name, fault):
            value = board.value(red, black, mode, state)
            shown = board.display(red, black, mode, state)
            kind = Measure(measure)
            said = understand(Utterance(shown), Expecting(kind, HANDHELD.spec(kind)))
            assert isinstance(said, Say), (shown, said)
            if value is None:
                assert said.reading == OverRange(said.reading.unit)
            else:
                assert isinstance(said.reading, Measured)
                assert said.reading.quantity.value == pytest.approx(value, rel=1e-3, abs=2e-5)


def test_swapped_leads_turn_the_sign_of_volts_and_the_way_of_a_diode():
    board = section("c_power_12v").board("none", 0)
    forward, back = (board.value(*pair, "dcv", "bench") for pair in (("5V at C5", "GND"), ("GND", "5V at C5")))
    assert forward == -back
    assert board.value("GND", "5V at C5", "diode", "as_found") < 0.7
    assert board.value("5V at C5", "GND", "diode", "as_found") != board.value("GND", "5V at C5", "diode", "as_found")


def test_a_known_divider_sets_the_rail():
    """0.8 V reference, 52.3 kohm over 10 kohm: 0.8 * (1 + 5.23) = 4.98 V; parts 1 %, reference 1.5 %, meter 0.5 %."""
    here = section("c_power_12v")
    for unit in range(UNITS):
        assert here.board("none", unit).value("5V at C5", "GND", "dcv", "bench") == pytest.approx(4.984, rel=0.04)


def test_a_pull_up_against_a_pull_down_divides():
    """USB 2.0 host pull-down 15 kohm, device pull-up 1.5 kohm behind a 40 ohm driver: 3.3 * 15 / 16.54 = 2.99 V."""
    here = section("a_usb2_device_port")
    for unit in range(UNITS):
        assert here.board("none", unit).value("J1 pin 3 D+", "GND", "dcv", "host") == pytest.approx(2.99, rel=0.06)


def test_what_is_not_on_the_board_cannot_be_read():
    board = section("d_shorted_rail").board("none", 0)
    with pytest.raises(NotOnThisBoard):
        board.value("TP3", "C1 +", "ohms", "as_found")
    with pytest.raises(NotOnThisBoard):
        board.value("C1 +", "C1 -", "dcv", "host")


def test_a_probe_on_itself_reads_its_leads():
    board = section("d_shorted_rail").board("none", 0)
    assert board.display("C1 +", "C1 +", "ohms", "as_found") == "0.2 ohm"
    assert board.display("C1 +", "C1 +", "dcv", "inject_TP1") == "0.00 mV"


def test_faults_that_nothing_separates_know_each_other():
    assert section("d_shorted_rail").alike("c1_short") == {"c1_short", "reg_short"}
    assert section("c_power_12v").alike("tvs_short") == {"tvs_short", "cin_short"}
    assert section("a_usb2_device_port").alike("none") == {"none"}
