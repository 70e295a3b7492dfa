"""The store: one row an event, nothing ever edited.

Rows: `trees(sha256, id, text)` pins every tree a job began with; `jobs` is a summary kept in the same transaction as
the events it sums up; `events(job, seq, kind, v, at, body)` is the truth.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from guide.core.errors import StoreError, UnknownJob
from guide.core.jobs import events as ev
from guide.core.jobs.coding import from_json, to_json
from guide.core.tree import OTHER
from guide.edge.jobs import locking
from guide.edge.jobs.database import Database

EVERY = -1  # SQLite's word for no limit
BATCH = 200  # events decoded at a time: what the next ones are made of is still in the processor's cache


@dataclass(frozen=True, slots=True)
class Summary:
    """One line of `guide jobs`. `state` is open, aside or closed; times are ISO 8601 in UTC."""

    id: str
    tree: str
    device: str
    symptom: str
    state: str
    answers: int
    waits_for: str
    until: str
    outcome: str
    began: str
    touched: str


class Store:
    """All jobs of one bench. Raises StoreError with one clear line where the disk or the file will not do."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self._db = Database(home)
        self.path = self._db.path

    def close(self) -> None:
        self._db.close()

    @contextlib.contextmanager
    def at_once(self) -> Iterator[None]:
        """Make all that is written in the block one transaction: on disk as a whole when it ends, or not at all."""
        with self._db.writing():
            yield

    def begin(self, tree: str, sha256: str, text: str, *, at: str, device: str = "", symptom: str = "") -> str:
        """Keep the tree's text, make a job and return its id. Its first events follow with `append`."""
        with self._db.writing() as db:
            db.execute("INSERT OR IGNORE INTO trees VALUES (?, ?, ?)", (sha256, tree, text))
            cursor = db.execute(
                "INSERT INTO jobs (tree, tree_sha256, device, symptom, state, answers, began, touched)"
                " VALUES (?, ?, ?, ?, 'open', 0, ?, ?)",
                (tree, sha256, device, symptom, at, at),
            )
            return str(cursor.lastrowid)

    def keep_tree(self, tree: str, sha256: str, text: str) -> None:
        """Keep another version of a tree's text, before a job adopts it."""
        with self._db.writing() as db:
            db.execute("INSERT OR IGNORE INTO trees VALUES (?, ?, ?)", (sha256, tree, text))

    def append(self, job: str, recorded: Iterable[ev.Recorded], *, answers: int) -> None:
        """Append events in one transaction; on return they are on disk.

        Raises JobOpenElsewhere where another process has written the same place, StoreError where the disk will not.
        """
        told = [(r, to_json(r.event)) for r in recorded]
        if not told:
            return
        rows = [(int(job), r.seq, r.event.kind, r.event.v, r.at, _dump(body)) for r, body in told]
        with self._db.writing() as db:
            db.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?)", rows)
            db.execute("UPDATE jobs SET answers = ?, touched = ? WHERE id = ?", (answers, rows[-1][4], int(job)))
            for r, body in told:
                self._sum_up(db, job, r.event.kind, body)

    def _sum_up(self, db: sqlite3.Connection, job: str, kind: str, body: dict[str, Any]) -> None:
        change: tuple[str, tuple[str, ...]]
        match kind:
            case "held":
                change = ("state = 'aside', waits_for = ?, until = ?", (body["reason"], body["until"]))
            case "resumed" | "check_asked" | "caution_given":
                change = ("state = 'open', waits_for = ?, until = ?", ("", ""))
            case "closed":
                change = ("state = 'closed', waits_for = '', until = '', outcome = ?", (_outcome(body),))
            case "outcome_set":
                change = ("outcome = ?", (_outcome(body),))
            case "tree_adopted":
                change = ("tree_sha256 = ?", (body["new_sha256"],))
            case "facts_noted" if body["facts"].get("device"):
                change = ("device = ?", (body["facts"]["device"],))
            case _:
                return
        db.execute(f"UPDATE jobs SET {change[0]} WHERE id = ?", (*change[1], int(job)))

    def events(self, job: str) -> tuple[ev.Recorded, ...]:
        """Return every event of `job` in order. Raises UnknownJob."""
        found: list[ev.Recorded] = []
        for rows in self._db.batches(
            "SELECT seq, at, kind, v, body FROM events WHERE job = ? ORDER BY seq", (self._number(job),), size=BATCH
        ):
            found += self._recorded(rows)
        if not found:
            self.summary(job)
        return tuple(found)

    def _recorded(self, rows: Sequence[Any]) -> Iterator[ev.Recorded]:
        bodies = self._bodies([row[4] for row in rows])
        if not all(_is_time(at) for at in {row[1] for row in rows}):
            raise self._damaged()
        for (seq, at, kind, v, _), body in zip(rows, bodies, strict=True):
            yield ev.Recorded(seq, at, from_json(kind, v, body))

    def times(self, job: str, places: Iterable[int]) -> dict[int, str]:
        """Return when the events at `places` were recorded, without reading what they say."""
        marks = json.dumps(list(places))
        rows = self._db.reading(
            "SELECT seq, at FROM events WHERE job = ? AND seq IN (SELECT value FROM json_each(?))",
            (self._number(job), marks),
        )
        return dict(rows)

    def _bodies(self, texts: Sequence[str]) -> list[Any]:
        """Return the bodies out of their JSON, together: half the time of one by one on a long job."""
        try:
            bodies: list[Any] = json.loads(f"[{','.join(texts)}]")
            if len(bodies) == len(texts):
                return bodies
        except (ValueError, RecursionError) as error:
            raise self._damaged() from error
        raise self._damaged()

    def _damaged(self) -> StoreError:
        return StoreError(f"{self.path}: the job holds an event that is damaged; put a copy of the store back")

    def tree_of(self, job: str) -> tuple[str, str, str]:
        """Return (tree id, sha256, text) that `job` is pinned to. Raises UnknownJob."""
        rows = self._db.reading(
            "SELECT trees.id, sha256, text FROM jobs JOIN trees ON sha256 = tree_sha256 WHERE jobs.id = ?",
            (self._number(job),),
        )
        if not rows:
            raise UnknownJob(f"there is no job {job}; see `guide jobs`")
        tree_id, sha256, text = rows[0]
        return str(tree_id), str(sha256), str(text)

    def summary(self, job: str) -> Summary:
        """Return the summary of one job. Raises UnknownJob."""
        found = self._summaries("WHERE id = ?", (self._number(job),))
        if not found:
            raise UnknownJob(f"there is no job {job}; see `guide jobs`")
        return found[0]

    def jobs(self, *states: str, limit: int = 200) -> list[Summary]:
        """Return the newest `limit` jobs in `states` (all where none is named), newest first."""
        marks = ",".join("?" * len(states))
        where = f"WHERE state IN ({marks})" if states else ""
        return self._summaries(f"{where} ORDER BY id DESC LIMIT ?", (*states, limit))

    def matching(self, words: Sequence[str]) -> list[Summary]:
        """Return the jobs in which every one of `words` occurs, newest first: in what `jobs` lists, in what was told at
        the counter (the label for the customer too), or in a note."""
        told = self._told()
        wanted = [word.casefold() for word in words]
        return [job for job in self.jobs(limit=EVERY) if _holds(job, told.get(job.id, ""), wanted)]

    def _told(self) -> dict[str, str]:
        """The words of each job that its summary does not have."""
        told: dict[str, str] = {}
        for job, body in self._db.reading("SELECT job, body FROM events WHERE kind IN ('facts_noted', 'note_added')"):
            kept = json.loads(body)
            told[str(job)] = " ".join((told.get(str(job), ""), *kept.get("facts", {}).values(), kept.get("text", "")))
        return told

    def keep_lesson(self, job: str, tree: str, model: str, body: Mapping[str, Any] | None) -> None:
        """Keep what a closed job teaches, in place of what it taught before; None takes it away.

        A cache of what the events say, so that a new job need not read every old one.
        """
        with self._db.writing() as db:
            db.execute("DELETE FROM lessons WHERE job = ?", (int(job),))
            if body is not None:
                db.execute("INSERT INTO lessons VALUES (?, ?, ?, ?)", (int(job), tree, model.casefold(), _dump(body)))

    def lessons(self, tree: str, *, limit: int = 500) -> list[tuple[str, str, dict[str, Any]]]:
        """Return (job, model, body) of the newest `limit` lessons on `tree`."""
        rows = self._db.reading(
            "SELECT job, model, body FROM lessons WHERE tree = ? ORDER BY job DESC LIMIT ?", (tree, limit)
        )
        return [(str(job), model, json.loads(body)) for job, model, body in rows]

    def delete(self, job: str) -> None:
        """Remove a job and all it taught; its bytes are overwritten. Raises UnknownJob."""
        number = self._number(job)
        self.summary(job)
        self._db.reading("PRAGMA secure_delete = ON")
        with self._db.writing() as db:
            for table in ("events", "lessons"):
                db.execute(f"DELETE FROM {table} WHERE job = ?", (number,))
            db.execute("DELETE FROM jobs WHERE id = ?", (number,))
            db.execute("DELETE FROM trees WHERE sha256 NOT IN (SELECT tree_sha256 FROM jobs)")
        self._db.reading("PRAGMA wal_checkpoint(TRUNCATE)")

    def count(self) -> int:
        return int(self._db.reading("SELECT count(*) FROM jobs")[0][0])

    def _summaries(self, tail: str, parameters: Sequence[Any]) -> list[Summary]:
        columns = "id, tree, device, symptom, state, answers, waits_for, until, outcome, began, touched"
        return [Summary(str(r[0]), *r[1:]) for r in self._db.reading(f"SELECT {columns} FROM jobs {tail}", parameters)]

    @staticmethod
    def _number(job: str) -> int:
        if not job.isascii() or not job.isdigit() or len(job) > 15:
            raise UnknownJob(f"there is no job {job[:40]!r}; a job is a number, see `guide jobs`")
        return int(job)

    @contextlib.contextmanager
    def hold(self, job: str) -> Iterator[None]:
        """Keep `job` to this process until the block ends or the process dies. Raises JobOpenElsewhere."""
        with locking.held(self.home / "locks", self._number(job)):
            yield


def _is_time(at: str) -> bool:
    try:
        return datetime.fromisoformat(at).utcoffset() is not None
    except ValueError:
        return False


def _holds(job: Summary, told: str, wanted: Iterable[str]) -> bool:
    listed = (job.id, job.tree, job.device, job.symptom, job.state, job.waits_for, job.until, job.outcome)
    text = " ".join((*listed, job.began[:10], job.touched[:10], told)).casefold()
    return all(word in text for word in wanted)


def _dump(body: Mapping[str, Any]) -> str:
    return json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _outcome(body: Mapping[str, Any]) -> str:
    """Return what a job was, for the list: its cause, with the technician's words where the tree does not have it."""
    cause, note = str(body["cause"]), str(body.get("note", ""))
    return f"{cause}: {note}" if cause == OTHER and note else cause
