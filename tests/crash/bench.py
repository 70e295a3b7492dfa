"""A bench that plays a whole job over the JSON-lines contract in a process of its own and dies where it is told to.

The process is a fork that runs the command line as it is; only its standard streams are ours. A kill is SIGKILL: no
handler, no flush, no rollback.
"""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import struct
import sys
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from guide.cli import run
from guide.core.jobs import events as ev
from guide.core.tree import Tree
from guide.edge.fakes import Technician
from guide.edge.jobs.store import Store

Kill = Callable[["Output"], None]


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def at_statement(number: int) -> Kill:
    """Die when SQLite begins its `number`-th statement: before, inside and between transactions."""

    def arm(_: Output) -> None:
        connect, left = sqlite3.connect, [number]

        def counted(statement: str) -> None:
            left[0] -= 1
            if left[0] <= 0:
                die()

        def connected(*arguments: Any, **more: Any) -> sqlite3.Connection:
            db = connect(*arguments, **more)
            db.set_trace_callback(counted)
            return db

        sqlite3.connect = connected

    return arm


def at_byte(number: int) -> Kill:
    """Die when `number` bytes have been printed, in the middle of an object as a rule."""

    def arm(out: Output) -> None:
        out.left = number

    return arm


def never(_: Output) -> None:
    """Live on."""


class Output:
    """Standard output of the process: unbuffered, and counted."""

    encoding = "utf-8"

    def __init__(self, handle: int, heard: Callable[[Mapping[str, Any]], None]) -> None:
        self._handle, self._heard = handle, heard
        self.left: int | None = None

    def write(self, text: str) -> int:
        data = text.encode("utf-8")
        if self.left is not None and len(data) >= self.left:
            os.write(self._handle, data[: self.left])
            die()
        if self.left is not None:
            self.left -= len(data)
        os.write(self._handle, data)
        self._heard(json.loads(text))
        return len(text)

    def flush(self) -> None:
        pass

    def isatty(self) -> bool:
        return False


class Input:
    """Standard input of the process: a technician who answers the last question, by the check and not by the order."""

    def __init__(self, tree: Tree, cause: str, *, repaired: bool) -> None:
        self._tree, self._cause, self._repaired = tree, cause, repaired
        self._last: Mapping[str, Any] = {}

    def heard(self, message: Mapping[str, Any]) -> None:
        if message.get("answers"):
            self._last = message

    def readline(self, _: int = -1) -> str:
        cause = "none" if self._repaired else self._cause
        seed = zlib.crc32(str(self._last.get("check", "")).encode())
        answer = Technician(self._tree, cause, seed=seed).answer(self._last)
        self._repaired = self._repaired or answer == "done"
        return f"{answer}\n"

    def isatty(self) -> bool:
        return False


@dataclass(frozen=True, slots=True)
class Run:
    """One process: every whole object it printed, and whether it was killed."""

    printed: tuple[dict[str, Any], ...]
    killed: bool
    code: int

    def reads(self) -> list[str]:
        return [m["check"] for m in self.printed if m["type"] == "read"]

    def asked(self) -> str:
        """The first thing asked that is no caution and no step."""
        return next((standing(m) for m in self.printed if standing(m)), "")


def standing(message: Mapping[str, Any]) -> str:
    if message["type"] == "ask" and message["measure"] is not None:
        return str(message["check"])
    return str(message["type"]) if message["type"] in ("verdict", "repair") else ""


