"""No diode, ohms or continuity on a live point (dmm.power_off: meter manuals, circuit dead and discharged)."""

from itertools import pairwise
from math import exp

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.edge.instruments import guard

INPUT_OHM = 10e6  # the usual input of a meter's DC volts


def looked(*volts, measure=Measure.DIODE):
    """Look at a point that shows `volts` one after the other; returns how many readings were taken."""
    feed = iter([OverRange(Unit.VOLT) if v is None else Measured(Quantity(v, Unit.VOLT), 1e-6) for v in volts])
    guard.look(lambda: next(feed), measure)
    return len(volts) - len(list(feed))


def decay(start, farad, seconds):
    """A capacitor discharging into the meter: v = v0 exp(-t/RC)."""
    return [start * exp(-seconds * n / (INPUT_OHM * farad)) for n in range(guard.LOOKS)]


@pytest.mark.parametrize("volts", [0.0, 0.05, -0.05, 0.0123])
def test_a_dead_point_costs_one_reading(volts):
    assert looked(volts, 9.9) == 1


@pytest.mark.parametrize("volts", [0.0501, -0.0501, 3.3, 12.0, -48.0])
def test_a_steady_voltage_blocks_the_reading(volts):
    with pytest.raises(guard.LivePoint, match="waits"):
        looked(*[volts] * guard.LOOKS)


def test_the_caution_names_the_voltage_and_defers_to_local_code_and_licensed_practice():
    with pytest.raises(guard.LivePoint) as caught:
        looked(*[12.0] * guard.LOOKS, measure=Measure.OHMS)
    assert str(caught.value) == (
        "There is a voltage on this point, twelve point zero zero volts. Ohms waits. Power off and discharge it as your"
        " local code and licensed practice say, then probe again."
    )


def test_more_than_the_range_blocks_at_once():
    with pytest.raises(guard.LivePoint, match="more than the meter's range"):
        looked(None, 0.0)


@pytest.mark.parametrize("farad", [1e-6, 10e-6, 100e-6])
def test_what_the_test_current_left_on_a_capacitor_does_not_block(farad):
    """It falls into the meter's own input, reading after reading 0.1 s apart."""
    volts = decay(0.6, farad, 0.1)
    assert all(b < a for a, b in pairwise(volts))
    assert looked(*volts) == guard.LOOKS


def test_a_charge_that_falls_below_the_limit_while_looked_at_does_not_block():
    """10 nF: tau is 0.1 s."""
    assert looked(*decay(0.6, 10e-9, 0.1)) < guard.LOOKS


def test_a_capacitor_charged_higher_than_a_meter_drives_blocks_although_it_falls():
    """dmm.diode.compliance: 3.2 V is the most found in meter manuals."""
    with pytest.raises(guard.LivePoint):
        looked(*decay(12.0, 10e-6, 0.1))


def test_a_charge_of_the_other_sign_is_not_the_meter_s_own():
    with pytest.raises(guard.LivePoint):
        looked(*[-v for v in decay(0.6, 10e-6, 0.1)])


def test_a_source_whose_last_digit_rolls_is_still_a_source():
    with pytest.raises(guard.LivePoint):
        looked(0.412, 0.411, 0.412, 0.411, 0.410)


@settings(deadline=None)
@given(st.lists(st.one_of(st.none(), st.floats(-100, 100)), min_size=guard.LOOKS, max_size=guard.LOOKS))
def test_whatever_passes_was_dead_at_the_end_or_fell_all_the_way_from_what_a_meter_can_drive(volts):
    try:
        count = looked(*volts)
    except guard.LivePoint:
        return
    seen = volts[:count]
    assert None not in seen
    fell = all(b < a for a, b in pairwise(seen)) and 0 < seen[0] <= guard.OWN_CHARGE_UP_TO_V
    assert abs(seen[-1]) <= guard.LIVE_ABOVE_V or (fell and count == guard.LOOKS)
