"""What ties a tree to a section: which probe a point is, what a look would show, which faults a cause names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from guide.core.bands import limits
from guide.core.reading import Band
from guide.core.tree import AS_FOUND, NONE, OTHER, Tree
from tests.physics.boards import Board, Section, section

FOLDER = Path(__file__).parent / "maps"
DEFAULT = "default"
KEYS = frozenset(
    {"tree", "section", "faults", "points", "off", "on", "causes", "looks", "history", "worked", "not_here", "cannot"}
)


@dataclass(frozen=True)
class Worked:
    """A question answered from a reading and what is known of the board, such as a label: bands of that reading."""

    red: str
    black: str
    mode: str
    state: str
    bands: tuple[Band, ...]

    def band(self, board: Board) -> str:
        """Return the band of what the meter shows on `board`."""
        value = board.value(self.red, self.black, self.mode, self.state)
        return next(b.name for b in self.bands if _within(b, value))


def _within(band: Band, value: float | None) -> bool:
    if value is None:
        return band.over_range
    return (band.low is None or band.low <= value) and (band.high is None or value < band.high)


@dataclass(frozen=True)
class Map:
    """One tree on one section.

    `looks` gives, for a check answered with eyes or hands, the band by fault, `default` for faults not named.
    `history` gives the answer to what was asked about the past; it is the same for every fault, so it tells nothing.
    `worked` ties a question to the reading it is answered from. `cannot` lists checks that the stored boards have no
    readings for (a part lifted). `off` and `on` give the state of the board for a setup. A fault under no cause is one
    the tree should call `other`.
    `faults` are those the tree is tried on: all of the section, unless the map lists those of the tree's own part.
    """

    name: str
    tree: str
    section: Section
    points: Mapping[str, str]
    off: Mapping[str, str]
    on: Mapping[str, str]
    causes: Mapping[str, tuple[str, ...]]
    looks: Mapping[str, Mapping[str, str]]
    history: Mapping[str, str]
    worked: Mapping[str, Worked]
    not_here: tuple[str, ...]
    cannot: tuple[str, ...]
    faults: tuple[str, ...]

    def state(self, setup: str, *, live: bool) -> str | None:
        return (self.on if live else self.off).get(setup)

    def seen(self, check: str, fault: str) -> str | None:
        """Return the band a look at a board with `fault` gives; None where the map says nothing."""
        if check in self.history:
            return self.history[check]
        bands = self.looks.get(check, {})
        return bands.get(fault, bands.get(DEFAULT))

    def causes_of(self, fault: str) -> frozenset[str]:
        """Return the causes that are right for `fault`: those that list it or one no reading separates from it."""
        alike = self.section.alike(fault)
        found = {cause for cause, faults in self.causes.items() if alike & set(faults)}
        if NONE in alike:
            found.add(NONE)
        return frozenset(found) or frozenset({OTHER})

    def simulated(self, cause: str) -> bool:
        """Tell whether any board of the section has this cause."""
        return cause == NONE or bool(self.causes.get(cause))


def load(name: str) -> Map:
    """Return the map called `name`. Every scalar is text. Raises AssertionError for a key it does not know."""
    data = yaml.load((FOLDER / f"{name}.yaml").read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    assert set(data) <= KEYS, f"{name}: unknown keys {sorted(set(data) - KEYS)}"
    board = section(data["section"])
    return Map(
        name,
        data["tree"],
        board,
        data["points"],
        data.get("off") or {AS_FOUND: AS_FOUND},
        data.get("on") or {},
        {cause: tuple(faults) for cause, faults in data["causes"].items()},
        data.get("looks") or {},
        data.get("history") or {},
        {check: _worked(row) for check, row in (data.get("worked") or {}).items()},
        tuple(data.get("not_here") or ()),
        tuple(data.get("cannot") or ()),
        tuple(data.get("faults") or board.faults),
    )


def _worked(row: Mapping[str, Any]) -> Worked:
    bands = tuple(limits(words).band(name) for name, words in row["bands"].items())
    return Worked(row["red"], row["black"], row["mode"], row["state"], bands)


def names() -> list[str]:
    return sorted(p.stem for p in FOLDER.glob("*.yaml"))


def mistakes(tied: Map, tree: Tree) -> list[str]:
    """Return what does not fit between the map, its section and its tree; a map must leave nothing unsaid."""
    faults, bands = set(tied.section.faults), {c.id: {b.name for b in c.bands} for c in tree.asked()}
    worded = [c.id for c in tree.asked() if not c.measure.takes_a_reading and c.id not in tied.cannot]
    found = [f"cause {c} is not in the tree" for c in tied.causes if c not in tree.causes]
    found += [f"{c}: no fault {f}" for c, fs in tied.causes.items() for f in fs if f not in faults]
    found += [f"faults: no fault {f}" for f in tied.faults if f not in faults]
    found += [f"point {p} is not in the tree" for p in (*tied.points, *tied.not_here) if p not in tree.points]
    found += [f"point {p}: no probe {q}" for p, q in tied.points.items() if q not in tied.section.probes]
    found += [f"point {p} is neither tied nor listed in not_here" for p in tree.points
              if p not in tied.points and p not in tied.not_here and p != "supply"]  # fmt: skip
    found += [f"cannot: no check {c}" for c in tied.cannot if c not in bands]
    answered = {*tied.looks, *tied.history, *tied.worked}
    found += [f"{c} has no answer" for c in worded if c not in answered]
    found += [f"worked: no question {c}" for c in tied.worked if c not in worded]
    found += [
        f"{c}: no band {b.name}" for c, w in tied.worked.items() for b in w.bands if b.name not in bands.get(c, ())
    ]
    told: dict[str, list[Any]] = {c: list(row.items()) for c, row in tied.looks.items()}
    told |= {c: [(DEFAULT, band)] for c, band in tied.history.items()}
    for check, rows in told.items():
        found += [f"{check}: no check, or one that takes a reading"] if check not in worded else []
        found += [f"{check}: no fault {f}" for f, _ in rows if f not in faults and f != DEFAULT]
        found += [f"{check}: no band {b}" for _, b in rows if b not in bands.get(check, ())]
        found += [f"{check}: no default"] if DEFAULT not in dict(rows) else []
    return found
