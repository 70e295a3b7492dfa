"""What is printed on a part: resistor and capacitor codes, each reading with its code and standard.

Sources as gathered for this project: IEC 60062 (a letter for the decimal point, digit codes, colours), EIA-96 (two
digits and a letter), EIA-198 (capacitor digits, tolerance letters, dielectrics). A code that can be two things is
given as both, for nothing printed on a part says what kind of part it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from guide.core.words import forms
from guide.core.words.colours import bands_in, read_bands
from guide.core.words.series import values
from guide.core.words.tokens import tokens

RESISTOR, CAPACITOR, DIELECTRIC = "resistor", "capacitor", "dielectric"
COLOUR_BANDS = "colour bands"
IEC_60062, EIA_96, EIA_198 = "IEC 60062", "EIA-96", "EIA-198"

# Percent, IEC 60062 and EIA-198. E, L, P, W, H and N are recalled.
_TOLERANCES: Mapping[str, float] = {
    "E": 0.005, "L": 0.01, "P": 0.02, "W": 0.05, "B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0, "H": 3.0,
    "J": 5.0, "K": 10.0, "M": 20.0, "N": 30.0,
}  # fmt: skip
# EIA-198: on capacitors below 10 pF these letters are picofarads.
_PICOFARADS: Mapping[str, float] = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}
# Powers of ten. H, R and S are alternates seen on some makers' parts.
_EIA_96_POWERS: Mapping[str, int] = {
    "Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0, "B": 1, "H": 1, "C": 2, "D": 3, "E": 4, "F": 5,
}  # fmt: skip
_RKM_OHMS: Mapping[str, int] = {"L": -3, "R": 0, "K": 3, "M": 6, "G": 9}  # L is recalled
_RKM_FARADS: Mapping[str, int] = {"p": -12, "n": -9, "u": -6, "m": -3, "F": 0}
# Class 2 dielectrics: coldest and hottest in degrees Celsius, and the change of capacitance over that range.
_COLDEST = {"X": -55, "Y": -30, "Z": 10}
_HOTTEST = {"5": 85, "6": 105, "7": 125, "8": 150}
_CHANGES = {"F": "7.5 %", "P": "10 %", "R": "15 %", "S": "22 %", "U": "+22/-56 %", "V": "+22/-82 %"}


@dataclass(frozen=True, slots=True)
class Decoded:
    """One reading of a marking. `value` is in ohms or farads as `part` tells, None for a dielectric; `low` and `high`
    are its limits where the code gives a tolerance; `tolerance` and `note` are for people."""

    part: str
    value: float | None
    code: str
    standard: str
    tolerance: str = ""
    low: float | None = None
    high: float | None = None
    note: str = ""


def decoded(marking: str) -> tuple[Decoded, ...]:
    """Return every reading of `marking`, printed, typed or said (`472`, `4 7 2`, `R forty seven`, `yellow violet red
    gold`), the commonest first; none where it is no code known here. Never raises."""
    words = [w.key for w in tokens(marking)]
    bands = bands_in([w for w in words if w not in _AROUND])
    if bands:
        return tuple(_coloured(bands))
    code = code_of(marking)
    found = [reading for rule in _RULES for reading in rule(code)]
    wanted = {RESISTOR, CAPACITOR} & set(words)
    return tuple(reading for reading in found if not wanted or reading.part in wanted)


_AROUND = frozenset({"a", "an", "the", "on", "of", "code", "marking", "marked", "mean", "means", "says", "and", "band",
                     "bands", "printed", RESISTOR, CAPACITOR, "smd", "chip", "value"})  # fmt: skip


def code_of(marking: str) -> str:
    """Return the characters of a code typed or said, letters in the case they came in: `R forty seven` is R47."""
    code, pending = "", False
    words = tokens(marking)
    for at, word in enumerate(words):
        if word.key in _AROUND and not (word.key == "a" and at == len(words) - 1):  # the A of 01A ends the code
            continue
        digits = _digit_words().get(word.key, word.text)
        if pending and len(digits) == 1 and digits in "123456789":
            code = code[:-1] + digits
            pending = False
            continue
        code += digits
        pending = len(digits) == 2 and digits[1] == "0" and word.key in forms.TENS
    return code


@cache
def _digit_words() -> dict[str, str]:
    rules = [forms.NUMBER_RULES[name] for name in ("zero", "nz", "teen", "ty")]
    return {word: value for rule in rules if not isinstance(rule, tuple) for word, value in rule.items() if value}


def _coloured(bands: tuple[str, ...]) -> Iterator[Decoded]:
    for read in read_bands(bands):
        notes = [f"{read.ppm_per_k} ppm/K"] if read.ppm_per_k is not None else []
        notes += ["read from the other end"] if read.reversed else []
        yield _within(RESISTOR, read.ohms, COLOUR_BANDS, IEC_60062, read.tolerance, note=", ".join(notes))


def _within(part: str, value: float, code: str, standard: str, percent: float, *, note: str = "") -> Decoded:
    share = percent / 100
    return Decoded(part, value, code, standard, f"±{percent:g} %", value * (1 - share), value * (1 + share), note)


def _toleranced(part: str, value: float, code: str, standard: str, letter: str) -> Decoded | None:
    """Return the reading with the limits its tolerance letter gives, None for a letter that is none."""
    if not letter:
        return Decoded(part, value, code, standard)
    if part == CAPACITOR and letter == "Z":
        return Decoded(part, value, code, standard, "+80/-20 %", value * 0.8, value * 1.8)
    if part == CAPACITOR and value < 9.99e-12 and letter in _PICOFARADS:
        margin = _PICOFARADS[letter] * 1e-12
        return Decoded(part, value, code, standard, f"±{_PICOFARADS[letter]:g} pF", value - margin, value + margin)
    percent = _TOLERANCES.get(letter)
    return _within(part, value, code, standard, percent) if percent is not None else None


def _digit_codes(code: str) -> Iterator[Decoded]:
    """`472`, `4702`: digits and a power of ten, in ohms. The greatest power taken for a resistor is 7 (470 MΩ)."""
    if re.fullmatch("0{1,4}", code):
        yield Decoded(RESISTOR, 0.0, "jumper", IEC_60062, note="a link of no resistance")
    elif re.fullmatch(r"[1-9][0-9]{1,2}[0-7]", code):
        name = "three-digit code" if len(code) == 3 else "four-digit code"
        yield Decoded(RESISTOR, float(f"{code[:-1]}e{code[-1]}"), name, IEC_60062)


def _eia_96(code: str) -> Iterator[Decoded]:
    match = re.fullmatch(r"([0-9]{2})([A-Z])", code.upper())
    if match and 1 <= int(match[1]) <= 96 and match[2] in _EIA_96_POWERS:
        digits = values("E96")[int(match[1]) - 1]
        yield _within(RESISTOR, float(f"{digits}e{_EIA_96_POWERS[match[2]]}"), "two digits and a letter", EIA_96, 1.0)


def _letter_for_point(code: str, letters: str, powers: Mapping[str, int], part: str) -> Iterator[Decoded]:
    match = re.fullmatch(rf"([0-9]{{0,4}})([{letters}])([0-9]{{0,3}})([A-Z]?)", code)
    if match and (match[1] or match[3]):
        whole, letter, fraction, tolerance = match.groups()
        value = float(f"{whole or 0}.{fraction or 0}e{powers[letter]}")
        read = _toleranced(part, value, "letter for the point", IEC_60062, tolerance)
        if read is not None:
            yield read


def _rkm_ohms(code: str) -> Iterator[Decoded]:
    """`4K7`, `R47`, `2M2J`. Small k and r are common; a small m is milli, but may be meant for M."""
    yield from _letter_for_point(code.upper(), "RKMGL", _RKM_OHMS, RESISTOR)


def _rkm_farads(code: str) -> Iterator[Decoded]:
    """`4n7`, `100p`, `2u2`. Capital P, N and U are taken too, a capital M is not (see `_rkm_ohms`)."""
    plain = re.sub("[PNU]", lambda m: m[0].lower(), re.sub("[µμ]", "u", code), count=1)
    if not re.fullmatch(r"[0-9]{3,}F", plain):  # 100F is ten picofarads, one percent
        yield from _letter_for_point(plain, "pnumF", _RKM_FARADS, CAPACITOR)


def _capacitor_digits(code: str) -> Iterator[Decoded]:
    """`104K`: two digits and a power of ten in picofarads, 8 and 9 standing for 0.01 and 0.1; `4R7C` likewise.

    A small n or p is a prefix, not a tolerance.
    """
    match = re.fullmatch(r"([1-9][0-9])([0-9])([A-Z]?)", re.sub("[^np]", lambda m: m[0].upper(), code))
    point = re.fullmatch(r"([0-9]?)R([0-9]{1,2})([A-Z]?)", code.upper())
    if match:
        power = {"8": -2, "9": -1}.get(match[2], int(match[2]))
        read = _toleranced(CAPACITOR, float(f"{match[1]}e{power - 12}"), "three-digit code", EIA_198, match[3])
    elif point:
        read = _toleranced(CAPACITOR, float(f"{point[1] or 0}.{point[2]}e-12"), "R for the point", EIA_198, point[3])
    else:
        return
    if read is not None:
        yield read


def _dielectrics(code: str) -> Iterator[Decoded]:
    upper = code.upper()
    if upper in ("C0G", "NP0", "COG", "NPO"):
        yield Decoded(DIELECTRIC, None, "class one dielectric", EIA_198, note="0 ±30 ppm/K")
    elif re.fullmatch("[XYZ][5-8][FPRSUV]", upper):
        change = _CHANGES[upper[2]]
        note = f"{_COLDEST[upper[0]]} to {_HOTTEST[upper[1]]} °C, {'' if '/' in change else '±'}{change}"
        yield Decoded(DIELECTRIC, None, "class two dielectric", EIA_198, note=note)


_RULES: tuple[Callable[[str], Iterator[Decoded]], ...] = (
    _digit_codes, _rkm_ohms, _eia_96, _capacitor_digits, _rkm_farads, _dielectrics,
)  # fmt: skip
