"""Make the tables of our own sections: python -m tests.physics.netlists.make [SECTION ...]   (needs ngspice)"""

from __future__ import annotations

import gzip
import json
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from random import Random
from typing import Any
from zlib import crc32

from guide.core.tree import AS_FOUND
from tests.physics.boards import FOLDER, UNITS, ordered_pairs, unordered_pairs
from tests.physics.netlists import (
    audio_output,
    backlight,
    battery_charger,
    can_node,
    ethernet_port,
    fan_driver,
    hdmi_source,
    keypad,
    microcontroller_start,
    relay_driver,
    rs232_port,
    spi_flash,
    spice,
    two_wire_bus,
    usb_c_sink,
)
from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

Columns = dict[str, list[list[float | None]]]
VOLT_ENDS = (0.06, 0.6, 6.0, 60.0, 600.0)
AMP_ENDS = (0.06, 0.6, 6.0)


@dataclass(frozen=True)
class Built:
    """One section: its circuit by state, probes by name, and faults.

    `build` is given None for the dead board as found, else the name of a state of `off` or `on`. `pairs` are those
    stored, each both ways; all where it is empty.
    """

    name: str
    title: str
    parts: str
    build: Callable[[Circuit, str | None, Fault], None]
    ammeter: str
    probes: dict[str, str]
    off: dict[str, str]
    on: dict[str, str]
    faults: dict[str, Fault]
    pairs: tuple[tuple[str, str], ...] = ()


MODULES = (
    usb_c_sink, two_wire_bus, relay_driver, backlight, microcontroller_start, battery_charger, spi_flash,
    rs232_port, keypad, audio_output, fan_driver, can_node, ethernet_port, hdmi_source,
)  # fmt: skip
SECTIONS = {
    m.NAME: Built(
        m.NAME, m.TITLE, m.PARTS, m.build, m.AMMETER, m.PROBES, m.OFF, m.ON, m.FAULTS, getattr(m, "PAIRS", ())
    )
    for m in MODULES
}


def shown(value: float, ends: Iterable[float], error: Random) -> float | None:
    """Return what a 6000-count display shows of `value`: +-(0.5 % + 2 counts), on the lowest range that holds it."""
    for end in ends:
        if abs(value) <= end:
            count = end / 6000
            counts = round((value * error.uniform(0.995, 1.005) + error.uniform(-2, 2) * count) / count)
            return _short(round(counts * count, 9))
    return None


def _short(value: float) -> float:
    """Return a whole number as such, for the sake of the file's size."""
    return int(value) if value.is_integer() else value


def ohms(volts: list[float], error: Random) -> float | None:
    for end, amps, v in zip(spice.OHM_ENDS, spice.OHM_AMPS, volts, strict=True):
        if v / amps <= end:
            read = max(0, shown(v / amps, [end], error) or 0)
            return None if read > spice.OHM_ENDS[-1] else read
    return None


def board(section: Built, fault: str, unit: int) -> Columns:
    """Return one board's columns, `mode state` -> readings in the order of the pairs."""
    seed = crc32(f"{section.name} {fault} {unit}".encode())
    error, names, nodes = Random(seed + 1), list(section.probes), list(section.probes.values())
    some = [*section.pairs]
    ordered = [*some, *((b, a) for a, b in some)] or ordered_pairs(names)
    both = [(names.index(a), names.index(b)) for a, b in ordered]
    one = [(names.index(a), names.index(b)) for a, b in some or unordered_pairs(names)]
    made: Columns = {}
    for state in section.off:
        volts = spice.dead(_circuit(section, fault, seed, None if state == AS_FOUND else state), nodes, both)
        drops = [volts[p][0] for p in both]
        made[f"diode {state}"] = [[None if v > 2.9 else max(0, shown(v, [6.0], error) or 0) for v in drops]]
        made[f"ohms {state}"] = [[ohms(volts[p][1], error) for p in both]]
    for state in section.on:
        levels, amps = spice.live(_circuit(section, fault, seed, state), nodes, section.ammeter, one)
        made[f"dcv {state}"] = [[shown(levels[p], VOLT_ENDS, error) for p in one]]
        made[f"supply_current {state}"] = [[max(0, shown(amps, AMP_ENDS, error) or 0)]]
    return made


def _circuit(section: Built, fault: str, seed: int, state: str | None) -> Circuit:
    circuit = Circuit(Random(seed))
    section.build(circuit, state, section.faults[fault])
    section.faults[fault].act(circuit)
    return circuit


def apart(here: list[float | None], there: list[float | None]) -> bool:
    """Tell whether a reading parts two faults: boards do not overlap, by half of both spreads, 5 counts and 1 %."""
    if None in here or None in there:
        return (set(here) == {None} and None not in there) or (set(there) == {None} and None not in here)
    low, high = sorted(([x for x in v if x is not None] for v in (here, there)), key=min)
    gap = min(high) - max(low)
    spread = max(high) - min(high) + max(low) - min(low)
    size = max(abs(x) for x in (*low, *high))
    return gap > max(0.5 * spread, 0.01 * size, 5e-4)


def alike(readings: dict[str, Columns]) -> dict[str, list[str]]:
    """Return for each fault the others that no reading parts from it."""

    def parted(a: str, b: str) -> bool:
        return any(
            apart(list(here), list(there))
            for key in readings[a]
            for here, there in zip(
                zip(*readings[a][key], strict=True), zip(*readings[b][key], strict=True), strict=True
            )
        )

    return {a: [b for b in readings if b != a and not parted(a, b)] for a in readings}


def table(section: Built) -> dict[str, Any]:
    """Return the compact table of a section, as `boards.section` reads it."""
    jobs = [(fault, unit) for fault in section.faults for unit in range(UNITS)]
    with ThreadPoolExecutor(2) as pool:
        boards = dict(zip(jobs, pool.map(lambda job: board(section, *job), jobs), strict=True))
    readings = {
        f: {key: [boards[f, unit][key][0] for unit in range(UNITS)] for key in boards[f, 0]} for f in section.faults
    }
    same = alike(readings)
    faults = {
        f: {"cause": x.cause, "kind": x.kind, "part": x.part, "alike": same[f]} for f, x in section.faults.items()
    }
    return {
        "section": section.name, "title": section.title, "parts": section.parts, "probes": list(section.probes),
        "off": list(section.off), "on": list(section.on), "help": {**section.off, **section.on}, "faults": faults,
        "readings": readings, **({"pairs": section.pairs} if section.pairs else {}),
    }  # fmt: skip


def main(names: list[str]) -> None:
    for name in names or SECTIONS:
        made = table(SECTIONS[name])
        to = FOLDER / f"{name}.json.gz"
        to.write_bytes(gzip.compress(json.dumps(made, separators=(",", ":")).encode(), 9, mtime=0))
        print(f"{to.name}: {to.stat().st_size} bytes")


if __name__ == "__main__":
    main(sys.argv[1:])
