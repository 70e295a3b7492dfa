"""Make the compact tables from full ones: python -m tests.physics.make_tables FOLDER [SECTION ...]

A full table holds, for every fault of a simulated board section, every pair of probes in every mode and state, for the
nominal board and five boards with their own tolerances and meter error. The compact one keeps the five boards, the
names, and which faults no reading separates; pairs are implied by their order, and OL is null.
"""

from __future__ import annotations

import gzip
import json
import sys
from pathlib import Path
from typing import Any

from tests.physics.boards import FOLDER, MODES, UNITS, ordered_pairs, unordered_pairs


def compact(full: dict[str, Any]) -> dict[str, Any]:
    """Return the compact form of a full table; raises KeyError where it lacks a pair of probes."""
    return {
        "section": full["section"],
        "title": full["title"],
        "parts": full["parts"],
        "probes": full["probes"],
        "off": full["unpowered_states"],
        "on": full["powered_states"],
        "help": full["state_help"],
        "faults": {f: {**about, "alike": full["ambiguous"].get(f, [])} for f, about in full["faults"].items()},
        "readings": {f: _columns(full, rows) for f, rows in full["readings"].items()},
    }


def _columns(full: dict[str, Any], rows: list[Any]) -> dict[str, list[list[float | None]]]:
    """Return `mode state` -> for each unit the readings in the order of the pairs."""
    at = {(a, b, mode, state): repeats for a, b, mode, _, state, _, repeats in rows}
    found = {}
    for mode, live in MODES.items():
        for state in full["powered_states" if live else "unpowered_states"]:
            keys = [(a, b, mode, state) for a, b in pairs_of(mode, full["probes"])]
            found[f"{mode} {state}"] = [[None if at[k][u] == "OL" else at[k][u] for k in keys] for u in range(UNITS)]
    return found


def pairs_of(mode: str, probes: list[str]) -> list[tuple[str, str]]:
    """Return the pairs a mode is stored for: both polarities where they differ."""
    if mode == "supply_current":
        return [("SUPPLY", "SUPPLY")]
    return ordered_pairs(probes) if mode in ("diode", "ohms") else unordered_pairs(probes)


def main(folder: Path, sections: list[str]) -> None:
    for path in sorted(folder.glob("*.json")):
        if sections and path.stem not in sections:
            continue
        body = json.dumps(compact(json.loads(path.read_text(encoding="utf-8"))), separators=(",", ":"))
        to = FOLDER / f"{path.stem}.json.gz"
        to.write_bytes(gzip.compress(body.encode(), 9, mtime=0))
        print(f"{to.name}: {to.stat().st_size} bytes")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
