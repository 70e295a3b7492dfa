"""What one phrase means in one mode of the 6000-count handheld."""

import pytest

from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange
from guide.core.words.spoken import parse

DIODE, OHMS, CONTINUITY, VOLTS, AC, AMPS, HERTZ, CELSIUS = (
    Measure.DIODE, Measure.OHMS, Measure.CONTINUITY, Measure.VOLTS_DC, Measure.VOLTS_AC, Measure.AMPS_DC, Measure.HERTZ,
    Measure.CELSIUS,
)  # fmt: skip

READ = {
    DIODE: {
        "point four five two": (0.452, 0.001),
        "four fifty two": (0.452, 0.001),
        "five hundred and ten millivolts": (0.510, 0.001),
        "zero point eight one volts": (0.81, 0.01),
        "four hundred and fifty two": (0.452, 0.001),
        "five oh two": (0.502, 0.001),
        "point oh five two": (0.052, 0.001),
        "nought point four": (0.4, 0.1),
        "zero zero three": (0.003, 0.001),
        "zero four five two": (0.452, 0.001),
        "point double four": (0.44, 0.01),
        "point triple zero": (0.0, 0.001),
        "a hundred": (0.1, 0.001),
        "hundred and four": (0.104, 0.001),
        "half a volt": (0.5, 0.1),
        "twelve fifty": (1.25, 0.001),
        "one volt two hundred": (1.2, 0.001),
        "452": (0.452, 0.001),
        "0.452": (0.452, 0.001),
        "452m": (0.452, 0.001),
        "452 mV": (0.452, 0.001),
        "452mV": (0.452, 0.001),
        "452MV": (0.452, 0.001),
        ".45": (0.45, 0.01),
        ",45": (0.45, 0.01),
        "1,2": (1.2, 0.1),
        "1,234": (1.234, 0.001),
        "1 234": (1.234, 0.001),
        "zero": (0.0, 0.001),
        "three": (0.003, 0.001),
        "short": (0.0, 0.001),
        "dead short": (0.0, 0.001),
    },
    OHMS: {
        "four fifty two": (452.0, 1.0),
        "four point seven k": (4700.0, 100.0),
        "four point seven kay ohms": (4700.0, 100.0),
        "two k two": (2200.0, 100.0),
        "four k seven": (4700.0, 100.0),
        "two meg two": (2.2e6, 1e5),
        "four R seven": (4.7, 0.1),
        "R forty-seven": (0.47, 0.01),
        "one and a half k": (1500.0, 100.0),
        "two hundred twenty k": (220e3, 1e3),
        "two twenty k": (220e3, 1e3),
        "one point five meg": (1.5e6, 1e5),
        "ten point five kilo ohms": (10.5e3, 100.0),
        "one k two hundred ohms": (1200.0, 1.0),
        "twelve hundred": (1200.0, 1.0),
        "two point two thousand": (2200.0, 100.0),
        "4k7": (4700.0, 100.0),
        "4K7": (4700.0, 100.0),
        "4.7k": (4700.0, 100.0),
        "4.7 kΩ": (4700.0, 100.0),
        "4,7k": (4700.0, 100.0),
        "0R22": (0.22, 0.01),
        "4R7": (4.7, 0.1),
        "R47": (0.47, 0.01),
        "2M2": (2.2e6, 1e5),
        "4.7M": (4.7e6, 1e5),
        "1,234": (1234.0, 1.0),
        "1,234.5": (1234.5, 0.1),
        "1.234,5": (1234.5, 0.1),
        "1\u00a0234": (1234.0, 1.0),
        "\uff14\uff17\uff10": (470.0, 1.0),
        "4.7e3": (4700.0, 100.0),
    },
    VOLTS: {
        "twelve point one": (12.1, 0.1),
        "twelve volts": (12.0, 1.0),
        "twelve": (12.0, 1.0),
        "minus point two": (-0.2, 0.1),
        "negative five": (-5.0, 1.0),
        "\u22120.2": (-0.2, 0.1),
        "three volts three": (3.3, 0.1),
        "3V3": (3.3, 0.1),
        "12v1": (12.1, 0.1),
        "four fifty two millivolts": (0.452, 0.001),
        "one volt two hundred and fifty millivolts": (1.25, 0.001),
        "twelve fifty": (12.5, 0.01),
        "12 V DC": (12.0, 1.0),
        "4 point 52": (4.52, 0.01),
    },
    AC: {"two hundred and thirty volts": (230.0, 1.0), "twelve volts ac": (12.0, 1.0)},
    AMPS: {"seven milliamps": (0.007, 0.001), "one amp two": (1.2, 0.1), "point one two": (0.12, 0.01),
           "350 mA": (0.35, 0.001), "20 \u00b5A": (2e-5, 1e-6)},
    HERTZ: {"fifty hertz": (50.0, 1.0), "sixty point oh one hertz": (60.01, 0.01), "8 MHz": (8e6, 1e6),
            "thirty two kilohertz": (32e3, 1e3), "32768": (32768.0, 1.0)},
    CELSIUS: {"twenty five degrees": (25.0, 1.0), "25.5\u00b0C": (25.5, 0.1), "minus ten": (-10.0, 1.0)},
    CONTINUITY: {"point three": (0.3, 0.1), "beeps at two ohms": (2.0, 1.0), "no beep, eighty ohms": (80.0, 1.0)},
}  # fmt: skip


