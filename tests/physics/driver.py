"""A technician with a virtual meter at the other end of the JSON-lines contract.

Nothing but the messages is used: what is asked, its points, setup and listed answers. The fault is known to the board
and, for looks, to the eye; never to the one who answers otherwise.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path
from typing import Any

from guide import app
from guide.commands.jsonlines import serve
from guide.core.tree import CANT_SEE, Tree
from guide.edge.jobs.store import Store
from tests.physics.boards import MODE_OF, MODES, Board, NotOnThisBoard
from tests.physics.maps import Map

CANT_REACH = "can't reach"
SKIP = "skip"
LONGEST = 200  # questions; a tree that asks more goes in circles
AT = "2026-01-05T09:00:00+00:00"


class Sight(Enum):
    """Whether looks are answered as the fault would look, or never."""

    SEES = "looks answered"
    BLIND = "looks not seen"


@dataclass
class Bench:
    """One board, one technician. `told` keeps every message; `answers` what was said to which check."""

    board: Board
    tied: Map
    sight: Sight
    told: list[dict[str, Any]] = field(default_factory=list)
    answers: list[tuple[str, str]] = field(default_factory=list)
    power: str = "unknown"

    def hears(self, line: str) -> None:
        message = json.loads(line)
        assert message["type"] not in ("error", "unclear"), f"{message}, after {self.answers[-1:]}"
        self.told.append(message)

    @property
    def verdict(self) -> dict[str, Any] | None:
        return next((m for m in self.told if m["type"] == "verdict"), None)

    def says(self) -> Iterator[str]:
        """Answer the last message until there is a verdict."""
        while self.verdict is None:
            assert len(self.answers) < LONGEST, "the tree asks without end"
            yield self.answer(self.told[-1])

    def answer(self, message: Mapping[str, Any]) -> str:
        if message["type"] == "caution":
            self.power = message["power"]
            return self._word(message, message["answers"][0])
        assert message["type"] == "ask", f"nothing to answer to {message}"
        if message["check"] in self.tied.cannot:
            return CANT_REACH
        said = self._look(message) if message["measure"] in ("look", "ask") else self._read(message)
        self.answers.append((message["check"], said))
        return said

    def _look(self, message: Mapping[str, Any]) -> str:
        check, history = message["check"], message["check"] in self.tied.history
        if check in self.tied.worked:
            return self._word(message, self.tied.worked[check].band(self.board))
        if self.sight is Sight.BLIND and message["measure"] == "look":
            return self._word(message, CANT_SEE)
        if self.sight is Sight.BLIND and not history:
            return SKIP
        seen = self.tied.seen(check, self.board.fault)
        assert seen is not None, f"the map does not say what {check} shows"
        return self._word(message, seen)

    def _read(self, message: Mapping[str, Any]) -> str:
        mode = MODE_OF.get(message["measure"])
        points = [self.tied.points.get(message[lead] or "", "") for lead in ("red", "black")]
        state = self.tied.state(message["setup"], live=bool(mode and MODES[mode]))
        if mode is None or state is None or (mode != "supply_current" and "" in points):
            return CANT_REACH
        wanted = "on" if MODES[mode] else "off"
        assert message["power"] == wanted == self.power, f"{message['check']} with the bench {self.power}"
        try:
            return self.board.display(points[0], points[1], mode, state)
        except NotOnThisBoard:
            return CANT_REACH

    @staticmethod
    def _word(message: Mapping[str, Any], word: str) -> str:
        assert word in message["answers"], f"{word!r} is not among {message['answers']}"
        return word


@contextmanager
def scratch_store() -> Iterator[Store]:
    """A store that is gone afterwards; in memory where the system offers it, for the disk's sync is slow."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        store = Store(Path(folder))
        try:
            yield store
        finally:
            store.close()


def run(store: Store, tree: Tree, text: str, tied: Map, fault: str, unit: int, sight: Sight) -> Bench:
    """Play one job to its verdict through the contract, in this process."""
    bench = Bench(tied.section.board(fault, unit), tied, sight)
    session, first = app.begin(store, tree, text, clock=lambda: AT)
    serve(session, first, bench.says(), bench.hears)
    return bench


def run_outside(tied: Map, fault: str, unit: int, sight: Sight, home: Path) -> Bench:
    """Play one job against `python -m guide begin --tree ID --jsonl` in a process of its own."""
    bench = Bench(tied.section.board(fault, unit), tied, sight)
    command = [sys.executable, "-m", "guide", "begin", "--tree", tied.tree, "--jsonl"]
    environment = {**os.environ, "GUIDE_HOME": str(home), "PYTHONPATH": str(Path(app.__file__).parents[1])}
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment) as guide:
        assert guide.stdin is not None
        assert guide.stdout is not None
        for line in guide.stdout:
            bench.hears(line)
            if bench.verdict is None and "answers" in bench.told[-1]:
                guide.stdin.write(bench.answer(bench.told[-1]) + "\n")
                guide.stdin.flush()
            elif bench.verdict is not None and not guide.stdin.closed:
                guide.stdin.close()
    assert guide.returncode == 0, f"the program ended with {guide.returncode}"
    return bench
