"""A meter on netlists: every pair of probes on a circuit, solved by ngspice, as a table of the harness. Dev only.

The meter: diode mode 1 mA and OL above 2.9 V; ohms in six ranges of 0.42 V at the end; volts into 10 Mohm; 6000
counts, 0.5 % and 2 counts. Direct current at 25 degC: nothing switches or heats.
"""

from __future__ import annotations

import gzip
import json
import random
import re
import subprocess
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import log10
from pathlib import Path

from tests.physics.boards import FOLDER, UNITS, ordered_pairs, unordered_pairs

RANGES = [(6 * 10.0**n, 0.42 / (6 * 10.0**n)) for n in range(2, 8)]  # end in ohm, test current
AMPS = (1e-3, *(amps for _, amps in RANGES))  # diode mode first
DIODE_END, CLAMP = 2.9, 2.6  # the clamp's own junction lifts it past the end
APART = 1e13
POWER_UP = "30m"
COUNTS, SHARE, DIGITS = 6000, 0.005, 2
CONTINUITY_END = 600.0
VOLT_ENDS = (0.06, 0.6, 6.0, 60.0)
AMP_ENDS = (0.06, 0.6, 6.0)
_OPTIONS = ".options gmin=1e-13 abstol=1e-13 reltol=1e-4 itl1=1000"
_VALUE = re.compile(r"^v\(\S+ = (\S+)$", re.MULTILINE)

Netlist = Callable[[str, int, str], str]  # fault, unit, state -> the body of the board, its probes as node names


@dataclass(frozen=True)
class Circuit:
    """One section: `probes` maps the names of points to nodes, ground first; `off` and `on` say what each state is.

    `faults` maps a fault to (cause, kind, part). In a powered state the body holds its supply, whose current is the
    voltage of node `amps`.
    """

    section: str
    title: str
    parts: str
    probes: Mapping[str, str]
    off: Mapping[str, str]
    on: Mapping[str, str]
    faults: Mapping[str, tuple[str, str, str]]
    body: Netlist


def _run(lines: list[str], readings: int, what: str) -> list[float]:
    """Return the numbers ngspice prints, in order. Raises RuntimeError where it prints another count."""
    done = subprocess.run(["ngspice", "-b"], input="\n".join(lines), capture_output=True, text=True, check=False)
    found = [float(v) for v in _VALUE.findall(done.stdout)]
    if len(found) != readings:
        raise RuntimeError(f"{what}: {len(found)} of {readings} values\n{done.stderr[-2000:]}")
    return found


def dead(circuit: Circuit, fault: str, unit: int, state: str, pairs: list[tuple[str, str]]) -> list[list[float]]:
    """Return for each pair the volts at each test current, from one operating point each.

    Leads are resistors, one per probe and side, of which one a side is let through at a time.
    """
    lines = ["* dead board", circuit.body(fault, unit, state), "Im mb mr dc 1m", "Dm mr mc clamp", f"Vm mc mb {CLAMP}"]
    lines.append(".model clamp D(is=1e-16 n=1)")
    for name, at in _nodes(circuit):
        lines += [f"Rr{name} mr {at} {APART:g}", f"Rb{name} mb {at} {APART:g}"]
    lines += [_OPTIONS, ".control"]
    names = {probe: name for probe, (name, _) in zip(circuit.probes, _nodes(circuit), strict=True)}
    for red, black in pairs:
        lines += [f"alter rr{names[red]} = 1m", f"alter rb{names[black]} = 1m"]
        for amps in AMPS:
            lines += [f"alter im dc = {amps:g}", "op", "print v(mr)-v(mb)"]
        lines += [f"alter rr{names[red]} = {APART:g}", f"alter rb{names[black]} = {APART:g}"]
    lines += [".endc", ".end"]
    volts = _run(lines, len(pairs) * len(AMPS), f"{circuit.section} {fault} {unit} {state}")
    return [volts[i : i + len(AMPS)] for i in range(0, len(volts), len(AMPS))]


