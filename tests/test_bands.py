"""Band words against hand-worked limits, and their laws."""

from decimal import Decimal

import pytest
from hypothesis import given, strategies as st

from guide.core.bands import BadBand, Limits, edge, limits, written
from guide.core.quantity import Quantity, Unit

OHM, VOLT = Unit.OHM, Unit.VOLT


@pytest.mark.parametrize(
    ("words", "low", "high", "over_range"),
    [
        ("below 54 ohm", None, 54.0, False),
        ("54 ohm to 66 ohm", 54.0, 66.0, False),
        ("66 ohm to 1.2 kohm", 66.0, 1200.0, False),
        ("132 ohm and up", 132.0, None, False),
        ("132 ohm and up or OL", 132.0, None, True),
        ("below 2 ohm or OL", None, 2.0, True),
        ("54 ohm to 66 ohm or OL", 54.0, 66.0, True),
        ("OL", None, None, True),
        ("  below   4.7 Mohm ", None, 4_700_000.0, False),
        ("-50 mV to 50 mV", -0.05, 0.05, False),
        ("below 0.452 V", None, 0.452, False),
        ("20 mA to 500 mA", 0.02, 0.5, False),
        ("12 uA and up", 12e-6, None, False),
        ("25 degC to 85 degC", 25.0, 85.0, False),
        ("below 12 MHz", None, 12e6, False),
    ],
)
def test_band_words_give_these_limits(words, low, high, over_range):
    found = limits(words)
    band = found.band("b")
    assert (band.low, band.high, band.over_range) == (low, high, over_range)


def test_units_are_those_of_the_edges():
    assert limits("54 ohm to 66 V").units == {OHM, VOLT}
    assert limits("OL").units == frozenset()


@pytest.mark.parametrize(
    "words",
    ["", "54 ohm", "> 54 ohm", "below", "below 54", "54 to 66 ohm", "about 5 V", "below 1,200 ohm", "below 1e3 ohm",
     "below inf V", "below nan V", "below 5 volts", "below 5 v", "66 ohm to 54 ohm", "54 ohm to 54 ohm", "ol", "or OL",
     "below 5 V or", "below 5 GV", "5 V and up and up", "below " + "9" * 400 + " V", "below ٣ V", "below 0x10 ohm"],
)  # fmt: skip
def test_words_that_are_no_band_are_refused_with_the_way_to_write_it(words):
    with pytest.raises(BadBand) as refused:
        limits(words)
    assert len(str(refused.value)) < 220
    assert ";" in str(refused.value)


def test_one_edge_is_one_number_however_its_prefix_is_written():
    assert edge("50 mV") == edge("0.05 V")
    assert edge("4.7 kohm") == edge("4700 ohm")
    assert edge("452 uA") == edge("0.452 mA")


@given(st.decimals(-999_999, 999_999, places=4), st.sampled_from([("", 0), ("k", 3), ("M", 6), ("m", -3), ("u", -6)]))
def test_an_edge_is_the_double_nearest_to_its_decimal(number, prefix):
    """Second method: exact decimal arithmetic, rounded once."""
    name, exponent = prefix
    assert edge(f"{number:f} {name}V").value == float(Decimal(number).scaleb(exponent))


@given(st.integers(-(10**8), 10**8), st.integers(-6, 3), st.sampled_from(list(Unit)))
def test_a_quantity_written_and_read_is_the_same(digits, exponent, unit):
    quantity = Quantity(float(f"{digits}e{exponent}"), unit)
    assert edge(written(quantity)).value == pytest.approx(quantity.value, rel=1e-9, abs=1e-12)
    assert edge(written(quantity)).unit is unit


@given(st.text(max_size=60))
def test_any_text_is_a_band_or_refused(text):
    try:
        found = limits(text)
    except BadBand:
        return
    assert isinstance(found, Limits)
    assert found.low or found.high or found.over_range
