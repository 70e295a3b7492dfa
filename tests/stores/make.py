"""Make the store of this version: `python -m tests.stores.make`. Run once at each release; what is there stays.

A closed job with its lesson, one put aside, one open, as `guide` itself writes them.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from guide import __version__
from guide.edge.jobs.migrations import VERSION
from tests.worlds import TestBench

FOLDER = Path(__file__).parent
CLOSED = ("ready", "12.1", "note solder splash", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.2", "works")


def main() -> None:
    target = FOLDER / f"v{VERSION}-{__version__}.sqlite3"
    if target.exists():
        sys.exit(f"{target} is there already; a released store is never made again")
    with tempfile.TemporaryDirectory() as home:
        for lines in (CLOSED, ("ready", "11.0", "hold for a part until Friday"), ("ready", "12.1", "unplugged")):
            bench = TestBench(Path(home))
            bench.hears(*lines)
            bench.store._db.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            bench.store.close()
        shutil.copy(Path(home) / "guide.sqlite3", target)


if __name__ == "__main__":
    main()
