"""When a connected meter's display may be taken without a word: touched down, then still. Pure; no clock.

The leads are followed as the technician moves them. What stood on the display when the question was put may be the
last point's, so nothing counts before the leads have been in the air and have come down. Then a run of readings within
the meter's own noise is taken. What leads in the air show too (OL on ohms, zero on volts) is never taken here: that
needs `take it`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum, auto
from itertools import pairwise
from math import inf

from guide.core.meter import ModeSpec
from guide.core.quantity import UNPOWERED, Measure, Unit
from guide.core.reading import Measured, OverRange, Reading, combined
from guide.core.words.limits import display_digit, greatest

Shown = Measured | OverRange

RUN = 5  # readings; a run in one direction by chance alone is 2/5!, below 2 %
SHORT_RUN = 2 * RUN  # probes that brush each other read the same short, only not for as long
# dmm.diode.short: 10 mV is a dead short in diode mode; 1 ohm holds the leads (0.2 to 0.5 ohm). Both common practice,
# no source.
_SHORT_BELOW = {Unit.VOLT: 0.01, Unit.OHM: 1.0}
# What open leads may show: pick-up on a 10 Mohm input. Common practice, no source; a reading below needs `take it`.
_AIR_BELOW = {Measure.VOLTS_DC: 0.05, Measure.VOLTS_AC: 3.0, Measure.AMPS_DC: 1e-3, Measure.HERTZ: 1.0}
_MAINS_HUM_HZ = (45.0, 65.0)  # open leads count the mains: 50 or 60 Hz, as IEC 60038 lists them
# A temperature probe shows the room before it shows the part, and creeps: only `take it` says which.
_NEVER_BY_ITSELF = frozenset({Measure.CELSIUS})
_CLIMBS = 3  # readings that make a climb


class Leads(StrEnum):
    """Where the leads are, as far as the display tells."""

    STANDING = auto()  # as when the question was put: perhaps still on the last point
    AIR = auto()
    DOWN = auto()
    OPEN = auto()  # down on a point that charged up until the meter could drive no more


@dataclass(frozen=True, slots=True)
class Watch:
    """What one question has seen so far: the last readings since the leads changed state, and how many there were."""

    spec: ModeSpec
    leads: Leads = Leads.STANDING
    window: tuple[Shown, ...] = ()
    count: int = 0


def seen(watch: Watch, shown: Shown) -> Watch:
    """Return `watch` after one more reading."""
    leads = _leads_after(watch, shown)
    if leads is not watch.leads:
        return replace(watch, leads=leads, window=(shown,), count=1)
    return replace(watch, window=(*watch.window[1 - SHORT_RUN :], shown), count=watch.count + 1)


def blinked(watch: Watch) -> Watch:
    """Return `watch` after the display showed nothing: the leads are where they were, the run begins anew."""
    return replace(watch, window=())


def _leads_after(watch: Watch, shown: Shown) -> Leads:
    if not like_air(watch.spec.measure, shown):
        return Leads.STANDING if watch.leads is Leads.STANDING else Leads.DOWN
    if watch.leads is Leads.OPEN or (watch.leads is Leads.DOWN and _charged_up(watch, shown)):
        return Leads.OPEN
    return Leads.AIR


def like_air(measure: Measure, shown: Shown) -> bool:
    """Tell whether leads that touch nothing could show this."""
    match shown:
        case OverRange():
            # On volts and amps OL is more than the range, and no open lead shows that.
            return measure in UNPOWERED or measure in (Measure.HERTZ, Measure.CELSIUS)
        case Measured(quantity):
            size = abs(quantity.value)
            if measure is Measure.HERTZ and _MAINS_HUM_HZ[0] <= size <= _MAINS_HUM_HZ[1]:
                return True
            return size < _AIR_BELOW.get(measure, -inf)


def _charged_up(watch: Watch, shown: Shown) -> bool:
    """Tell whether OL came as the end of a climb, not by lifting the probe.

    The constant test current charges a capacitance in a straight line (i = C dV/dt), so a climb that ends in OL was
    about to pass the top; half a step is allowed for the timing of the reading.
    """
    values = [s.quantity.value for s in watch.window if isinstance(s, Measured)][-_CLIMBS:]
    if not isinstance(shown, OverRange) or len(values) < _CLIMBS:
        return False
    steps = [b - a for a, b in pairwise(values)]
    return min(steps) > 0 and values[-1] + 1.5 * steps[-1] >= greatest(watch.spec)


def touched(before: Watch, after: Watch) -> bool:
    """Tell whether the probes came down between the two."""
    return before.leads is Leads.AIR and after.leads is Leads.DOWN


def taken(watch: Watch) -> Shown | None:
    """Return the reading that may be taken by itself, None while there is none."""
    if watch.leads not in (Leads.DOWN, Leads.OPEN) or watch.spec.measure in _NEVER_BY_ITSELF:
        return None
    run = watch.window[-RUN:]
    if len(run) < RUN:
        return None
    if all(isinstance(s, OverRange) for s in run):
        return run[-1]
    measured = still(run, watch.spec)
    if measured is None or not _short(measured, watch.spec):
        return measured
    return still(watch.window, watch.spec) if len(watch.window) >= SHORT_RUN else None


def _short(reading: Measured, spec: ModeSpec) -> bool:
    return spec.measure in UNPOWERED and abs(reading.quantity.value) <= _SHORT_BELOW[reading.quantity.unit]


def still(run: Sequence[Shown], spec: ModeSpec) -> Measured | None:
    """Return the mean of a run within the meter's own noise; None where it moves, drifts or holds an OL.

    The noise is the count part of the accuracy statement: digits that roll although nothing changes. A run that goes
    one way only, and by more than one digit, is a drift however small it is.
    """
    measured = [s for s in run if isinstance(s, Measured)]
    if len(measured) < len(run):
        return None
    values = [m.quantity.value for m in measured]
    digit = spec.resolution_at(max(values, key=abs))
    spread = max(values) - min(values)
    if spread > spec.counts * digit * (1 + 1e-9):
        return None
    steps = [b - a for a, b in pairwise(values)]
    one_way = all(s > 0 for s in steps) or all(s < 0 for s in steps)
    return None if one_way and spread > digit * (1 + 1e-9) else combined(measured)


def standing_still(watch: Watch) -> bool:
    """Tell whether a steady reading stands there that may still be the last point's."""
    run = watch.window[-RUN:]
    return watch.leads is Leads.STANDING and len(run) == RUN and still(run, watch.spec) is not None


def as_told(shown: Sequence[Shown], spec: ModeSpec) -> Reading:
    """Return what a few readings in a row make when the technician says `take it`; needs at least one.

    The last one decides between OL and a number. A display that moves is taken with the distance it moved as margin,
    so that a drifting value weighs as little as it should.
    """
    last = shown[-1]
    if isinstance(last, OverRange):
        return last
    steady = still(shown, spec)
    if steady is not None:
        return steady
    values = [s.quantity.value for s in shown if isinstance(s, Measured)]
    return Measured(last.quantity, last.resolution, max(values) - min(values))


def displayed(reading: Measured, spec: ModeSpec) -> Measured:
    """Return a bench meter's number as the mode's display would carry it.

    A reply has more digits than mean anything; its resolution becomes that of the display, so that it is read back
    short. The hair below zero that a nulled short may show is zero where the mode has no sign.
    """
    value = reading.quantity.value
    digit = display_digit(spec.resolution_at(value))
    if not spec.signed and -spec.counts * digit <= value < 0:
        value = 0.0
    quantity = replace(reading.quantity, value=value)
    return Measured(quantity, max(reading.resolution, digit), reading.margin)
