"""One job, one window: a lock that the system drops when the process ends, however it ends."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from guide.core.errors import JobOpenElsewhere, StoreError
from guide.edge.jobs.database import advice, plain, private_folder


@contextlib.contextmanager
def held(folder: Path, job: int) -> Iterator[None]:
    """Keep `job` to this process until the block ends. Raises JobOpenElsewhere, StoreError."""
    try:
        private_folder(folder)
        handle = os.open(folder / f"{job}.lock", os.O_CREAT | os.O_RDWR, 0o600)
    except OSError as error:
        raise StoreError(f"{folder}: cannot lock job {job} ({plain(error)}); {advice(error)}") from error
    try:
        if not _lock(handle):
            raise JobOpenElsewhere(f"job {job} is open in another window; close it there first")
        yield
    finally:
        os.close(handle)


def _lock(handle: int) -> bool:
    """Take an advisory lock that the system drops when the process ends, however it ends."""
    if os.name == "nt":
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined, unused-ignore]
        except OSError:
            return False
        return True
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
