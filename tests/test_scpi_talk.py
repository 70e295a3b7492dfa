"""The conversation with a meter, over a wire in this process: modes, errors, and everything that goes wrong.

SCPI-1999 names: CONFigure, READ?, MEASure, SYSTem:ERRor? with -113 and -350, 9.9E37, 9.91E37. IEEE 488.2: *IDN?, *CLS.
"""

import pytest
from hypothesis import example, given, settings, strategies as st

from guide.core.errors import GuideError, Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.edge.instruments import scpi
from guide.edge.instruments.link import Link, NoAnswer
from guide.edge.instruments.talk import Talk
from tests.instruments import IDENTITY, MAY_BE_SENT, OL, Meter, Wire, on, talk_with

METERED = [m for m in Measure if m.takes_a_reading]
SPARSE = ("VOLT:DC", "RES")


# --- modes ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("measure", METERED)
def test_every_mode_is_set_before_it_is_read(meter, measure):
    function = scpi.METER[measure]
    meter.shows = lambda f: 0.3 if f == function else 0.0
    assert talk_with(meter).read(measure) == Measured(Quantity(0.3, measure.unit), 1e-9)
    assert meter.log[-1] == "READ?"
    assert meter.function == function


def test_a_mode_is_set_once_for_many_readings(meter):
    talk = talk_with(meter)
    for _ in range(5):
        talk.read(Measure.OHMS)
    assert meter.log.count("CONF:RES") == 1
    assert meter.log.count("READ?") == 5


def test_the_error_queue_is_read_until_it_is_empty(meter):
    """SCPI-1999 SYSTem:ERRor?: first in, first out, 0 when empty; what others left behind is not ours."""
    meter.errors.extend(['-222,"Data out of range"', '-113,"Undefined header"'])
    talk_with(meter).read(Measure.VOLTS_DC)
    assert meter.log[:4] == ["*IDN?", "SYST:ERR?", "SYST:ERR?", "SYST:ERR?"]
    assert not meter.errors


def test_a_mode_the_meter_lacks_is_said_and_never_asked_again():
    meter = Meter(functions=SPARSE)
    bench = on(meter)
    assert bench.supports(Measure.DIODE)
    with pytest.raises(
        scpi.ModeMissing, match="the meter has no diode mode; read it on another one and say or type it"
    ):
        bench.once(Measure.DIODE)
    assert not bench.supports(Measure.DIODE)
    sent = len(meter.log)
    with pytest.raises(scpi.ModeMissing):
        bench.once(Measure.DIODE)
    assert "CONF:DIOD" not in meter.log[sent:]
    assert bench.once(Measure.OHMS).quantity.unit is Unit.OHM


def test_a_meter_without_configure_is_asked_by_measure():
    meter = Meter(lacks=["CONF"])
    meter.show(RES=[470.0])
    bench = on(meter)
    assert bench.once(Measure.OHMS).quantity.value == 470.0
    assert "READ?" not in meter.log


def test_a_meter_without_configure_that_is_first_asked_for_a_rare_mode_is_asked_by_measure():
    meter = Meter(lacks=["CONF"])
    meter.show(FREQ=[32768.0])
    assert talk_with(meter).read(Measure.HERTZ).quantity.value == 32768.0


def test_a_meter_without_read_is_asked_by_measure():
    meter = Meter(lacks=["READ?"])
    meter.show(RES=[470.0])
    assert talk_with(meter).read(Measure.OHMS).quantity.value == 470.0


def test_a_meter_without_an_error_queue_is_asked_by_measure():
    meter = Meter(functions=SPARSE, errors_kept=False)
    meter.show(RES=[470.0])
    talk = talk_with(meter)
    assert talk.read(Measure.OHMS).quantity.value == 470.0
    with pytest.raises(scpi.ModeMissing, match="no diode mode"):
        talk.read(Measure.DIODE)
    assert talk.read(Measure.OHMS).quantity.value == 470.0


def test_a_look_is_nothing_a_meter_reads(meter):
    assert not on(meter).supports(Measure.LOOK)
    with pytest.raises(Unavailable, match="no instrument reads look"):
        on(meter).once(Measure.LOOK)


def test_only_measurement_commands_pass(meter):
    link = Link("TEST::INSTR", lambda: Wire(meter))
    for command in ("OUTP ON", "SOUR:VOLT 12", "*RST", "READ? ; OUTP ON", "CONF:VOLT:DC 10", "*IDN"):
        with pytest.raises(GuideError, match="not sent"):
            link.send(command)
    assert meter.log == []


# --- what goes wrong --------------------------------------------------------------------------------------------


