"""The SQLite file of a home folder: opened private and durable, read and written with one clear line for what fails."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from time import sleep
from typing import Any

from guide.core.errors import JobOpenElsewhere, StoreError, StoreNewer
from guide.edge.jobs import migrations

BUSY_MS = 5000
PAUSE_MS = 10
LOG_BYTES = 1 << 16  # the log's index takes half of it


class Database:
    """One connection. WAL and synchronous FULL, so that what a commit has acknowledged stays."""

    def __init__(self, home: Path) -> None:
        self.path = home / "guide.sqlite3"
        try:
            private_folder(home)
            self.connection = self._open()
        except (OSError, sqlite3.Error, UnicodeDecodeError) as error:
            raise StoreError(f"{self.path}: cannot open the store ({plain(error)}); {advice(error, home)}") from error

    def _open(self) -> sqlite3.Connection:
        if self._can_only_be_read():
            return self._open_to_read()
        if not self.path.exists():
            with contextlib.suppress(FileExistsError):
                os.close(os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        db = sqlite3.connect(self.path, timeout=BUSY_MS / 1000, isolation_level=None)
        try:
            self._made_ready(db)
        except BaseException:
            db.close()
            raise
        return db

    def _can_only_be_read(self) -> bool:
        """Tell whether this is a whole store in a folder nobody can write, such as a copy on a locked medium.

        One whose log still holds what the file does not is not whole, and SQLite cannot bring it in there.
        """
        log = self.path.with_name(f"{self.path.name}-wal")
        whole = self.path.is_file() and not (log.exists() and log.stat().st_size)
        return whole and not os.access(self.path.parent, os.W_OK)

    def _open_to_read(self) -> sqlite3.Connection:
        """Open for lists, reports and exports; what writes ends in one clear line."""
        where = f"{self.path.absolute().as_uri()}?mode=ro&immutable=1"
        db = sqlite3.connect(where, uri=True, isolation_level=None)
        try:
            self._known_version(db, oldest=migrations.VERSION)
        except BaseException:
            db.close()
            raise
        return db

    def _known_version(self, db: sqlite3.Connection, *, oldest: int = 0) -> int:
        version = migrations.version_of(db)
        if version > migrations.VERSION:
            raise StoreNewer(
                f"{self.path}: written by a newer guide (store version {version}, known {migrations.VERSION});"
                " update guide"
            )
        if version < oldest:
            raise StoreError(f"{self.path}: written by an older guide; copy it into a folder that can be written")
        return version

    def _made_ready(self, db: sqlite3.Connection) -> None:
        version = self._known_version(db)
        _keep_a_log(db)
        for pragma in ("synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {BUSY_MS}"):
            db.execute(f"PRAGMA {pragma}")
        if version < migrations.VERSION:
            migrations.upgrade(db, self.path)

    def close(self) -> None:
        self.connection.close()

    def __del__(self) -> None:
        """A store let go is closed with it: sqlite3 did so by itself before Python 3.13, which warns."""
        with contextlib.suppress(AttributeError, sqlite3.Error):
            self.close()

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Make all that is written in the block one transaction; a block inside another joins it.

        Raises JobOpenElsewhere where a place was taken already, StoreError where the disk will not.
        """
        if self.connection.in_transaction:  # the outer block commits and tells what went wrong
            yield self.connection
            return
        try:
            self.connection.execute("BEGIN IMMEDIATE")
            yield self.connection
            self.connection.execute("COMMIT")
        except sqlite3.IntegrityError as error:
            self._roll_back()
            raise JobOpenElsewhere("this job was changed in another window; resume it to see what is there") from error
        except (sqlite3.Error, UnicodeDecodeError) as error:
            self._roll_back()
            raise StoreError(
                f"{self.path}: cannot write ({plain(error)}); {advice(error)}. What was read back before is kept"
            ) from error
        except BaseException:
            self._roll_back()
            raise

    def _roll_back(self) -> None:
        with contextlib.suppress(sqlite3.Error):
            self.connection.execute("ROLLBACK")

    def reading(self, sql: str, parameters: Sequence[Any] = ()) -> list[Any]:
        """Return every row. Raises StoreError."""
        try:
            return self.connection.execute(sql, parameters).fetchall()
        except (sqlite3.Error, UnicodeDecodeError) as error:  # a spoilt page may hold text that is none
            raise self._unreadable(error) from error

    def batches(self, sql: str, parameters: Sequence[Any], *, size: int) -> Iterator[list[Any]]:
        """Yield the rows, `size` at a time. Raises StoreError."""
        try:
            cursor = self.connection.execute(sql, parameters)
            while rows := cursor.fetchmany(size):
                yield rows
        except (sqlite3.Error, UnicodeDecodeError) as error:
            raise self._unreadable(error) from error

    def _unreadable(self, error: Exception) -> StoreError:
        return StoreError(f"{self.path}: cannot read ({plain(error)}); {advice(error)}")


def _keep_a_log(db: sqlite3.Connection) -> None:
    """Switch the file to WAL. SQLite gives this up at once while another process begins the same file; we wait."""
    for left in reversed(range(BUSY_MS // PAUSE_MS)):
        try:
            db.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or not left:
                raise
            sleep(PAUSE_MS / 1000)


def private_folder(path: Path) -> None:
    """Make `path` if need be, for this user only."""
    if not path.is_dir():
        path.mkdir(parents=True, exist_ok=True, mode=0o700)
        path.chmod(0o700)


def _is_full(home: Path) -> bool:
    """Tell whether a log cannot even be begun: SQLite calls that an error of the disk, not a full one."""
    with contextlib.suppress(OSError):
        return shutil.disk_usage(home).free < LOG_BYTES
    return False


def plain(error: Exception) -> str:
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)


def advice(error: Exception, home: Path | None = None) -> str:
    """Return what to do about an error of the disk or of SQLite, in `home` where the disk may say more."""
    text = plain(error).lower()  # without the path: a folder may be called anything
    if "i/o" in text and home is not None and _is_full(home):
        return "the disk is full, free some space"
    if "full" in text or "no space" in text:
        return "free some space and say it again"
    if "readonly" in text or "read-only" in text or "permission" in text or "unable to open" in text:
        return "make the folder writable or set GUIDE_HOME to one that is"
    if "locked" in text or "busy" in text:
        return "another program holds it; close that and try again"
    if "malformed" in text or "not a database" in text:
        return "the file is damaged; put a copy back, or move it away to begin a new store"
    return "check the disk and the folder's rights"
