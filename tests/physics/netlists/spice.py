"""Small DC circuits for ngspice: parts by name, so that a fault can act on them, and a meter swept over all probes.

The meter is that of the tables (README of this folder's parent): two leads of 0.15 ohm together, a current source held
below the open-circuit voltage on diode and ohms, 10 Mohm on volts. One run sweeps every pair of probes and every range,
so ngspice starts once per board and state.
"""

from __future__ import annotations

import math
import re
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

OPEN_OHM = 1e12
LEAD_OHM = 0.075  # each
THERMAL_V = 0.025693  # 298.15 K, exact SI constants
OHM_AMPS = (0.7e-3, 70e-6, 7e-6, 0.7e-6, 70e-9, 7e-9)  # test current of each ohms range
OHM_ENDS = (600.0, 6e3, 60e3, 600e3, 6e6, 60e6)
DIODE_AMPS, DIODE_END = 1e-3, 2.9
# Each is tried when the one before does not converge everywhere.
OPTIONS = (
    "reltol=1e-4 abstol=1e-12 vntol=1e-7 itl1=500 itl2=500 rshunt=1e11",
    "reltol=1e-3 abstol=1e-12 vntol=1e-6 itl1=2000 itl2=2000 gmin=1e-11 rshunt=5e10",
    "reltol=2e-3 abstol=1e-11 vntol=2e-6 itl1=5000 itl2=5000 gmin=5e-11 rshunt=1e10",
)


class NotSolved(RuntimeError):
    """ngspice gave fewer points than were asked for."""


@dataclass
class Circuit:
    """One board with its own part tolerances, drawn from `draw`."""

    draw: Random
    parts: dict[str, list[str | float]] = field(default_factory=dict)  # name -> kind, node, node, values
    lines: list[str] = field(default_factory=list)

    def near(self, value: float, tolerance: float) -> float:
        return value * (1 + tolerance * self.draw.uniform(-1, 1))

    def ohm(self, name: str, a: str, b: str, value: float, *, tolerance: float = 0.01) -> None:
        self.parts[name] = ["R", a, b, self.near(value, tolerance)]

    def joint(self, name: str, a: str, b: str) -> None:
        """A joint, contact or short piece of trace."""
        self.ohm(name, a, b, 0.01, tolerance=0.4)

    def diode(self, name: str, anode: str, cathode: str, drop: float, *, rs: float = 2.0, n: float = 1.1) -> None:
        """A junction by its drop at 1 mA; drops scatter by 9 mV, which is 35 % in current."""
        amps = 1e-3 * math.exp(-(drop - 1e-3 * rs) / (n * THERMAL_V)) * math.exp(self.draw.uniform(-0.35, 0.35))
        self.parts[name] = ["D", anode, cathode, amps, n, rs]

    def pin(self, name: str, node: str, rail: str, *, low: float = 0.62) -> None:
        """A chip pin: clamps to ground and to its rail, and a leak."""
        self.diode(f"{name}_low", "0", node, low, rs=6)
        self.diode(f"{name}_high", node, rail, low + 0.04, rs=6)
        self.ohm(f"{name}_leak", node, "0", 3e7, tolerance=0.4)

    def island(self, name: str, rail: str, *, running_ohm: float | None) -> None:
        """The supply pins of chips: substrate junction, what conducts without power, what is drawn with it."""
        self.diode(f"{name}_substrate", "0", rail, 0.48, rs=1, n=1.0)
        if running_ohm is None:
            self.diode(f"{name}_dead", rail, "0", 0.78, rs=60, n=1.6)
        self.ohm(f"{name}_draw", rail, "0", running_ohm or 6e3, tolerance=0.1)

    def fed(self, name: str, pos: str, neg: str, volts: str, amps: str) -> None:
        """A source of `volts` that gives no more than `amps` and never takes; both are ngspice expressions."""
        self.lines += [
            f"B{name}i {neg} {name}_s I={amps}",
            f"D{name}c {name}_s {name}_t ideal",
            f"B{name}t {name}_t {neg} V={volts}",
            f"D{name}o {name}_s {name}_o ideal",
            f"V{name} {name}_o {pos} 0",
        ]

    def opened(self, name: str) -> None:
        """Cut a part out; a junction is taken away."""
        if self.parts[name][0] == "R":
            self.parts[name][3] = OPEN_OHM
        else:
            del self.parts[name]

    def shorted(self, name: str, ohm: float) -> None:
        _, a, b, *_ = self.parts[name]
        self.bridged(str(a), str(b), ohm)

    def bridged(self, a: str, b: str, ohm: float) -> None:
        self.parts[f"bridge_{a}_{b}"] = ["R", a, b, self.near(ohm, 0.4)]

    def netlist(self) -> list[str]:
        made = [".model ideal D(IS=1e-12 N=0.1)"]
        for name, (kind, a, b, *values) in self.parts.items():
            if kind == "R":
                made.append(f"R{name} {a} {b} {values[0]:.6g}")
            else:
                made.append(f"D{name} {a} {b} m{name}")
                made.append(f".model m{name} D(IS={values[0]:.6g} N={values[1]:.4g} RS={values[2]:.4g})")
        return made + self.lines


