"""The answer to `what is 4 7 2`: a marking decoded, or a value with its nearest preferred values."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Measured
from guide.core.words.aloud import cardinal
from guide.core.words.forms import ONES
from guide.core.words.lines import without_fillers
from guide.core.words.markings import CAPACITOR, COLOUR_BANDS, Decoded, code_of, decoded
from guide.core.words.series import first_series, nearest
from guide.core.words.spoken import heard_in
from guide.core.words.tokens import tokens

UNKNOWN = "I know no marking like that."
_NAMED_SERIES = ("E12", "E24", "E96")
_OHMS = {-3: ("mΩ", "milliohms"), 0: ("Ω", "ohms"), 3: ("kΩ", "kilohms"), 6: ("MΩ", "megohms"), 9: ("GΩ", "gigohms")}
_FARADS = {-12: ("pF", "picofarads"), -9: ("nF", "nanofarads"), -6: ("µF", "microfarads"), -3: ("mF", "millifarads"),
           0: ("F", "farads")}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Explained:
    """An answer for the screen, with codes and standards, and a shorter one for the voice."""

    show: str
    say: str


def what_is(text: str) -> Explained:
    """Explain a marking or a value, printed, typed or said. Every reading of an ambiguous code is given; a value that
    is no code is answered with its nearest preferred values (IEC 60063)."""
    readings = decoded(text)
    if readings:
        code = text.strip() if readings[0].code == COLOUR_BANDS else code_of(text)
        show = "; ".join(_shown(r) for r in readings)
        say = ", or ".join(_said(r) for r in readings)
        return Explained(f"{code}: {show}.", f"{say[0].upper()}{say[1:]}.")
    spec = HANDHELD.modes[Measure.OHMS]
    heard = heard_in(without_fillers(tokens(text)), Measure.OHMS, spec).reading
    if isinstance(heard, Measured) and heard.quantity.value > 0:
        return _preferred(heard.quantity.value)
    return Explained(UNKNOWN, UNKNOWN)


def _preferred(ohms: float) -> Explained:
    own = first_series(ohms)
    if own is not None:
        return Explained(
            f"{_with_unit(ohms, _OHMS)[0]} is a value of {own} (IEC 60063).", f"A preferred value, {_series_said(own)}."
        )
    near = {name: nearest(ohms, name) for name in _NAMED_SERIES}
    show = ", ".join(f"{name} {_with_unit(v, _OHMS)[0]}" for name, v in near.items())
    say = f"Nearest is {_with_unit(near['E24'], _OHMS)[1]} in {_series_said('E24')}."
    return Explained(f"{_with_unit(ohms, _OHMS)[0]}: nearest preferred values {show} (IEC 60063).", say)


def _series_said(name: str) -> str:
    return f"series E {cardinal(int(name[1:]))}"


def _shown(reading: Decoded) -> str:
    told = " ".join(p for p in (reading.part, _value(reading)[0], reading.tolerance) if p)
    return f"{told}{', ' if reading.note else ''}{reading.note} ({reading.code}, {reading.standard})"


def _said(reading: Decoded) -> str:
    if reading.value is None:
        return f"a {reading.code}"
    if reading.value == 0:
        return "a link of no resistance"
    return f"a {reading.part} of {_value(reading)[1]}"


def _value(reading: Decoded) -> tuple[str, str]:
    if reading.value is None:
        return "", ""
    return _with_unit(reading.value, _FARADS if reading.part == CAPACITOR else _OHMS)


def _with_unit(value: float, names: dict[int, tuple[str, str]]) -> tuple[str, str]:
    """Return a value in ohms or farads as shown and as said, with four digits at most."""
    # From a tenth up it stays in the whole unit: 0.47 ohm, as it is printed and said.
    exp = 3 * floor(log10(value * 10 if 0.1 <= value < 1 else value) / 3 + 1e-9) if value > 0 else 0
    power = min(max(exp, min(names)), max(names))
    digits = f"{value / float(f'1e{power}'):.4g}"
    whole, _, part = digits.partition(".")
    said = cardinal(int(whole)) + "".join(f" {w}" for w in (("point", *(ONES[int(d)] for d in part)) if part else ()))
    return f"{digits} {names[power][0]}", f"{said} {names[power][1]}"
