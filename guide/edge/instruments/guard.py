"""No diode, ohms or continuity reading on a live point: the meter looks for a voltage there first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from guide.core.errors import Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange
from guide.core.words.aloud import aloud
from guide.core.words.limits import mode_name

# dmm.power_off (meter manuals): these modes need the circuit dead, stray volts give false readings. 50 mV is a tenth of
# the drop of one junction. Common practice, no source.
LIVE_ABOVE_V = 0.050
# dmm.diode.compliance: the greatest open-circuit voltage found in meter manuals. More than that the meter itself cannot
# have put on a capacitor.
OWN_CHARGE_UP_TO_V = 3.2
LOOKS = 5  # a steady source falls five times in a row by chance once in 120


class LivePoint(Unavailable):
    """A voltage stands on the point: a caution for the technician, and no reading."""


Shown = Measured | OverRange


def look(read_volts: Callable[[], Shown], measure: Measure) -> None:
    """Raise LivePoint if there is a voltage where `measure` needs none; `read_volts` takes one DC reading.

    A capacitor keeps what the mode's own test current put on it. That is told from a source by its fall into the
    meter's 10 Mohm, reading after reading, from no more than the meter can drive. A steady reading in the mode itself
    is right then: dV/dt is zero, so nothing flows into the capacitor any more.
    """
    volts = [read_volts()]
    while _perhaps_own_charge(volts) and len(volts) < LOOKS:
        volts.append(read_volts())
    if not _dead(volts[-1]) and not (len(volts) == LOOKS and _perhaps_own_charge(volts)):
        raise LivePoint(_caution(volts[-1], measure))


def _dead(shown: Shown) -> bool:
    return isinstance(shown, Measured) and abs(shown.quantity.value) <= LIVE_ABOVE_V


def _perhaps_own_charge(volts: Sequence[Shown]) -> bool:
    """The red lead drives, so its own charge is positive."""
    values = [v.quantity.value for v in volts if isinstance(v, Measured)]
    if len(values) < len(volts) or _dead(volts[-1]):
        return False
    return 0 < values[0] <= OWN_CHARGE_UP_TO_V and all(after < before for before, after in pairwise(values))


def _caution(shown: Shown, measure: Measure) -> str:
    match shown:
        case OverRange():
            found = "more than the meter's range"
        case Measured(quantity, resolution):
            digits = max(resolution, 0.01)
            found = aloud(Measured(Quantity(quantity.value, Unit.VOLT), digits))
    return (
        f"There is a voltage on this point, {found}. {mode_name(measure).capitalize()} waits. Power off and discharge"
        " it as your local code and licensed practice say, then probe again."
    )
