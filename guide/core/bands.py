"""The words a tree writes bands in: `below 54 ohm`, `54 ohm to 66 ohm`, `132 ohm and up or OL`, `OL`.

Words, because `>` starts a block in YAML and nobody says it. Every edge carries its unit, so an edge can be
read, copied and checked by itself.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from guide.core.quantity import PREFIXES, Quantity, Unit
from guide.core.reading import Band

OL = "OL"
HOW = "write `below X`, `X to Y`, `X and up`, with `or OL` added, or `OL` alone"
_EXPONENTS = {"M": 6, "k": 3, "": 0, "m": -3, "u": -6}
_UNITS = "|".join(unit.value for unit in Unit)
# Twelve digits are more than any meter shows, and keep a long row of nines from becoming infinity.
_EDGE = re.compile(rf"(-?[0-9]{{1,12}}(?:\.[0-9]{{1,12}})?) ?([{''.join(PREFIXES)}]?)({_UNITS})")
_LOOSE = re.compile(r"(-?[0-9]{1,12}(?:\.[0-9]{1,12})?) ?([A-Za-z]{1,6})")


class BadBand(ValueError):
    """Words that are no band. `str()` says what is wrong and what to write."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A band without its name: [low, high), None for no limit on that side, and whether OL belongs to it."""

    low: Quantity | None = None
    high: Quantity | None = None
    over_range: bool = False

    @property
    def units(self) -> frozenset[Unit]:
        """The units its edges are written in; more than one is an author's mistake."""
        return frozenset(edge.unit for edge in (self.low, self.high) if edge)

    def band(self, name: str) -> Band:
        low, high = (edge.value if edge else None for edge in (self.low, self.high))
        return Band(name, low, high, self.over_range)


def limits(text: str) -> Limits:
    """Return the limits `text` writes, in base units. Raises BadBand.

    The lower edge belongs to the band and the upper does not, so an edge has one home.
    """
    words = " ".join(text.split())
    if words == OL:
        return Limits(over_range=True)
    head, over_range = (words[: -len(" or OL")], True) if words.endswith(" or OL") else (words, False)
    if head.startswith("below "):
        return Limits(None, edge(head.removeprefix("below ")), over_range)
    if head.endswith(" and up"):
        return Limits(edge(head.removesuffix(" and up")), None, over_range)
    low, to, high = head.partition(" to ")
    if not to:
        raise BadBand(f"`{_short(text)}` is no band; {HOW}")
    found = Limits(edge(low), edge(high), over_range)
    if found.low and found.high and found.low.value >= found.high.value:
        raise BadBand(f"`{_short(text)}` does not rise; put the lower edge first")
    return found


def edge(text: str) -> Quantity:
    """Return the quantity `text` writes (`54 ohm`, `1.2 kohm`, `-50 mV`). Raises BadBand.

    The value is the double nearest to the decimal as written, so `50 mV` and `0.05 V` are one edge.
    """
    found = _EDGE.fullmatch(text)
    if found is None:
        units = ", ".join(unit.value for unit in Unit)
        way = _meant(text) or f"write a number and a unit ({units}), as in `1.2 kohm`"
        raise BadBand(f"`{_short(text)}` is no quantity; {way}")
    digits, prefix, unit = found.groups()
    return Quantity(float(f"{digits}e{_EXPONENTS[prefix]}"), Unit(unit))


def _meant(text: str) -> str:
    """Return the remedy where only the decimal sign or the case of the unit is wrong; empty for anything else.

    `mohm` and `Mohm` are a thousand million apart, so the prefix is taken as it stands; only `K` can be but `k`.
    """
    found = _LOOSE.fullmatch(text.replace(",", "."))
    if found is None:
        return ""
    letters = found[2].replace("K", "k", 1) if found[2].startswith("K") else found[2]
    spelt = (f"{p}{u.value}" for p in _EXPONENTS for u in Unit if letters.startswith(p))
    named = next((s for s in spelt if s.casefold() == letters.casefold()), "")
    return f"write `{found[1]} {named}`" if named else ""


def written(quantity: Quantity) -> str:
    """Return `quantity` as a tree writes it; `edge` gives the same quantity back for up to twelve digits."""
    size = abs(quantity.value)
    plain = size == 0 or quantity.unit is Unit.CELSIUS
    prefix = "" if plain else next((p for p, factor in PREFIXES.items() if size >= factor), "u")
    scaled = quantity.value / 10.0 ** _EXPONENTS[prefix]
    digits = f"{scaled:.12f}".rstrip("0").rstrip(".")
    return f"{digits} {prefix}{quantity.unit}"


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
