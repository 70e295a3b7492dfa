"""Markings and preferred values, against published examples and a second method."""

import pytest
from hypothesis import given, strategies as st

from guide.core.words.colours import read_bands
from guide.core.words.markings import CAPACITOR, RESISTOR, code_of, decoded
from guide.core.words.series import first_series, nearest, values
from guide.core.words.what_is import what_is


def value_of(code, part=RESISTOR):
    found = [r.value for r in decoded(code) if r.part == part]
    assert found, code
    return found[0]


# EIA-96 and IEC 60062, worked for the project's reference (w.eia96.01C, w.eia96.68X, w.smd, w.rkm), and the two
# examples of an oscilloscope maker's manual, section `3 or 4 Digit SMD Resistor Standards`: 220 and 12R0.
# RKM rows: the encyclopaedia's table `RKM code, examples of resistance values`.
# 424, 420 and 66B: a development board maker's page `Resistors, reading`.
RESISTORS = {
    "01C": 10e3, "68X": 49.9, "472": 4700, "4702": 47e3, "0R5": 0.5, "4K7": 4700, "2M2": 2.2e6, "R47": 0.47,
    "220": 22, "12R0": 12, "4R7": 4.7, "470R": 470, "47K": 47e3, "47K3": 47.3e3, "470K": 470e3, "4M7": 4.7e6,
    "424": 420e3, "420": 42, "66B": 4750, "000": 0,
}  # fmt: skip


@pytest.mark.parametrize(("code", "ohms"), RESISTORS.items())
def test_a_resistor_code_is_its_published_value(code, ohms):
    assert value_of(code) == pytest.approx(ohms, rel=1e-12)


# EIA-198 (w.cap104; code.cap3: 8 and 9 mean 0.01 and 0.1) and IEC 60062 (code.rkm.cap: 4n7 is 4.7 nF).
CAPACITORS = {"104": 100e-9, "479": 4.7e-12, "228": 0.22e-12, "4n7": 4.7e-9, "100p": 100e-12, "2u2": 2.2e-6,
              "\u00b547": 0.47e-6, "4R7": 4.7e-12}  # fmt: skip


@pytest.mark.parametrize(("code", "farads"), CAPACITORS.items())
def test_a_capacitor_code_is_its_published_value(code, farads):
    assert value_of(code, CAPACITOR) == pytest.approx(farads, rel=1e-12)


def limits(code, part):
    return next((r.low, r.high) for r in decoded(code) if r.part == part)


def test_a_tolerance_letter_gives_the_limits():
    assert limits("104K", CAPACITOR) == pytest.approx((90e-9, 110e-9))  # w.cap104
    assert limits("4R7C", CAPACITOR) == pytest.approx((4.45e-12, 4.95e-12))  # code.cap.tol: C is 0.25 pF
    assert limits("103Z", CAPACITOR) == pytest.approx((8e-9, 18e-9))  # code.cap.tol: Z is +80/-20 %
    assert limits("4K7J", RESISTOR) == pytest.approx((4465, 4935))


@pytest.mark.parametrize(
    ("code", "readings"),
    [
        ("104", {(RESISTOR, 100e3), (CAPACITOR, 100e-9)}),
        ("104K", {(RESISTOR, 104e3), (CAPACITOR, 100e-9)}),
        ("22R", {(RESISTOR, 22.0), (RESISTOR, 1.65)}),  # EIA-96 code 22 is 165, R is 0.01
        ("4m7", {(RESISTOR, 4.7e6), (CAPACITOR, 4.7e-3)}),
    ],
)
def test_a_code_that_can_be_two_things_is_given_as_both(code, readings):
    assert {(r.part, r.value) for r in decoded(code)} == readings


def test_naming_the_part_leaves_its_readings_only():
    assert [r.part for r in decoded("104 on a capacitor")] == [CAPACITOR]


@pytest.mark.parametrize(
    ("said", "code"),
    [("4 7 2", "472"), ("four seven two", "472"), ("R forty seven", "R47"), ("four K seven", "4K7"),
     ("zero one C", "01C"), ("oh one c", "01c"), ("forty seven k", "47k"), ("one hundred", "1hundred")],
)  # fmt: skip
def test_a_code_may_be_said(said, code):
    assert code_of(said) == code


# The whole EIA-96 table as the project's reference has it (code.eia96.table), with the anchor values 12, 24, 48 and
# 96 of a component marking guide: 130, 178, 316 and 976. It was gathered apart from the formula used by the program.
E96 = (
    100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143, 147, 150, 154, 158, 162, 165, 169,
    174, 178, 182, 187, 191, 196, 200, 205, 210, 215, 221, 226, 232, 237, 243, 249, 255, 261, 267, 274, 280, 287, 294,
    301, 309, 316, 324, 332, 340, 348, 357, 365, 374, 383, 392, 402, 412, 422, 432, 442, 453, 464, 475, 487, 499, 511,
    523, 536, 549, 562, 576, 590, 604, 619, 634, 649, 665, 681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887,
    909, 931, 953, 976,
)  # fmt: skip
E48 = (
    100, 105, 110, 115, 121, 127, 133, 140, 147, 154, 162, 169, 178, 187, 196, 205, 215, 226, 237, 249, 261, 274, 287,
    301, 316, 332, 348, 365, 383, 402, 422, 442, 464, 487, 511, 536, 562, 590, 619, 649, 681, 715, 750, 787, 825, 866,
    909, 953,
)  # fmt: skip