def live(circuit: Circuit, fault: str, unit: int, state: str) -> dict[str, float]:
    """Return the volts of every probe, and under `amps` the supply current, once the board has powered up.

    A run in time from nothing charged, for a loop has more than one resting point. A meter of 10 Mohm stands from
    every probe to ground.
    """
    lines = ["* live board", circuit.body(fault, unit, state)]
    lines += [f"Rm{name} {at} 0 10meg" for name, at in _nodes(circuit) if at != "0"]
    lines += [_OPTIONS, ".control", f"tran 20u {POWER_UP} uic", "let last = length(time) - 1"]
    lines += [f"print v({at})[last]" for _, at in _nodes(circuit) if at != "0"]
    lines += ["print v(amps)[last]", ".endc", ".end"]
    volts = iter(_run(lines, len(circuit.probes), f"{circuit.section} {fault} {unit} {state}"))
    return {probe: 0.0 if at == "0" else next(volts) for probe, at in circuit.probes.items()} | {"amps": next(volts)}


def _nodes(circuit: Circuit) -> list[tuple[str, str]]:
    """A name for the parts at each probe, and its node."""
    return [(f"n{at}", at) for at in circuit.probes.values()]


def _shown(value: float, ends: tuple[float, ...], draw: random.Random, *, signed: bool = True) -> float | None:
    """Return what the display shows: range by size, meter error, whole counts. None for OL."""
    end = next((e for e in ends if abs(value) <= e), None)
    if end is None:
        return None
    digit = 10.0 ** round(log10(end / COUNTS))
    value *= 1 + draw.uniform(-SHARE, SHARE)
    counts = round(value / digit) + round(draw.uniform(-DIGITS, DIGITS))
    return float(f"{(counts if signed else max(counts, 0)) * digit:.6g}")


def columns(circuit: Circuit, fault: str, unit: int) -> dict[str, list[float | None]]:
    """Return `mode state` -> readings of one board in the order of the pairs."""
    draw = random.Random(f"{circuit.section} {fault} {unit}")
    both, one = (f(list(circuit.probes)) for f in (ordered_pairs, unordered_pairs))
    found: dict[str, list[float | None]] = {}
    for state in circuit.off:
        rows = dead(circuit, fault, unit, state, both)
        found[f"diode {state}"] = [_shown(max(row[0], 0.0), (DIODE_END,), draw, signed=False) for row in rows]
        found[f"ohms {state}"] = [_ohms(row[1:], draw) for row in rows]
        lone = [rows[both.index(pair)][1] / RANGES[0][1] for pair in one]
        found[f"continuity {state}"] = [_shown(max(r, 0.0) + 0.2, (CONTINUITY_END,), draw, signed=False) for r in lone]
    for state in circuit.on:
        volts = live(circuit, fault, unit, state)
        found[f"dcv {state}"] = [_shown(volts[red] - volts[black], VOLT_ENDS, draw) for red, black in one]
        found[f"supply_current {state}"] = [_shown(volts["amps"], AMP_ENDS, draw)]
    return found


def _ohms(volts: list[float], draw: random.Random) -> float | None:
    """Return ohms from the lowest range that holds them, leads of 0.2 ohm with them."""
    for (end, amps), seen in zip(RANGES, volts, strict=True):
        if seen / amps + 0.2 <= end:
            return _shown(max(seen, 0.0) / amps + 0.2, (end,), draw, signed=False)
    return None


def write(circuit: Circuit) -> Path:
    """Solve every fault on every board and write the section's table; returns its path."""
    readings = {}
    for fault in circuit.faults:
        units = [columns(circuit, fault, unit) for unit in range(UNITS)]
        readings[fault] = {key: [u[key] for u in units] for key in units[0]}
    faults = {f: {"cause": c, "kind": k, "part": p, "alike": []} for f, (c, k, p) in circuit.faults.items()}
    table = {
        "section": circuit.section, "title": circuit.title, "parts": circuit.parts, "probes": list(circuit.probes),
        "off": list(circuit.off), "on": list(circuit.on), "help": {**circuit.off, **circuit.on},
        "faults": faults, "readings": readings,
    }  # fmt: skip
    to = FOLDER / f"{circuit.section}.json.gz"
    to.write_bytes(gzip.compress(json.dumps(table, separators=(",", ":")).encode(), 9, mtime=0))
    return to