def test_infinity_is_ol_and_not_a_number_is_refused(meter):
    talk = talk_with(meter)
    meter.show(RES=[None, "+9.91000000E+37", 470.0])
    assert talk.read(Measure.OHMS) == OverRange(Unit.OHM)
    with pytest.raises(scpi.NotANumber):
        talk.read(Measure.OHMS)
    assert talk.read(Measure.OHMS).quantity.value == 470.0


def test_a_dropped_reply_is_one_clear_line_and_the_next_reading_is_its_own(meter):
    talk = talk_with(meter)
    meter.show(RES=[100.0, 200.0])
    meter.spoil = once_only(lambda command, reply: None if command == "READ?" else reply)
    with pytest.raises(NoAnswer, match=r"TEST::INSTR: no answer within 3 s; check that it is on and connected"):
        talk.read(Measure.OHMS)
    assert talk.read(Measure.OHMS).quantity.value == 200.0


def once_only(fault):
    """Return `fault` until it has changed a reply once."""
    done = []

    def spoil(command, reply):
        spoilt = reply if done else fault(command, reply)
        if spoilt != reply:
            done.append(command)
        return spoilt

    return spoil


def test_a_late_reply_is_not_taken_for_the_next_one(meter):
    """Over a line that keeps bytes across openings, as a serial adapter may: the late 111 ohm is thrown away."""
    wires = []

    def opener():
        wire = Wire(meter)
        if wires:
            wire.pending.append(b"+1.11000000E+02\n")
        wires.append(wire)
        return wire

    talk = Talk(Link("TEST::INSTR", opener), scpi.METER)
    meter.show(RES=[111.0, 222.0])
    meter.spoil = once_only(lambda command, reply: None if command == "READ?" else reply)
    with pytest.raises(NoAnswer):
        talk.read(Measure.OHMS)
    assert talk.read(Measure.OHMS).quantity.value == 222.0
    assert wires[0].closed


@pytest.mark.parametrize("garbage", ["\xff\xfe\x80", "@@@", "", "+1.0E", "1,2", "4.7E+03 OHM", "A" * 30000])
def test_garbage_is_refused_and_the_line_opened_again(meter, garbage):
    talk = talk_with(meter)
    meter.show(VOLT_DC=[3.3])
    meter.spoil = once_only(lambda command, reply: garbage if command == "READ?" else reply)
    with pytest.raises(scpi.BadReply) as caught:
        talk.read(Measure.VOLTS_DC)
    assert len(str(caught.value)) < 120
    assert not talk.link.is_open
    assert talk.read(Measure.VOLTS_DC).quantity.value == 3.3
    assert talk.link.openings == 2


def test_a_reply_without_its_newline_is_no_reply(meter):
    """IEEE 488.2, 7.5: the newline ends a message; `+4.52E-0` without it may be the head of 0.452 or of 4.52e-07."""

    class Cut(Wire):
        def read_raw(self):
            return super().read_raw()[:-1]

    with pytest.raises(NoAnswer, match="cut short"):
        Link("TEST::INSTR", lambda: Cut(meter)).ask("*IDN?")


def test_another_error_is_reported_with_its_text(meter):
    talk = talk_with(meter)
    talk.read(Measure.VOLTS_DC)
    meter.errors.append('-222,"Data out of range"')
    with pytest.raises(scpi.Reported, match="the meter reports -222 Data out of range on ohms; check its front panel"):
        talk.read(Measure.OHMS)
    assert talk.read(Measure.OHMS).quantity.value == 0.0


def test_a_full_error_queue_is_emptied_at_the_start(meter):
    """SCPI-1999, 21.8: -350 queue overflow takes the last place."""
    for _ in range(30):
        meter.error('-113,"Undefined header"')
    assert meter.errors[-1].startswith("-350")
    assert talk_with(meter).read(Measure.VOLTS_DC).quantity.value == 0.0


def test_an_error_queue_that_fills_without_end_is_cleared_and_then_given_up(meter):
    """*CLS is tried once (IEEE 488.2, 10.3)."""
    meter.spoil = lambda command, reply: '-350,"Queue overflow"' if command == "SYST:ERR?" else reply
    with pytest.raises(Unavailable, match="never runs out of errors; the last is -350 Queue overflow"):
        talk_with(meter).ready()
    assert meter.log.count("*CLS") == 1


def test_garbage_for_a_name_is_refused(meter):
    meter.spoil = lambda command, reply: "0"
    with pytest.raises(NoAnswer):  # one late answer could be thrown away; a line of them runs dry
        talk_with(meter).ready()
    with pytest.raises(scpi.BadReply, match="when asked for its name"):
        Talk(Link("TEST::INSTR", lambda: Flood(meter)), scpi.METER).ready()


