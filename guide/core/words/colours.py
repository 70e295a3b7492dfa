"""Resistor colour bands (IEC 60062): three to six bands, read from either end where both are preferred values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from guide.core.words.series import first_series

DIGITS: Mapping[str, int] = {
    "black": 0, "brown": 1, "red": 2, "orange": 3, "yellow": 4, "green": 5, "blue": 6, "violet": 7, "grey": 8,
    "white": 9,
}  # fmt: skip
_POWERS: Mapping[str, int] = {**DIGITS, "gold": -1, "silver": -2, "pink": -3}
# The grey band: 0.01 % is recalled of the 2016 edition; charts of older editions give 0.05 %.
_TOLERANCES: Mapping[str, float] = {
    "brown": 1, "red": 2, "orange": 0.05, "yellow": 0.02, "green": 0.5, "blue": 0.25, "violet": 0.1, "grey": 0.01,
    "gold": 5, "silver": 10,
}  # fmt: skip
_PPM_PER_K: Mapping[str, int] = {
    "black": 250, "brown": 100, "red": 50, "orange": 15, "yellow": 25, "green": 20, "blue": 10, "violet": 5, "grey": 1,
}  # fmt: skip
_OTHER_NAMES = {"purple": "violet", "gray": "grey"}
_NO_BAND_TOLERANCE = 20.0


class Bands(NamedTuple):
    """A resistor read from its bands: ohms, tolerance in percent, drift in ppm/K if banded, and whether from the far
    end."""

    ohms: float
    tolerance: float
    ppm_per_k: int | None
    reversed: bool


def bands_in(words: Sequence[str]) -> tuple[str, ...]:
    """Return `words` as the standard's colour names, empty where any of them is no colour."""
    named = tuple(_OTHER_NAMES.get(w, w) for w in words)
    return named if named and all(n in _POWERS for n in named) else ()


def read_bands(bands: Sequence[str]) -> tuple[Bands, ...]:
    """Return the readings of three to six bands, as given first. The other end counts only where it is a preferred
    value too; a band that cannot start a value (gold, silver, a leading black) shows which end is which."""
    forward = _read(bands)
    backward = _read(bands[::-1])
    found = [forward] if forward else []
    if backward and (not forward or (backward.ohms != forward.ohms and first_series(backward.ohms))):
        found.append(backward._replace(reversed=True))
    return tuple(found)


def _read(bands: Sequence[str]) -> Bands | None:
    return next(_readings(bands), None)


def _readings(bands: Sequence[str]) -> Iterator[Bands]:
    if not 3 <= len(bands) <= 6:
        return
    figures = 2 if len(bands) <= 4 else 3
    digits, power, rest = bands[:figures], bands[figures], bands[figures + 1 :]
    if any(d not in DIGITS for d in digits) or (digits[0] == "black" and len(bands) > 3):
        return
    if (rest and rest[0] not in _TOLERANCES) or (len(rest) > 1 and rest[1] not in _PPM_PER_K):
        return
    number = "".join(str(DIGITS[d]) for d in digits)
    tolerance = float(_TOLERANCES[rest[0]]) if rest else _NO_BAND_TOLERANCE
    drift = _PPM_PER_K[rest[1]] if len(rest) > 1 else None
    yield Bands(float(f"{number}e{_POWERS[power]}"), tolerance, drift, reversed=False)
