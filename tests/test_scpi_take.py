"""A reading taken from a connected meter: touched, still, cautioned, waited for; and what a supply is asked."""

from itertools import count

import pytest

from guide.core.errors import Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.edge.instruments import scpi
from guide.edge.instruments.instrument import TAKE_IT_READINGS
from guide.edge.instruments.link import Link
from guide.edge.instruments.meter import HINT_AFTER, LIFT, MOST_BLANKS, SAY_SO, BenchMeter
from guide.edge.instruments.supply import BenchSupply
from guide.edge.instruments.talk import Talk, Wording
from tests.instruments import Meter, Wire, after, never, on


def test_a_reading_is_taken_when_the_probes_come_down_and_stand_still(meter):
    meter.show(DIOD=[0.2, None, None, 0.5121, 0.5119, 0.512, 0.512, 0.512])
    reading = on(meter).take(Measure.DIODE, never)
    assert reading.quantity == Quantity(pytest.approx(0.512, abs=1e-4), Unit.VOLT)
    assert reading.resolution == 0.001
    assert 0 < reading.margin < 0.001, "the scatter of the five, far below the last digit"


def test_stop_ends_the_wait_with_nothing_taken(meter):
    meter.show(DIOD=[None])
    assert on(meter).take(Measure.DIODE, after(7)) is None
    assert meter.log.count("READ?") == 7


def test_leads_in_the_air_are_hinted_at_once(meter):
    said = []
    meter.show(DIOD=[None])
    on(meter).take(Measure.DIODE, after(3 * HINT_AFTER), tell=said.append)
    assert said == [SAY_SO]


def test_a_reading_that_never_left_is_hinted_at(meter):
    said = []
    meter.show(VOLT_DC=[12.0])
    assert on(meter).take(Measure.VOLTS_DC, after(60), tell=said.append) is None
    assert said == [LIFT]


def test_take_it_takes_ol_on_the_point(meter):
    meter.show(DIOD=[None])
    assert on(meter).once(Measure.DIODE) == OverRange(Unit.VOLT)


def test_take_it_on_a_drifting_display_is_about(meter):
    meter.show(VOLT_DC=[3.0, 3.2, 3.3])
    reading = on(meter).once(Measure.VOLTS_DC)
    assert (reading.quantity.value, reading.margin) == (3.3, pytest.approx(0.3))


def test_a_live_point_is_cautioned_as_soon_as_the_probes_touch(meter):
    meter.show(RES=[None, None, -20.0], VOLT_DC=[4.9])
    with pytest.raises(Unavailable, match="There is a voltage on this point, four point nine zero volts"):
        on(meter).take(Measure.OHMS, never)
    assert meter.log.count("CONF:RES") == 1


def test_take_it_on_a_live_point_never_enters_the_mode(meter):
    meter.show(VOLT_DC=[4.9])
    with pytest.raises(Unavailable, match="Diode mode waits"):
        on(meter).once(Measure.DIODE)
    assert "CONF:DIOD" not in meter.log


@pytest.mark.parametrize("measure", [Measure.DIODE, Measure.OHMS, Measure.CONTINUITY])
def test_every_unpowered_mode_looks_for_a_voltage_first(meter, measure):
    on(meter).once(measure)
    read_on = [c for c in meter.log if c.startswith("CONF") or c == "READ?"]
    assert read_on[:3] == ["CONF:VOLT:DC", "READ?", f"CONF:{scpi.METER[measure]}"]
    assert read_on.count("READ?") == 1 + TAKE_IT_READINGS


@pytest.mark.parametrize("measure", [Measure.VOLTS_DC, Measure.VOLTS_AC, Measure.AMPS_DC, Measure.HERTZ])
def test_powered_modes_need_no_such_look(meter, measure):
    on(meter).once(measure)
    assert meter.log.count("READ?") == TAKE_IT_READINGS


def test_a_blank_display_is_waited_for(meter):
    nan = "+9.91000000E+37"
    meter.show(VOLT_DC=[0.0, nan, nan, 3.3, nan, 3.3, 3.3, 3.3, 3.3, 3.3])
    assert on(meter).take(Measure.VOLTS_DC, never).quantity.value == pytest.approx(3.3)