def test_the_formula_gives_the_published_tables():
    """IEC 60063, the tables as gathered in the reference (eseries.e3 to eseries.e96)."""
    assert values("E96") == E96
    assert values("E48") == E48
    assert values("E12") == tuple(10 * v for v in (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82))
    assert values("E6") == tuple(10 * v for v in (10, 15, 22, 33, 47, 68))
    assert values("E3") == (100, 220, 470)
    assert len(values("E192")) == 192
    assert 920 in values("E192")
    assert 919 not in values("E192")


@pytest.mark.parametrize(("letter", "factor"), [("Z", 1e-3), ("Y", 1e-2), ("X", 0.1), ("A", 1), ("B", 10), ("C", 100),
                                                ("D", 1e3), ("E", 1e4), ("F", 1e5)])  # fmt: skip
def test_every_eia_96_code_is_its_table_value_times_its_letter(letter, factor):
    """The multipliers Z to F as public decoders agree on them (code.eia96.mult)."""
    for n, digits in enumerate(E96, start=1):
        found = [r.value for r in decoded(f"{n:02d}{letter}") if r.standard == "EIA-96"]
        assert found == [pytest.approx(digits * factor, rel=1e-12)]


@pytest.mark.parametrize("name", ["E3", "E6", "E12", "E24", "E48", "E96", "E192"])
def test_each_coarser_series_of_a_family_is_in_the_finer_one(name):
    """E3 to E24 nest, as do E48 to E192; E24 is not in E48 (IEC 60063)."""
    family = ("E3", "E6", "E12", "E24") if name in ("E3", "E6", "E12", "E24") else ("E48", "E96", "E192")
    for finer in family[family.index(name) :]:
        assert set(values(name)) <= set(values(finer))


@given(st.floats(0.01, 1e9), st.sampled_from(("E6", "E12", "E24", "E96", "E192")))
def test_nearest_is_the_best_of_the_whole_ladder(value, name):
    ladder = [v * 10.0**p for p in range(-6, 9) for v in values(name)]
    best = min(ladder, key=lambda v: max(v / value, value / v))
    found = nearest(value, name)
    assert max(found / value, value / found) == pytest.approx(max(best / value, value / best), rel=1e-9)


@given(st.sampled_from(E96), st.integers(-2, 5))
def test_a_value_of_a_series_is_its_own_nearest(digits, power):
    value = float(f"{digits}e{power}")
    assert nearest(value, "E96") == pytest.approx(value, rel=1e-12)
    assert first_series(value) is not None


def test_colour_bands_are_read_with_their_tolerance():
    """w.colour4 of the reference; the five-band example is that of a published page on IEC 60063 values."""
    (four,) = read_bands(("yellow", "violet", "red", "gold"))
    assert (four.ohms, four.tolerance) == (4700.0, 5.0)
    assert limits("yellow violet red gold", RESISTOR) == pytest.approx((4465, 4935))
    five = read_bands(("brown", "black", "black", "red", "brown"))
    assert (five[0].ohms, five[0].tolerance) == (10e3, 1.0)
    (six,) = read_bands(("red", "violet", "black", "orange", "gold", "red"))
    assert (six.ohms, six.ppm_per_k) == (270e3, 50)


def test_bands_that_are_a_preferred_value_from_both_ends_are_read_both_ways():
    forward, backward = read_bands(("brown", "black", "black", "red", "brown"))
    assert (backward.ohms, backward.reversed) == (120.0, True)
    assert not forward.reversed


def test_gold_at_the_start_shows_the_bands_are_the_wrong_way_round():
    (read,) = read_bands(("gold", "red", "violet", "yellow"))
    assert (read.ohms, read.reversed) == (4700.0, True)


def test_the_answer_names_code_and_standard():
    assert what_is("4 7 2").show == (
        "472: resistor 4.7 kΩ (three-digit code, IEC 60062); capacitor 4.7 nF (three-digit code, EIA-198)."
    )
    assert what_is("01C").show == "01C: resistor 10 kΩ ±1 % (two digits and a letter, EIA-96)."
    assert what_is("X7R").show == "X7R: dielectric, -55 to 125 °C, ±15 % (class two dielectric, EIA-198)."
    said = what_is("472").say
    assert said == "A resistor of four point seven kilohms, or a capacitor of four point seven nanofarads."


def test_a_value_that_is_no_code_is_answered_with_its_nearest_preferred_values():
    assert what_is("4.8k").show == "4.8 kΩ: nearest preferred values E12 4.7 kΩ, E24 4.7 kΩ, E96 4.75 kΩ (IEC 60063)."
    assert what_is("4.7k").show == "4.7 kΩ is a value of E3 (IEC 60063)."


@given(st.text(max_size=30))
def test_no_marking_raises(text):
    explained = what_is(text)
    assert explained.show
    assert explained.say
