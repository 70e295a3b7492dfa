"""A reading taken by itself: touched down, then still. Displays are lists here; no time passes."""

from itertools import pairwise

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.meter import HANDHELD
from guide.core.quantity import UNPOWERED, Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.core.steady import (
    RUN,
    SHORT_RUN,
    Leads,
    Watch,
    as_told,
    blinked,
    displayed,
    like_air,
    seen,
    standing_still,
    taken,
    touched,
)

OL = None
DIODE, OHMS, VOLTS = HANDHELD.spec(Measure.DIODE), HANDHELD.spec(Measure.OHMS), HANDHELD.spec(Measure.VOLTS_DC)


def shown(value, spec):
    unit = spec.measure.unit
    return OverRange(unit) if value is OL else displayed(Measured(Quantity(value, unit), 1e-9), spec)


def watched(spec, *values):
    watch = Watch(spec)
    for value in values:
        watch = seen(watch, shown(value, spec))
    return watch


def first_taken(spec, *values):
    """Return the first reading taken by itself and after how many displays, or None."""
    watch = Watch(spec)
    for count, value in enumerate(values, 1):
        watch = seen(watch, shown(value, spec))
        if taken(watch) is not None:
            return taken(watch), count
    return None


def test_a_still_display_is_taken_after_the_probes_came_down():
    reading, count = first_taken(DIODE, OL, OL, *[0.512] * 9)
    assert reading == Measured(Quantity(0.512, Unit.VOLT), 0.001)
    assert count == 2 + RUN


def test_what_stood_when_the_question_was_put_is_never_taken():
    """It may be the last point's reading still."""
    assert first_taken(DIODE, *[0.512] * 50) is None
    assert standing_still(watched(DIODE, *[0.512] * RUN))
    assert not standing_still(watched(DIODE, *[0.512] * (RUN - 1)))


def test_two_points_that_read_the_same_are_both_taken_when_the_probe_is_lifted_between():
    assert first_taken(DIODE, 0.512, 0.512, OL, *[0.512] * RUN) is not None


@pytest.mark.parametrize("measure", sorted(UNPOWERED))
def test_leads_in_the_air_are_not_ol_on_the_point(measure):
    assert first_taken(HANDHELD.spec(measure), *[OL] * 100) is None


def test_leads_in_the_air_on_volts_are_not_zero_on_the_point():
    """Pick-up on a 10 Mohm input: a few millivolts, still or not."""
    assert first_taken(VOLTS, *[0.002] * 30, *[-0.013] * 30, *[0.0] * 30) is None


def test_lifting_the_probe_before_the_run_is_full_takes_nothing():
    assert first_taken(DIODE, *([OL, OL, *[0.512] * (RUN - 1)] * 5), OL) is None


def test_ol_after_a_steady_reading_is_the_probe_lifted():
    assert watched(DIODE, OL, 0.5, 0.5, 0.5, *[OL] * 20).leads is Leads.AIR


def test_contact_bounce_before_ol_is_no_touch_on_an_open_point():
    assert first_taken(DIODE, OL, 0.9, 0.2, 1.4, *[OL] * 20) is None


def test_a_capacitor_that_charges_past_the_top_leaves_an_open_point():
    """1 mA into 33 uF: dV/dt = I/C = 30 V/s, 0.6 V between readings 20 ms apart; compliance 3 V, then OL."""
    ramp = [1e-3 / 33e-6 * 0.02 * n for n in range(1, 5)]
    reading, _ = first_taken(DIODE, OL, *ramp, *[OL] * 20)
    assert reading == OverRange(Unit.VOLT)


def test_a_climb_cut_off_far_from_the_top_is_the_probe_lifted():
    assert first_taken(DIODE, OL, 0.3, 0.4, 0.5, *[OL] * 20) is None


def test_a_slow_charge_is_not_taken_before_it_is_over():
    """Ohms through an RC: v = V(1 - exp(-t/tau)); the last digits creep one way, and that is a drift, not noise."""
    from math import exp

    values = [4700 * (1 - exp(-n / 8)) for n in range(1, 120)]
    reading, _ = first_taken(OHMS, OL, *values)
    assert reading.quantity.value == pytest.approx(4700, abs=2 * OHMS.resolution_at(4700) * OHMS.counts)


def test_a_creep_slower_than_the_noise_is_a_drift_all_the_same():
    """0.4 mV a reading stays within two digits over a run, but goes one way."""
    assert first_taken(VOLTS, 0.0, *[3.3 + 0.0004 * n for n in range(60)]) is None
    assert first_taken(VOLTS, 0.0, *[3.3 + 0.0004 * (n % 4) for n in range(60)]) is not None


def test_a_display_that_never_stands_still_is_never_taken():
    assert first_taken(VOLTS, 0.0, *[3.30, 3.36, 3.31, 3.37] * 30) is None


def test_a_short_is_taken_only_after_a_longer_run():
    """Probes that brush each other show the same for a moment."""
    reading, count = first_taken(DIODE, OL, *[0.003] * 30)
    assert reading.quantity.value == pytest.approx(0.003)
    assert count == 1 + SHORT_RUN
    assert first_taken(DIODE, OL, *[0.003] * (SHORT_RUN - 1), OL) is None
    reading, count = first_taken(OHMS, OL, *[0.4] * 30)
    assert count == 1 + SHORT_RUN