Pairs = list[tuple[int, int]]


def _leads(nodes: list[str], pairs: Pairs) -> list[str]:
    """Return the two leads, on the nodes of the `k`th pair, k being swept."""
    ends = (",".join(f"{k},{pair[side]}" for k, pair in enumerate(pairs)) for side in (0, 1))
    made = ["Vk mk 0 0"]
    made += [f"B{at} {at} 0 V=pwl(V(mk),{table})" for at, table in zip(("mred", "mblack"), ends, strict=True)]
    for i, node in enumerate(nodes):
        red, black = f"abs(V(mred)-{i})", f"abs(V(mblack)-{i})"
        made.append(f"Bred{i} mp {node} I=(V(mp)-V({node}))*(({red}<0.5) ? {1 / LEAD_OHM:.6g} : 1e-14)")
        made.append(f"Bblk{i} mn {node} I=(V(mn)-V({node}))*(({black}<0.5) ? {1 / LEAD_OHM:.6g} : 1e-14)")
    return made


def _solved(lines: list[str], sweep: str, wanted: int, *, also: str = "v(mp)") -> list[tuple[float, float]]:
    """Return at each point of the sweep what the meter sees and the value of `also`."""
    for options in OPTIONS:
        text = [
            "* section", f".option temp=25 tnom=25 {options}", *lines,
            ".control", "set numdgt=7", "set nomoremode", "set width=80", "set nobreak", sweep,
            "let x=v(mp)-v(mn)", f"let y={also}", "print x y", "quit", ".endc", ".end",
        ]  # fmt: skip
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "section.cir"
            file.write_text("\n".join(text) + "\n", encoding="utf-8")
            done = subprocess.run(
                ["ngspice", "-b", str(file)], capture_output=True, text=True, timeout=120, check=False
            )
        found = re.findall(r"^\d+\s+\S+\s+(\S+)\s+(\S+)\s*$", done.stdout, re.MULTILINE)
        if len(found) == wanted:
            return [(float(x), float(y)) for x, y in found]
    raise NotSolved(f"{len(found)} of {wanted} points\n{done.stdout[-800:]}\n{done.stderr[-800:]}")


def dead(circuit: Circuit, nodes: list[str], pairs: Pairs) -> dict[tuple[int, int], tuple[float, list[float]]]:
    """Return for each pair of nodes the volts on diode mode and on the six ohms ranges."""
    meter = [
        "Vr mr 0 0", "Bim mn mp I=(V(mr)<0.5) ? 1e-3 : 0.7e-3*10^(1-V(mr))",
        "Bcl mc mn V=(V(mr)<0.5) ? 2.94 : 1.16", "Dcl mp mc ideal", "Rmm mn 0 1e12", "Rmp mp 0 1e12",
    ]  # fmt: skip
    lines = [*circuit.netlist(), *_leads(nodes, pairs), *meter]
    got = [x for x, _ in _solved(lines, f"dc vr 6 0 -1 vk 0 {len(pairs) - 1} 1", 7 * len(pairs))]
    runs = [got[i : i + 7][::-1] for i in range(0, len(got), 7)]
    return {pair: (run[0], run[1:]) for pair, run in zip(pairs, runs, strict=True)}


def live(
    circuit: Circuit, nodes: list[str], ammeter: str, pairs: Pairs
) -> tuple[dict[tuple[int, int], float], float]:
    """Return for each pair the volts into 10 Mohm, and the amps through the source `ammeter`."""
    lines = [*circuit.netlist(), *_leads(nodes, pairs), "Rin mp mn 10meg", "Rmm mn 0 1e12"]
    got = _solved(lines, f"dc vk 0 {len(pairs) - 1} 1", len(pairs), also=f"i(v{ammeter})")
    return {pair: x for pair, (x, _) in zip(pairs, got, strict=True)}, got[0][1]