def _cases(table):
    return [(measure, words, meant) for measure, phrases in table.items() for words, meant in phrases.items()]


@pytest.mark.parametrize(("measure", "words", "meant"), _cases(READ))
def test_a_phrase_is_read_with_the_worth_of_its_last_digit(measure, words, meant):
    reading = parse(words, measure).reading
    assert isinstance(reading, Measured)
    assert (reading.quantity.value, reading.resolution) == meant
    assert reading.quantity.unit is measure.unit


ASKED = {
    VOLTS: {"four fifty two": [452.0, 4.52], "one two": [12.0, 1.2], "five volts ten": [5.1, 5.01]},
    OHMS: {"four seven k": [47e3, 4.7e3], "12,345": [12345.0, 12.345], "four k seventy five": [4750.0, 4075.0],
           "4.7m": [4.7e6], "1.234": [1.234, 1234.0], "twenty five five": [255.0, 25.5]},
    DIODE: {"four five": [0.045, 0.45]},
    AMPS: {"one fifty": [0.15, 1.5], "120": [0.12], "seven": [7.0, 0.007]},
    HERTZ: {"thirty two seven sixty eight": [32768.0]},
    CELSIUS: {"twenty five five": [255.0, 25.5]},
}  # fmt: skip


@pytest.mark.parametrize(("measure", "words", "values"), _cases(ASKED))
def test_an_ambiguous_phrase_names_every_value_it_may_be(measure, words, values):
    heard = parse(words, measure)
    assert heard.reading is None
    assert [m.quantity.value for m in heard.candidates] == values
    assert heard.reason


def test_the_question_names_both_values_by_name():
    assert parse("four fifty two", VOLTS).reason == "Four hundred fifty two volts, or four point five two volts?"


REFUSED = {
    DIODE: {"three point five": "Three volts is the most", "minus point two": "below zero", "twelve ohms": "in ohms",
            "beeps": "beep"},
    OHMS: {"minus five": "below zero", "seventy megohms": "Sixty megohms is the most", "twelve volts": "in volts"},
    VOLTS: {"open": "Open is no reading", "twelve volts ac": "That is AC", "two kilovolts": "One thousand volts"},
    CELSIUS: {"seventy fahrenheit": "Fahrenheit", "minus four hundred": "colder"},
}  # fmt: skip


@pytest.mark.parametrize(("measure", "words", "part"), _cases(REFUSED))
def test_what_the_mode_cannot_show_is_refused_with_the_reason(measure, words, part):
    heard = parse(words, measure)
    assert heard.candidates == ()
    assert part in heard.reason


OVER = ["OL", "O L", "O.L.", "oh ell", "0L", "over load", "over limit", "one dot", "open", "no reading"]


@pytest.mark.parametrize("words", OVER)
@pytest.mark.parametrize("measure", [DIODE, OHMS, CONTINUITY])
def test_over_range_is_its_own_answer(words, measure):
    assert parse(words, measure).reading == OverRange(measure.unit)


def test_a_beep_is_no_resistance_give_or_take_the_threshold():
    reading = parse("beeps", CONTINUITY).reading
    assert isinstance(reading, Measured)
    assert (reading.quantity.value, reading.resolution, reading.margin) == (0.0, 0.1, 50.0)
    assert parse("no beep", CONTINUITY).reading == OverRange(CONTINUITY.unit)


def test_about_leaves_room_for_a_tenth():
    reading = parse("about four hundred", DIODE).reading
    assert isinstance(reading, Measured)
    assert reading.margin == pytest.approx(0.04)