def test_more_than_the_range_is_a_reading_on_volts():
    """No open lead shows OL on volts: there is more than the range on the point."""
    reading, _ = first_taken(VOLTS, 0.0, *[OL] * RUN)
    assert reading == OverRange(Unit.VOLT)


def test_hum_on_open_leads_is_no_frequency():
    """50 and 60 Hz are what an open input counts (mains frequencies of IEC 60038)."""
    hertz = HANDHELD.spec(Measure.HERTZ)
    assert first_taken(hertz, 0.0, *[50.0] * 30) is None
    assert first_taken(hertz, 0.0, *[60.0] * 30) is None
    assert first_taken(hertz, 50.0, *[32768.0] * 30) is not None


def test_a_temperature_is_taken_by_word_only():
    """A probe shows the room before it shows the part."""
    assert first_taken(HANDHELD.spec(Measure.CELSIUS), OL, *[23.0] * 60) is None


def test_a_blank_display_begins_the_run_anew():
    watch = watched(DIODE, OL, *[0.5] * (RUN - 1))
    assert taken(seen(blinked(watch), shown(0.5, DIODE))) is None
    assert blinked(watch).leads is Leads.DOWN


def test_coming_down_is_told_once():
    states = [watched(DIODE, *[OL, OL, 0.5, 0.5, OL, 0.5][:n]) for n in range(7)]
    assert [touched(a, b) for a, b in pairwise(states)] == [False, False, True, False, False, True]


SPECS = st.sampled_from([s for m, s in HANDHELD.modes.items() if m is not Measure.CELSIUS])


@settings(deadline=None)
@given(SPECS, st.data())
def test_whatever_is_taken_was_shown_for_a_whole_run_within_the_noise(spec, data):
    """Drawn displays around a few levels, with OL between: the law, against a plain second reading of the record."""
    top = spec.tops[-1]
    levels = data.draw(st.lists(st.floats(0, top), min_size=1, max_size=3))
    step = spec.resolution_at(top)
    value = st.sampled_from(levels).flatmap(lambda v: st.floats(-2, 2).map(lambda k: max(0.0, v + k * step)))
    values = data.draw(st.lists(st.one_of(st.none(), value), max_size=40))
    found = first_taken(spec, *values)
    if found is None:
        return
    reading, count = found
    run = [shown(v, spec) for v in values[count - RUN : count]]
    assert len(run) == RUN
    if isinstance(reading, OverRange):
        assert all(isinstance(s, OverRange) for s in run)
        return
    numbers = [s.quantity.value for s in run]
    noise = spec.counts * spec.resolution_at(max(numbers))
    assert max(numbers) - min(numbers) <= noise * 1.001
    assert abs(reading.quantity.value - sum(numbers) / RUN) <= noise * 1.001
    earlier = [shown(v, spec) for v in values[: count - RUN]]
    assert any(like_air(spec.measure, s) for s in earlier), "nothing is taken before the leads were in the air"


@settings(deadline=None)
@given(SPECS, st.floats(0.2, 1.0), st.integers(0, 20))
def test_leads_in_the_air_for_any_time_and_then_a_point_is_taken_as_the_point(spec, share, air):
    value = spec.tops[-1] * share
    nothing = OL if spec.measure in UNPOWERED else 0.0
    reading, count = first_taken(spec, *[nothing] * (air + 1), *[value] * RUN)
    assert count == air + 1 + RUN
    assert reading.quantity.value == pytest.approx(value)


def test_take_it_takes_ol_and_zero_as_they_stand():
    assert as_told([shown(OL, DIODE)] * 3, DIODE) == OverRange(Unit.VOLT)
    assert as_told([shown(0.0, VOLTS)] * 3, VOLTS).quantity.value == 0.0


def test_take_it_on_a_moving_display_keeps_how_far_it_moved_as_margin():
    reading = as_told([shown(v, VOLTS) for v in (3.0, 3.2, 3.1)], VOLTS)
    assert reading.quantity.value == pytest.approx(3.1)
    assert reading.margin == pytest.approx(0.2)
    assert as_told([shown(v, VOLTS) for v in (3.1, 3.1, 3.1)], VOLTS).margin == 0.0


def test_a_bench_meter_s_nine_digits_are_told_as_the_mode_shows_them():
    assert displayed(Measured(Quantity(0.452013377, Unit.VOLT), 1e-9), DIODE).resolution == 0.001
    assert displayed(Measured(Quantity(4712.3, Unit.OHM), 1e-6), OHMS).resolution == 1.0


def test_a_reply_coarser_than_the_display_stays_coarse():
    assert displayed(Measured(Quantity(12.0, Unit.VOLT), 1.0), VOLTS).resolution == 1.0


def test_a_hair_below_zero_is_zero_where_there_is_no_sign():
    assert displayed(Measured(Quantity(-0.002, Unit.VOLT), 1e-6), DIODE).quantity.value == 0.0
    assert displayed(Measured(Quantity(-0.4, Unit.VOLT), 1e-6), DIODE).quantity.value == -0.4
    assert displayed(Measured(Quantity(-0.002, Unit.VOLT), 1e-6), VOLTS).quantity.value == -0.002