def test_a_display_that_stays_blank_is_told(meter):
    meter.show(VOLT_DC=["+9.91000000E+37"])
    with pytest.raises(scpi.NotANumber):
        on(meter).take(Measure.VOLTS_DC, never)
    assert meter.log.count("READ?") == MOST_BLANKS


def test_the_first_display_of_one_question_is_not_the_answer_to_the_next(meter):
    """Two checks in one mode: between them the probe is lifted; a sweep of two like lines takes both."""
    meter.show(DIOD=[None, *[0.512] * 5, 0.512, None, *[0.512] * 5])
    bench = on(meter)
    assert bench.take(Measure.DIODE, never).quantity.value == pytest.approx(0.512)
    first = meter.log.count("READ?")
    assert bench.take(Measure.DIODE, never).quantity.value == pytest.approx(0.512)
    assert meter.log.count("READ?") - first == 8  # the old one, air, five, and a look for volts


def test_a_four_wire_meter_is_asked_for_fresistance(meter):
    meter.show(FRES=[0.0123])
    bench = BenchMeter(
        Talk(Link("TEST::INSTR", lambda: Wire(meter)), scpi.meter(scpi.Ohms.FOUR_WIRE)), pause=lambda: None
    )
    assert bench.once(Measure.OHMS).quantity.value == 0.0123
    assert "CONF:RES" not in meter.log


# --- a supply ----------------------------------------------------------------------------------------------------


@pytest.fixture
def supply():
    """A supply with SCPI. It may be asked for what it measures and for nothing else."""
    one = Meter(functions=("VOLT", "CURR"), lacks=["CONF", "READ?"], identity="FERNLEAF,PS-3,0001,2.0")
    yield one
    assert set(one.log) <= {"*IDN?", "*CLS", "SYST:ERR?", "MEAS:VOLT?", "MEAS:CURR?"}


def reading_of(supply):
    talk = Talk(Link("TEST::INSTR", lambda: Wire(supply)), scpi.SUPPLY, wording=Wording.MEASURE, noun="supply")
    return BenchSupply(talk, pause=lambda: None)


def test_a_supply_s_volts_and_amps_are_read(supply):
    supply.show(VOLT=[12.0], CURR=[0.028])
    bench = reading_of(supply)
    assert bench.once(Measure.VOLTS_DC).quantity == Quantity(12.0, Unit.VOLT)
    assert bench.take(Measure.AMPS_DC, never).quantity == Quantity(pytest.approx(0.028), Unit.AMP)
    assert bench.name == "FERNLEAF PS-3"


def test_no_current_is_taken_as_a_reading_from_a_supply(supply):
    supply.show(CURR=[0.0])
    assert reading_of(supply).take(Measure.AMPS_DC, never).quantity.value == 0.0


def test_a_supply_that_folds_back_is_waited_for_until_it_settles(supply):
    supply.show(CURR=[2.0, 1.4, 0.9, 0.5])
    assert reading_of(supply).take(Measure.AMPS_DC, never).quantity.value == pytest.approx(0.5)


def test_a_supply_is_asked_for_nothing_else(supply):
    bench = reading_of(supply)
    for measure in set(Measure) - {Measure.VOLTS_DC, Measure.AMPS_DC}:
        assert not bench.supports(measure)
        with pytest.raises(Unavailable):
            bench.once(measure)


def test_a_function_key_pressed_by_hand_is_set_back_when_the_probes_come_down():
    """The display of another function was taken for volts, without a word."""
    meter, read = Meter(), count()

    def shows(function):
        at = next(read)
        if at == 2:
            meter.function = "VOLT:AC"
        return 0.0 if at < 4 else {"VOLT:DC": 12.0, "VOLT:AC": 4.2}[function]

    meter.shows = shows
    taken = on(meter).take(Measure.VOLTS_DC, after(30))
    assert isinstance(taken, Measured)
    assert taken.quantity.value == pytest.approx(12.0)


def test_take_it_sets_the_function_that_was_changed_by_hand():
    meter = Meter()
    meter.show(VOLT_DC=[12.0], VOLT_AC=[4.2])
    bench = on(meter)
    bench.once(Measure.VOLTS_DC)
    meter.function = "VOLT:AC"
    assert bench.once(Measure.VOLTS_DC).quantity.value == pytest.approx(12.0)
