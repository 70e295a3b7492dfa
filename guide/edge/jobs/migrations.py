"""The versions of the store: what each one changed, and how an older one becomes the newest, a copy of it kept."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

VERSION = 1
MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE trees (sha256 TEXT PRIMARY KEY, id TEXT NOT NULL, text TEXT NOT NULL) STRICT;
    CREATE TABLE jobs (
      id INTEGER PRIMARY KEY AUTOINCREMENT, tree TEXT NOT NULL, tree_sha256 TEXT NOT NULL REFERENCES trees(sha256),
      device TEXT NOT NULL DEFAULT '', symptom TEXT NOT NULL DEFAULT '', state TEXT NOT NULL, answers INTEGER NOT NULL,
      waits_for TEXT NOT NULL DEFAULT '', until TEXT NOT NULL DEFAULT '', outcome TEXT NOT NULL DEFAULT '',
      began TEXT NOT NULL, touched TEXT NOT NULL) STRICT;
    CREATE INDEX jobs_by_state ON jobs(state, id);
    CREATE TABLE events (
      job INTEGER NOT NULL REFERENCES jobs(id), seq INTEGER NOT NULL, kind TEXT NOT NULL, v INTEGER NOT NULL,
      at TEXT NOT NULL, body TEXT NOT NULL, PRIMARY KEY (job, seq)) STRICT, WITHOUT ROWID;
    CREATE TABLE lessons (
      job INTEGER PRIMARY KEY REFERENCES jobs(id), tree TEXT NOT NULL, model TEXT NOT NULL, body TEXT NOT NULL) STRICT;
    CREATE INDEX lessons_by_tree ON lessons(tree);
    """,
)


def version_of(db: sqlite3.Connection) -> int:
    """Return the version of the store, 0 for an empty file."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def upgrade(db: sqlite3.Connection, path: Path) -> None:
    """Make the store at `path` one of this version in one transaction; what holds jobs already is copied first."""
    db.execute("BEGIN IMMEDIATE")
    try:
        # Read again under the lock: another process may have upgraded in between.
        version = version_of(db)
        if 0 < version < VERSION:
            _back_up(path, version)
        for number in range(version, VERSION):
            for statement in MIGRATIONS[number].split(";"):
                if statement.strip():
                    db.execute(statement)
        db.execute(f"PRAGMA user_version = {VERSION}")
        db.execute("COMMIT")
    except BaseException:
        db.close()  # drops the transaction: the store stays as it was
        raise


def _back_up(path: Path, version: int) -> None:
    """Copy the store beside itself. The caller holds the write lock; a reader of its own sees what was committed.

    The copy gets its name only when it is whole, so a crash in between leaves no half backup that counts as one.
    """
    target = path.with_name(f"guide-v{version}.sqlite3.backup")
    if target.exists():
        return
    draft = target.with_name(f"{target.name}.new")
    os.close(os.open(draft, os.O_CREAT | os.O_TRUNC | os.O_RDWR, 0o600))
    source, copy = sqlite3.connect(path), sqlite3.connect(draft)
    with contextlib.closing(source), contextlib.closing(copy):
        source.backup(copy)
    os.replace(draft, target)
