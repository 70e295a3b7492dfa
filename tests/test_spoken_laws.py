"""Laws of `parse` and `aloud`, and number words from an independent writer of them (num2words)."""

import re
from math import ceil, log10

import pytest
import quantiphy
from hypothesis import assume, given, settings, strategies as st
from num2words import num2words

from guide.core.meter import HANDHELD
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.core.words.aloud import Verbosity, aloud
from guide.core.words.limits import ABSOLUTE_ZERO_C
from guide.core.words.spoken import parse

MODES = tuple(HANDHELD.modes.values())


@st.composite
def shown(draw):
    """A reading a display of the handheld can show: a whole number of its last digits on one of the ranges."""
    spec = draw(st.sampled_from(MODES))
    at = draw(st.integers(0, len(spec.tops) - 1))
    top, below = spec.tops[at], spec.tops[at - 1] if at else 0.0
    exp = ceil(log10(top / spec.display_counts) - 1e-9)
    most, least = int(float(f"{top}") / float(f"1e{exp}") + 1e-6), int(below / float(f"1e{exp}")) + (1 if at else 0)
    count = draw(st.integers(least, most))
    sign = draw(st.sampled_from(("", "-") if spec.signed and count else ("",)))
    value = float(f"{sign}{count}e{exp}")
    assume(spec.measure is not Measure.CELSIUS or value > ABSOLUTE_ZERO_C)
    return spec, Measured(Quantity(value, spec.measure.unit), float(f"1e{exp}"))


@settings(max_examples=1500)
@given(shown(), st.sampled_from(Verbosity))
def test_what_is_read_aloud_is_understood_as_the_same_reading(case, verbosity):
    spec, reading = case
    assert parse(aloud(reading, verbosity=verbosity), spec.measure).reading == reading


@given(st.sampled_from(MODES))
def test_over_range_aloud_is_understood(spec):
    reading = OverRange(spec.measure.unit)
    assert parse(aloud(reading), spec.measure).reading == reading


def plain(number, **kinds):
    """num2words, as a technician would say it: no commas or hyphens."""
    return re.sub(r"[-,]", " ", num2words(number, **kinds))


def styles(n):
    """Ways of saying one whole number."""
    yield plain(n)
    yield plain(n).replace(" and ", " ")
    yield re.sub("^one ", "a ", plain(n))
    yield num2words(n)


@settings(max_examples=600)
@given(st.integers(0, 1_000_000))
def test_whole_numbers_in_words_are_the_number(n):
    for words in styles(n):
        reading = parse(f"{words} ohms", Measure.OHMS).reading
        assert reading is not None, words
        assert reading.quantity.value == float(n), words


@settings(max_examples=600)
@given(st.integers(0, 999), st.text("0123456789", min_size=1, max_size=4))
def test_decimals_in_words_are_the_number(whole, part):
    value = float(f"{whole}.{part}")
    digits = [num2words(int(d)) for d in part]
    for words in (
        f"{plain(whole)} point {' '.join(digits)}",
        f"{plain(whole)} point {' '.join(digits)}".replace("zero", "oh"),
        f"{plain(whole)} point {' '.join(digits)} volts",
    ):
        reading = parse(words, Measure.VOLTS_DC).reading
        assert reading is not None, words
        assert reading.quantity.value == value, words
        assert reading.resolution == float(f"1e-{len(part)}") or value == 0


@settings(max_examples=300)
@given(st.integers(100, 999))
def test_three_digits_in_diode_mode_are_millivolts_however_they_are_said(n):
    hundreds, rest = divmod(n, 100)
    tail = plain(rest) if rest > 9 else f"oh {plain(rest)}"
    for words in (
        " ".join(num2words(int(d)) for d in str(n)),
        plain(n),
        f"{plain(hundreds)} {tail}" if rest else f"{plain(hundreds)} hundred",
        str(n),
        "point " + " ".join(num2words(int(d)) for d in str(n)),
        f"point {plain(hundreds)} {plain(rest)}" if rest > 9 else f"0.{n}",
    ):
        expected = Measured(Quantity(float(f"{n}e-3"), Measure.DIODE.unit), 0.001)
        assert parse(words, Measure.DIODE).reading == expected, words