@dataclass(slots=True)
class Bench:
    """A store, a tree and the fault in hand."""

    home: Path
    tree: Tree
    cause: str
    job: str = ""
    runs: list[Run] = field(default_factory=list)
    torn: int = 0  # kills that left part of a commit in the log

    def go(self, kill: Kill = never) -> Run:
        """Begin the job, or resume it, in a process of its own until it closes or is killed."""
        command = ["resume", self.job, "--jsonl"] if self.job else ["begin", "--tree", self.tree.id, "--jsonl"]
        repaired = bool(self.job) and any(isinstance(e, ev.RepairDone) for e in self.events())
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reader)
            self._live(command, writer, kill, repaired=repaired)
        os.close(writer)
        with os.fdopen(reader, "rb") as output:
            lines = output.read().split(b"\n")
        _, status = os.waitpid(child, 0)
        ran = Run(
            tuple(json.loads(line) for line in lines[:-1]), os.WIFSIGNALED(status), os.waitstatus_to_exitcode(status)
        )
        self.runs.append(ran)
        self.torn += ran.killed and half_a_commit(self.home / "guide.sqlite3-wal")
        return ran

    def _live(self, command: list[str], writer: int, kill: Kill, *, repaired: bool) -> None:
        code = 70
        try:
            os.environ["GUIDE_HOME"] = str(self.home)
            typed = Input(self.tree, self.cause, repaired=repaired)
            out = Output(writer, typed.heard)
            kill(out)
            sys.stdin, sys.stdout = typed, out
            code = run(command)
        finally:
            os._exit(code)

    def stored(self) -> list[ev.Event]:
        """What is on disk, once the file has been checked page by page."""
        if not (self.home / "guide.sqlite3").exists():
            return []
        store = Store(self.home)
        try:
            assert store._db.reading("PRAGMA integrity_check") == [("ok",)]
            assert store._db.reading("PRAGMA foreign_key_check") == []
            newest = store.jobs(limit=2)
            assert [j.id for j in newest] in ([], [self.job or "1"]), "a crash makes no second job"
            self.job = newest[0].id if newest else ""
            return [r.event for r in store.events(self.job)] if self.job else []
        finally:
            store.close()

    def events(self) -> list[ev.Event]:
        store = Store(self.home)
        try:
            return [r.event for r in store.events(self.job)]
        finally:
            store.close()


def half_a_commit(wal: Path) -> bool:
    """Tell whether the log ends in pages whose commit never came (sqlite.org, file format, section 4.1)."""
    log = wal.read_bytes() if wal.exists() else b""
    if len(log) < 32:
        return False
    (page,), salts, last = struct.unpack_from(">I", log, 8), log[16:24], 1
    for at in range(32, len(log) - 24 - page + 1, 24 + page):
        if log[at + 8 : at + 16] != salts:  # left over from before the log was begun anew
            break
        (last,) = struct.unpack_from(">I", log, at + 4)  # the size of the store after a commit, 0 before
    return last == 0


def taken(events: list[ev.Event]) -> list[str]:
    """The checks whose readings count, in order, a mark where the repair was done."""
    kept = [e for e in events if isinstance(e, ev.ReadingTaken | ev.RepairDone)]
    return [e.check if isinstance(e, ev.ReadingTaken) else "*repair*" for e in kept]


def live_through(bench: Bench, kill: Callable[[], Kill], reference: Reference, *, kills: int) -> int:
    """Kill and resume one job up to `kills` times until it is closed, checked after each; return the kills it took."""
    done = 0
    while True:
        before = taken(bench.stored())
        ran = bench.go(kill() if done < kills else never)
        after = bench.stored()
        new = taken(after)[len(before) :]
        reads = [c for c in new if c != "*repair*"]
        assert taken(after)[: len(before)] == before, "what was on disk stays"
        assert reads[: len(ran.reads())] == ran.reads(), "every reading printed is on disk, in its order"
        assert len(reads) <= len(ran.reads()) + 1, "nothing but the reading in hand is there unprinted"
        assert taken(after) == reference.taken[: len(taken(after))], "none twice, none out of turn"
        if before and ran.asked():
            assert ran.asked() in reference.next_after(before), "the next question is the right one"
        done += ran.killed
        assert ran.killed or ran.code == 0
        if after and isinstance(after[-1], ev.Closed):  # it may have died between the commit and the farewell
            assert taken(after) == reference.taken
            return done
        assert ran.killed, "only a kill ends it before its end"


@dataclass(frozen=True, slots=True)
class Reference:
    """The same job with nothing going wrong."""

    taken: list[str]
    asked: list[tuple[int, str]]  # how many readings and repairs there were, and what was asked then
    statements: int
    size: int

    def next_after(self, before: list[str]) -> set[str]:
        return {what for count, what in self.asked if count == len(before)}


def reference(home: Path, tree: Tree, cause: str) -> Reference:
    """Play the job once, uncrashed."""
    bench = Bench(home, tree, cause)
    ran = bench.go()
    assert ran.code == 0, ran
    bench.job = "1"
    asked, count = [], 0
    for message in ran.printed:
        if standing(message):
            asked.append((count, standing(message)))
        count += message["type"] == "read" or (message["type"] == "prove" and "passed" not in message)
    size = sum(len(json.dumps(m, ensure_ascii=False).encode()) + 1 for m in ran.printed)
    return Reference(taken(bench.events()), asked, statements=len(bench.events()) * 4, size=size)