def test_a_meter_away_for_long_is_not_asked_for_its_name_once_for_every_try(meter):
    class Gone(Wire):
        def write(self, message):
            raise ConnectionRefusedError(111, "Connection refused")

    away = [True]
    talk = Talk(Link("TEST::INSTR", lambda: Gone(meter) if away else Wire(meter)), scpi.METER)
    for _ in range(100):
        with pytest.raises(NoAnswer, match="connection refused"):
            talk.read(Measure.OHMS)
    away.clear()
    assert talk.read(Measure.OHMS).quantity.value == 0.0
    assert meter.log.count("*IDN?") <= 10
    talk.link.close()
    meter.log.clear()
    talk.read(Measure.OHMS)
    assert meter.log.count("*IDN?") == 1


class Flood(Wire):
    """A meter in a free-running mode that sends readings on its own."""

    def read_raw(self):
        return b"+1.0E+00\n"


def test_another_instrument_at_the_address_is_learned_anew(meter):
    """-113 of the old one does not stick to the new one."""
    meter.functions = frozenset(SPARSE)
    bench = on(meter)
    with pytest.raises(scpi.ModeMissing):
        bench.once(Measure.DIODE)
    meter.functions, meter.identity = Meter().functions, "FERNLEAF,DM-9,0007,1.0"
    bench.close()
    assert bench.once(Measure.OHMS).quantity.value == 0.0
    assert bench.name == "FERNLEAF DM-9"
    assert bench.supports(Measure.DIODE)


def test_a_reopened_line_sets_the_mode_anew(meter):
    """The meter may have been switched off and on between."""
    meter.show(RES=[470.0, 12.0], VOLT_DC=[5.0])
    talk = talk_with(meter)
    talk.read(Measure.OHMS)
    talk.link.close()
    meter.function = "VOLT:DC"
    assert talk.read(Measure.OHMS).quantity == Quantity(12.0, Unit.OHM)


FAULTS = ("none", "none", "none", "dropped", "late", "garbage", "cut", "nan", "another unit", "-350", "dead")


class Faulty(Wire):
    """A wire that spoils one reply in a few, as drawn; a late reply comes out of the next opening."""

    def __init__(self, meter, draws, carried):
        super().__init__(meter)
        self.draws, self.carried = draws, carried
        self.pending.extend(carried)
        carried.clear()

    def write(self, message):
        fault = next(self.draws, "none")
        if fault == "dead":
            raise ConnectionResetError(104, "Connection reset by peer")
        if fault == "-350":
            self.meter.errors.append('-350,"Queue overflow"')
        held = len(self.pending)
        super().write(message)
        if len(self.pending) > held:
            self.pending.extend(self._spoilt(self.pending.pop(), fault))

    def _spoilt(self, reply, fault):
        if fault == "late":
            self.carried.append(reply)
        spoilt = {
            "dropped": [],
            "late": [],
            "garbage": [b"\xff@\n"],
            "cut": [reply[:-3]],
            "nan": [b"+9.91000000E+37\n"],
            "another unit": [reply[:-1] + b" HZ\n"],
        }
        return spoilt.get(fault, [reply])


@settings(deadline=None, max_examples=300)
@example(["none", "dropped", "late", "none", "none", "nan"], [False] * 3)  # no number in place of a name that was owed
@example(["none", "dropped", "late", "late", "none", "late"], [False] * 4)  # a late name hid a late reading
@given(st.lists(st.sampled_from(FAULTS), max_size=60), st.lists(st.booleans(), min_size=3, max_size=12))
def test_whatever_goes_wrong_a_reading_is_the_display_of_that_moment_in_that_mode(faults, asked):
    """Every display is another number, volts and ohms apart: a late, stale or foreign answer would show."""
    meter, displays = Meter(), {"VOLT:DC": 0.0, "RES": 1e6}

    def show(function):
        displays[function] += 1.0
        return displays[function]

    meter.shows = show
    draws, carried, told = iter(faults), [], []
    talk = Talk(Link("TEST::INSTR", lambda: Faulty(meter, draws, carried)), scpi.METER)
    for ohms in asked:
        measure, function = (Measure.OHMS, "RES") if ohms else (Measure.VOLTS_DC, "VOLT:DC")
        try:
            reading = talk.read(measure)
        except Unavailable as error:
            told.append(str(error))
            continue
        assert reading.quantity == Quantity(displays[function], measure.unit)
    assert set(meter.log) <= MAY_BE_SENT
    assert not [line for line in told if "\n" in line or len(line) > 200]


def test_the_identity_and_address_are_told(meter):
    with on(meter) as bench:
        assert (bench.identity, bench.name, bench.address) == (IDENTITY, "FERNLEAF DM-6", "TEST::INSTR")


def test_over_range_as_the_meter_sends_it_is_what_the_instrument_here_sends():
    assert scpi.reading(OL, Measure.OHMS) == OverRange(Unit.OHM)
