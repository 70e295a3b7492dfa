"""The words of SCPI: what is sent, and what replies mean. SCPI-1999 and IEEE 488.2 stand beside each check."""

from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.errors import Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.edge.instruments import scpi
from tests.instruments import IDENTITY, MAY_BE_SENT

METERED = [m for m in Measure if m.takes_a_reading]


def test_the_commands_are_the_documented_ones_and_no_others():
    """The gate in `link` lets these pass only; the list is written out a second time beside the test's instrument."""
    assert scpi.COMMANDS == MAY_BE_SENT


def test_no_command_sets_a_source_an_output_or_the_instrument_s_state():
    """SCPI-1999 volume 2: SOURce, OUTPut, INSTrument, APPLy (vendor), and IEEE 488.2 *RST, *TRG, *RCL, *SAV."""
    for command in scpi.COMMANDS:
        assert command.split(":")[0] in {"CONF", "MEAS", "SYST", "READ?", "*IDN?", "*CLS"}, command
        assert " " not in command, f"{command} carries a parameter"


def test_every_measure_has_its_standard_function():
    """SCPI-1999 volume 2, measurement functions; DIODe and CONTinuity are vendor extensions of bench meters."""
    assert {m: scpi.METER[m] for m in METERED} == {
        Measure.VOLTS_DC: "VOLT:DC",
        Measure.VOLTS_AC: "VOLT:AC",
        Measure.AMPS_DC: "CURR:DC",
        Measure.OHMS: "RES",
        Measure.CONTINUITY: "CONT",
        Measure.DIODE: "DIOD",
        Measure.HERTZ: "FREQ",
        Measure.CELSIUS: "TEMP",
    }
    assert scpi.meter(scpi.Ohms.FOUR_WIRE)[Measure.OHMS] == "FRES"


@pytest.mark.parametrize(
    ("reply", "value", "resolution"),
    [
        ("+4.52000000E-01", 0.452, 1e-9),  # NR3, IEEE 488.2 8.7.4
        ("-1.234E+01", -12.34, 1e-2),  # NR3
        ("0.452", 0.452, 1e-3),  # NR2, IEEE 488.2 8.7.3
        ("12", 12.0, 1.0),  # NR1, IEEE 488.2 8.7.2
        (" +1.20E+01 \r", 12.0, 1e-1),  # carriage return before the newline: a vendor's habit
        (".5E0", 0.5, 1e-1),
        ("4.7e-3", 0.0047, 1e-4),
    ],
)
def test_a_number_is_read_with_the_worth_of_its_last_digit(reply, value, resolution):
    assert scpi.reading(reply, Measure.VOLTS_DC) == Measured(Quantity(value, Unit.VOLT), resolution)


@settings(deadline=None)
@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=6))
def test_any_number_sent_as_nr3_comes_back_to_nine_digits(number):
    """The sender is `decimal`, an arithmetic of its own."""
    reply = f"{number:+.8E}"
    reading = scpi.reading(reply, Measure.OHMS)
    assert reading.quantity.value == float(Decimal(reply))
    assert reading.resolution == pytest.approx(float(Decimal(1).scaleb(Decimal(reply).as_tuple().exponent)))


@pytest.mark.parametrize("measure", METERED)
@pytest.mark.parametrize("reply", ["+9.90000000E+37", "9.9E37", "-9.9E+37", "+9.90000000E+37 ", "1E38", "9.95E37"])
def test_infinity_is_over_range_whatever_its_sign(reply, measure):
    """SCPI-1999 volume 1, 7.2.1: plus infinity is 9.9E37, minus infinity -9.9E37."""
    assert scpi.reading(reply, measure) == OverRange(measure.unit)


@pytest.mark.parametrize("reply", ["+9.91000000E+37", "9.91E37", "9.91e+37", "-9.91E37"])
def test_not_a_number_is_refused_and_never_over_range(reply):
    """SCPI-1999 volume 1, 7.2.1: NaN is 9.91E37."""
    with pytest.raises(scpi.NotANumber, match="no number now"):
        scpi.reading(reply, Measure.OHMS)


