"""Simulated board sections and a meter to read them with. Standard library only.

A table holds what a meter shows on five boards (`unit` 0 to 4: part tolerances and meter error fixed) for every fault:
diode 1 mA, OL above 2.9 V; ohms in six ranges from 600 ohm; continuity to 600 ohm; volts into 10 Mohm; 6000 counts,
±(0.5 % + 2 counts). Solved as circuits at 25 degC, so no heat, ripple or charging.
"""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "tables"
UNITS = 5
MODES = {"diode": False, "ohms": False, "continuity": False, "dcv": True, "supply_current": True}  # read with power on
# The mode that serves each measure of the contract. A steady board has no volts AC, hertz or heat to read.
MODE_OF = {
    "diode": "diode", "ohms": "ohms", "continuity": "continuity", "volts_dc": "dcv", "amps_dc": "supply_current",
}  # fmt: skip
LEADS_OHM = 0.2


class NotOnThisBoard(LookupError):
    """The board has no such point, state or reading; a technician says that it cannot be reached."""


def ordered_pairs(probes: list[str]) -> list[tuple[str, str]]:
    return [(a, b) for a in probes for b in probes if a != b]


def unordered_pairs(probes: list[str]) -> list[tuple[str, str]]:
    return [(a, b) for i, a in enumerate(probes) for b in probes[i + 1 :]]


@dataclass(frozen=True)
class Section:
    """One board section with all its faults."""

    data: dict[str, Any]

    @property
    def probes(self) -> list[str]:
        return self.data["probes"]

    @property
    def faults(self) -> list[str]:
        return list(self.data["faults"])

    def alike(self, fault: str) -> frozenset[str]:
        """Return the faults that no stored reading separates from `fault`, itself among them."""
        return frozenset((fault, *self.data["faults"][fault]["alike"]))

    @cached_property
    def places(self) -> tuple[dict[tuple[str, str], int], dict[tuple[str, str], int]]:
        """Where each ordered and each unordered pair stands in a column; a large section stores some pairs alone."""
        some = [(a, b) for a, b in self.data.get("pairs", ())]
        both = [*some, *((b, a) for a, b in some)] or ordered_pairs(self.probes)
        one = some or unordered_pairs(self.probes)
        return {p: i for i, p in enumerate(both)}, {p: i for i, p in enumerate(one)}

    def board(self, fault: str, unit: int) -> Board:
        return Board(self, fault, unit)


@cache
def section(name: str) -> Section:
    """Return the section whose compact table is called `name`."""
    return Section(json.loads(gzip.decompress((FOLDER / f"{name}.json.gz").read_bytes())))


@dataclass(frozen=True)
class Board:
    """One faulty board with leads on it."""

    section: Section
    fault: str
    unit: int

    def value(self, red: str, black: str, mode: str, state: str) -> float | None:
        """Return what the display shows in SI, None for OL. Raises NotOnThisBoard."""
        column = self.section.data["readings"][self.fault].get(f"{mode} {state}")
        if column is None:
            raise NotOnThisBoard(f"no {mode} in state {state}")
        if mode == "supply_current":
            return column[self.unit][0]
        unknown = [p for p in (red, black) if p not in self.section.probes]
        if unknown:
            raise NotOnThisBoard(f"no point {unknown[0]}")
        if red == black:
            return 0.0 if mode in ("diode", "dcv") else LEADS_OHM
        both, one = self.section.places
        if (red, black) not in both:
            raise NotOnThisBoard(f"no reading from {red} to {black}")
        if mode in ("diode", "ohms"):
            return column[self.unit][both[red, black]]
        swapped = (red, black) not in one
        value = column[self.unit][one[(black, red) if swapped else (red, black)]]
        return -value + 0.0 if swapped and mode == "dcv" and value is not None else value

    def display(self, red: str, black: str, mode: str, state: str) -> str:
        """Return the display with its unit, as a technician types it: `3.02 mV`, `57.40 kohm`, `OL`."""
        value = self.value(red, black, mode, state)
        return "OL" if value is None else shown(value, mode)


# Range end, factor from SI, decimals of the display, unit.
_VOLTS = [(0.06, 1e3, 2, "mV"), (0.6, 1e3, 1, "mV"), (6, 1, 3, "V"), (60, 1, 2, "V"), (600, 1, 1, "V")]
_OHMS = [
    (600, 1, 1, "ohm"), (6e3, 1e-3, 3, "kohm"), (60e3, 1e-3, 2, "kohm"), (600e3, 1e-3, 1, "kohm"),
    (6e6, 1e-6, 3, "Mohm"), (60e6, 1e-6, 2, "Mohm"),
]  # fmt: skip
_RANGES = {
    "diode": [(3, 1, 3, "V")], "continuity": [(600, 1, 1, "ohm")], "ohms": _OHMS, "dcv": _VOLTS,
    "supply_current": [(0.06, 1e3, 2, "mA"), (0.6, 1e3, 1, "mA"), (6, 1, 3, "A")],
}  # fmt: skip


def shown(value: float, mode: str) -> str:
    """Return `value` (SI) as the display writes it on the lowest range that holds it."""
    # Meter error may carry a value a hair over the end of the range it was read on.
    ranges = _RANGES[mode]
    _, factor, decimals, unit = next((r for r in ranges if abs(value) <= r[0]), ranges[-1])
    return f"{value * factor:.{decimals}f} {unit}"
