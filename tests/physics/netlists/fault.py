"""What is wrong with a board: parts cut, shorted, of another value, or two nodes bridged."""

from __future__ import annotations

from dataclasses import dataclass

from tests.physics.netlists.spice import Circuit


@dataclass(frozen=True)
class Fault:
    """`cut` parts are opened; `shorts`, `values` and `bridges` give ohms; `marks` are read by the section's builder."""

    cause: str
    part: str
    kind: str
    cut: tuple[str, ...] = ()
    shorts: tuple[tuple[str, float], ...] = ()
    values: tuple[tuple[str, float], ...] = ()
    bridges: tuple[tuple[str, str, float], ...] = ()
    marks: tuple[str, ...] = ()

    def act(self, circuit: Circuit) -> None:
        for name in self.cut:
            circuit.opened(name)
        for name, ohm in self.shorts:
            circuit.shorted(name, ohm)
        for name, ohm in self.values:
            circuit.parts[name][3] = circuit.near(ohm, 0.02)
        for a, b, ohm in self.bridges:
            circuit.bridged(a, b, ohm)