@settings(max_examples=300)
@given(st.integers(1100, 2999))
def test_pairs_as_years_are_said_are_millivolts_in_diode_mode(n):
    heard = parse(num2words(n, to="year"), Measure.DIODE)
    if n // 100 == n % 100:  # `twelve twelve` may be twelve said twice
        assert heard.reading is None
        assert heard.reason
    else:
        assert heard.reading == Measured(Quantity(float(f"{n}e-3"), Measure.DIODE.unit), 0.001)


TYPED_UNITS = (
    ("mV", Measure.VOLTS_DC), ("V", Measure.VOLTS_DC), ("Ω", Measure.OHMS), ("kΩ", Measure.OHMS), ("MΩ", Measure.OHMS),
    ("k", Measure.OHMS), ("mA", Measure.AMPS_DC), ("Hz", Measure.HERTZ), ("kHz", Measure.HERTZ), ("MHz", Measure.HERTZ),
)  # fmt: skip


@settings(max_examples=400)
@given(st.integers(1, 99), st.sampled_from(("", ".5", ".04")), st.sampled_from(TYPED_UNITS), st.sampled_from("_ "))
def test_typed_si_notation_is_what_an_independent_library_reads(whole, part, unit, gap):
    """quantiphy is the second opinion; it is never used on a reading, as it takes 4k7 for 4."""
    text, measure = f"{whole}{part}{gap.strip('_')}{unit[0]}", unit[1]
    theirs = quantiphy.Quantity(text).real
    heard = parse(text, measure)
    top = HANDHELD.modes[measure].over_above
    if theirs > top:
        assert heard.candidates == ()
    elif heard.reading is not None:
        assert heard.reading.quantity.value == pytest.approx(theirs, rel=1e-12)
    else:
        assert theirs in [pytest.approx(c.quantity.value, rel=1e-12) for c in heard.candidates]


@settings(max_examples=1000)
@given(st.text(max_size=60), st.sampled_from(MODES))
def test_no_text_raises_and_more_than_one_candidate_is_always_asked(text, spec):
    heard = parse(text, spec.measure)
    assert len(heard.candidates) < 2 or heard.reason


WORDS = st.sampled_from(re.findall(r"\S+", """
zero oh one two four seven ten twelve fifteen fifty twenty hundred thousand and a point half k meg r volts millivolts
ohms milliamps hertz degrees minus about double o l open short beeps no or so 4 52 452 4.5 1,234 4k7 mV kΩ - . , um
"""))  # fmt: skip


@settings(max_examples=2000)
@given(st.lists(WORDS, min_size=1, max_size=7), st.sampled_from(MODES))
def test_case_spacing_and_punctuation_do_not_change_a_reading(words, spec):
    text = " ".join(words)
    heard = parse(text, spec.measure)
    assert parse("  " + text.replace(" ", "  ") + " ! ", spec.measure) == heard
    if "mV" not in words:  # the case of a lone m is its meaning
        assert parse(text.upper().replace("KΩ", "kΩ"), spec.measure) == heard


@pytest.mark.parametrize("measure", [m for m in Measure if m.takes_a_reading])
def test_a_very_long_line_is_no_reading(measure):
    assert parse("four " * 10_000, measure).candidates == ()


@pytest.mark.parametrize(("value", "said"), [(0.0, "zero volts"), (12.1, "twelve point one volts")])
def test_a_reading_without_a_last_digit_is_said_as_a_bare_number_is(value, said):
    """A job that was imported may hold one: a size of zero is no damage."""
    assert aloud(Measured(Quantity(value, Unit.VOLT), 0.0)) == said