@pytest.mark.parametrize("reply", ["OL", "+OL", "-OL", "ovld", "OVERLOAD"])
def test_overload_in_words_is_over_range(reply):
    """Vendor extension."""
    assert scpi.reading(reply, Measure.OHMS) == OverRange(Unit.OHM)


@pytest.mark.parametrize(
    ("reply", "measure"),
    [
        ("1.2E+01 VDC", Measure.VOLTS_DC),
        ("4.7E+03OHM", Measure.OHMS),
        ("25.1 C", Measure.CELSIUS),
        ("50 Hz", Measure.HERTZ),
    ],
)
def test_the_mode_s_own_base_unit_may_follow_the_number(reply, measure):
    """Vendor extension: SCPI-1999 responses carry no unit."""
    assert scpi.reading(reply, measure).quantity.unit is measure.unit


@pytest.mark.parametrize(
    ("reply", "measure"),
    [
        ("4.7E+03 OHM", Measure.DIODE),  # the meter is in another mode than was asked
        ("12.0 V", Measure.OHMS),
        ("452 mV", Measure.DIODE),  # a prefix: IEEE 488.2 reads MOHM as megohms, so none is guessed
        ("77.2 F", Measure.CELSIUS),
        ("1.2 A", Measure.VOLTS_DC),
    ],
)
def test_a_reading_in_another_unit_is_refused(reply, measure):
    with pytest.raises(scpi.BadReply, match="no reading in"):
        scpi.reading(reply, measure)


@pytest.mark.parametrize(
    "reply",
    ["", " ", "+", ".", "E", "+4.52E", "+4.52E+", "4.5.2", "1,2", "0x10", "NAN", "INF", "1E+9999", IDENTITY,
     '0,"No error"', "--1", "\x00\x7f", "4_5", "١٢"],
)  # fmt: skip
def test_what_is_no_single_number_is_refused(reply):
    with pytest.raises(scpi.BadReply):
        scpi.reading(reply, Measure.VOLTS_DC)


@settings(deadline=None)
@given(st.text(max_size=40), st.sampled_from([scpi.error, partial(scpi.reading, of=Measure.DIODE)]))
def test_no_reply_whatever_raises_anything_but_one_line_of_our_own(reply, parse):
    told = ""
    try:
        parse(reply)
    except Unavailable as error:
        told = str(error)
    assert "\n" not in told


@pytest.mark.parametrize(
    ("reply", "number", "lacking"),
    [
        ('0,"No error"', 0, False),
        ('+0,"No error"', 0, False),
        ('-113,"Undefined header"', -113, True),  # SCPI-1999, 21.8
        ("-113", -113, True),
        ('-102,"Syntax error; DIOD"', -102, True),  # command errors, -199 to -100
        ('-241,"Hardware missing"', -241, True),
        ('-222,"Data out of range"', -222, False),  # execution errors, -299 to -200
        ('-350,"Queue overflow"', -350, False),
        ('532,"Cannot achieve requested resolution"', 532, False),  # positive numbers are the vendor's own
    ],
)
def test_an_entry_of_the_error_queue_tells_whether_the_command_is_missing(reply, number, lacking):
    entry = scpi.error(reply)
    assert (entry.number, entry.not_understood) == (number, lacking)


@pytest.mark.parametrize("reply", ["", "No error", "+4.52000000E-01", IDENTITY])
def test_what_is_no_error_entry_is_refused(reply):
    with pytest.raises(scpi.BadReply):
        scpi.error(reply)


@pytest.mark.parametrize(
    ("reply", "is_one"),
    [
        (IDENTITY, True),  # IEEE 488.2, 10.14: maker, model, serial number, firmware
        ("FERNLEAF DM-6", True),
        ("3400F,DM", True),
        ("+4.52000000E-01", False),  # the late answer to a reading
        ("12.0 V", False),
        ('-113,"Undefined header"', False),
        ('0,"No error"', False),
        ("", False),
        ("OL", False),
    ],
)
def test_a_late_answer_is_not_taken_for_a_name(reply, is_one):
    assert scpi.is_identity(reply) is is_one


def test_maker_and_model_make_the_name():
    assert scpi.name_of(IDENTITY) == "FERNLEAF DM-6"
