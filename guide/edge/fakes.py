"""Shipped twins of the edges: a technician and a meter that act out a cause, for the demo and for tests."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from guide.core.meter import HANDHELD, MeterProfile
from guide.core.odds import belief
from guide.core.quantity import Measure
from guide.core.reading import Band
from guide.core.tree import Check, Tree


class Technician:
    """Answers a tree's questions as a bench would where `cause` is the fault; seeded, so always the same.

    Readings are drawn inside the band the tree predicts, well away from its edges, and worded as technicians do.
    After `done` the fault is gone.
    """

    def __init__(self, tree: Tree, cause: str, *, seed: int = 0, meter: MeterProfile = HANDHELD) -> None:
        self._tree, self._cause, self._meter = tree, cause, meter
        self._random = random.Random(seed)
        self._repaired = False

    def answer(self, message: Mapping[str, Any]) -> str:
        """Return what the technician says to a message that waits for an answer."""
        answers = message["answers"]
        match message["type"]:
            case "ask" if message["check"] in self._tree.checks:
                return self._read(self._tree.checks[message["check"]])
            case "ask":
                return str(answers[0])
            case "repair" if "done" in answers:
                self._repaired = True
                return "done"
            case "verdict":
                return "enough"
        return str(answers[0])

    def _read(self, check: Check) -> str:
        cause = "none" if self._repaired else self._cause
        odds = belief.likelihood(self._tree, check, cause)
        name = max(odds, key=lambda band: odds[band])
        band = check.band(name)
        if not check.measure.takes_a_reading:
            return band.words[0] if band.words else band.name
        if band.over_range and band.low is None:
            return "OL"
        return self._worded(check.measure, band)

    def _worded(self, measure: Measure, band: Band) -> str:
        spec = self._meter.spec(measure)
        low = band.low if band.low is not None else 0.0
        high = band.high if band.high is not None else max(low * 1.5, low + 1e-3)
        value = low + (high - low) * self._random.uniform(0.35, 0.65)
        step = spec.resolution_at(value) if spec else 0.001
        decimals = next(d for d in range(7) if round(step * 10**d, 9) >= 1 or d == 6)
        return f"{value:.{decimals}f} {_SAID[measure]}"


_SAID = {
    Measure.DIODE: "volts",
    Measure.OHMS: "ohms",
    Measure.CONTINUITY: "ohms",
    Measure.VOLTS_DC: "volts",
    Measure.VOLTS_AC: "volts",
    Measure.AMPS_DC: "amps",
    Measure.HERTZ: "hertz",
    Measure.CELSIUS: "degrees",
}
