"""The words of SCPI that are ever sent, and what the replies mean. Pure: no instrument is touched here.

Sources: SCPI-1999 (volume 1: data formats and infinity, 7.2.1; volume 2: the measurement instructions and SYSTem:ERRor,
error numbers 21.8) and IEEE 488.2 (common commands, and the numbers NR1, NR2, NR3 of its response data). Vendor
extensions are marked where they stand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import Enum
from typing import NamedTuple

from guide.core.errors import Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Measured, OverRange, measure_unit

IDENTIFY = "*IDN?"  # IEEE 488.2, 10.14
CLEAR = "*CLS"  # IEEE 488.2, 10.3
NEXT_ERROR = "SYST:ERR?"  # SCPI-1999, SYSTem:ERRor[:NEXT]?
READ = "READ?"  # SCPI-1999 volume 2: trigger once with the present configuration, and send the result

# SCPI-1999 volume 2, measurement functions, in their short forms.
METER: Mapping[Measure, str] = {
    Measure.VOLTS_DC: "VOLT:DC",
    Measure.VOLTS_AC: "VOLT:AC",
    Measure.AMPS_DC: "CURR:DC",
    Measure.OHMS: "RES",
    Measure.HERTZ: "FREQ",
    Measure.CELSIUS: "TEMP",
    Measure.CONTINUITY: "CONT",  # vendor extension of most bench meters
    Measure.DIODE: "DIOD",  # vendor extension of most bench meters
}


class Ohms(Enum):
    """How ohms are taken. Four wires (`FRESistance`) need four leads on the point; they tell below about 10 ohm."""

    TWO_WIRE = "RES"
    FOUR_WIRE = "FRES"


def meter(ohms: Ohms) -> Mapping[Measure, str]:
    """Return the functions of a meter by measure."""
    return {**METER, Measure.OHMS: ohms.value}


# A supply measures its own output; the short form without :DC is the one every supply has.
SUPPLY: Mapping[Measure, str] = {Measure.VOLTS_DC: "VOLT", Measure.AMPS_DC: "CURR"}


def configure(function: str) -> str:
    """Return the command that sets a measurement function and measures nothing."""
    return f"CONF:{function}"


def measure(function: str) -> str:
    """Return the query that sets a function and measures at once."""
    return f"MEAS:{function}?"


_FUNCTIONS = (*METER.values(), Ohms.FOUR_WIRE.value)
# Nothing else ever leaves: no source, output, trigger, calibration or reset command.
COMMANDS = frozenset(
    {IDENTIFY, CLEAR, NEXT_ERROR, READ}
    | {configure(f) for f in _FUNCTIONS}
    | {measure(f) for f in (*_FUNCTIONS, *SUPPLY.values())}
)


class BadReply(Unavailable):
    """A reply that is not what was asked for. The line may be out of step: it has to be opened again."""


class NotANumber(Unavailable):
    """The meter says 9.91E37, not a number: it has nothing to show. The line itself is sound."""


class ModeMissing(Unavailable):
    """The meter lacks this mode; the technician reads it on another one."""


class Reported(Unavailable):
    """The instrument's error queue held something other than an unknown command."""


INFINITY = 9.9e37  # SCPI-1999 volume 1, 7.2.1; minus infinity is its negative
NOT_A_NUMBER = 9.91e37  # SCPI-1999 volume 1, 7.2.1
_NUMBER = re.compile(r"([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d{1,3}))?", re.ASCII)
# Vendor extension: some meters add the unit. Only the base unit of the mode is believed; SCPI-1999 sends none.
_UNIT_WORDS: Mapping[Unit, frozenset[str]] = {
    Unit.VOLT: frozenset({"V", "VDC", "VAC"}),
    Unit.OHM: frozenset({"OHM", "OHMS"}),
    Unit.AMP: frozenset({"A", "ADC"}),
    Unit.HERTZ: frozenset({"HZ"}),
    Unit.CELSIUS: frozenset({"C", "CEL"}),
}
_ANY_UNIT_WORD = frozenset().union(*_UNIT_WORDS.values())
_OVERLOAD_WORDS = frozenset({"OL", "OVLD", "OVERLOAD"})  # vendor extension


def reading(reply: str, of: Measure) -> Measured | OverRange:
    """Return what a measurement query's reply says, in base units; the resolution is that of its last digit.

    |x| >= 9.9E37 is OL. Raises NotANumber for 9.91E37, and BadReply for anything that is not one number in the unit
    of the mode.
    """
    unit = measure_unit(of)
    words = reply.strip()
    if words.lstrip("+-").upper() in _OVERLOAD_WORDS:
        return OverRange(unit)
    match = _NUMBER.match(words)
    digits = (match[2] or "") + (match[3] or "") if match else ""
    if match is None or not digits:
        raise BadReply(f"the answer was {shortened(reply)}, which is no number; take it again")
    rest = words[match.end() :].strip().upper()
    if rest and rest not in _UNIT_WORDS[unit]:
        raise BadReply(f"the answer was {shortened(reply)}, which is no reading in {unit.value}; take it again")
    value, power = float(match[0]), int(match[4] or 0) - len(match[3] or "")
    if abs(abs(value) - NOT_A_NUMBER) <= 1e-5 * NOT_A_NUMBER:
        raise NotANumber("the display shows no number now; try again when it does")
    if abs(value) >= INFINITY:
        return OverRange(unit)
    return Measured(Quantity(value, unit), float(f"1e{power}"))


class Error(NamedTuple):
    """One entry of the error queue."""

    number: int
    text: str

    @property
    def not_understood(self) -> bool:
        """The instrument lacks the command: -113 undefined header, the other command errors (-199 to -100), or
        -241 hardware missing (SCPI-1999, 21.8)."""
        return -199 <= self.number <= -100 or self.number == -241

    def __str__(self) -> str:
        return f"{self.number} {self.text}".strip()


NO_ERROR = 0
_ERROR = re.compile(r'([+-]?\d{1,6})(?:\s*,\s*"?([^"]*)"?)?', re.ASCII)


def error(reply: str) -> Error:
    """Return an entry of the error queue (`-113,"Undefined header"`). Raises BadReply."""
    match = _ERROR.fullmatch(reply.strip())
    if match is None:
        raise BadReply(f"the answer was {shortened(reply)} when asked for errors; try again")
    return Error(int(match[1]), match[2] or "")


def is_identity(reply: str) -> bool:
    """Tell whether a reply can be that to `*IDN?`: text with a letter, and neither a reading nor an error.

    IEEE 488.2 asks for four fields with commas between; instruments with fewer are known, so they are not counted.
    """
    words = reply.strip()
    number = _NUMBER.match(words)
    rest = words[number.end() :].strip().upper() if number else words
    if _ERROR.fullmatch(words) or (rest != words.upper() and rest in _ANY_UNIT_WORD) or rest in _OVERLOAD_WORDS:
        return False
    return any(c.isalpha() for c in rest)


def name_of(identity: str) -> str:
    """Return maker and model out of an `*IDN?` reply, as one says them."""
    return " ".join(field.strip() for field in identity.split(",")[:2] if field.strip())


def shortened(reply: str) -> str:
    """Return a reply fit for one line of a message."""
    words = "".join(c if c.isprintable() else "?" for c in reply.strip())
    return repr(words if len(words) <= 40 else f"{words[:40]}...")
