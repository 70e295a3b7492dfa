"""Voltages that hurt: said at once, whatever the tree expected there."""

from __future__ import annotations

from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange, Reading

# DC: IEC 60204-1 6.2.4, what may be left on a part that is touched; IEC 61140 has the same for bare contact.
# AC, rms: the extra-low-voltage limit of IEC 61140. Both from secondary texts, the clause of the first checked.
LIMIT_V = {Measure.VOLTS_DC: 60.0, Measure.VOLTS_AC: 50.0}
_NAMES = {Measure.VOLTS_DC: "sixty volts D C", Measure.VOLTS_AC: "fifty volts A C"}


def warning(measure: Measure, reading: Reading) -> str:
    """Return what to say of a voltage that is dangerous to touch, or may be; empty for any other reading."""
    limit = LIMIT_V.get(measure)
    if limit is None:
        return ""
    match reading:
        case Measured(quantity) if abs(quantity.value) > limit:
            return (
                f"That is above {_NAMES[measure]}: dangerous to touch. Switch off before hands go near."
                " If it comes from the mains, stop here: that is for licensed practice, under local codes."
            )
        case OverRange():
            return "More than the range shows may be a dangerous voltage. Hands off, and switch off first."
    return ""
