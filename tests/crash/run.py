"""A thousand kills, by hand: `nice python -m tests.crash.run [--kills 1000] [--seed 1]`. Prints JSON.

Four kinds, drawn by chance: before the N-th SQL statement, after the N-th byte of output, at a random moment of a run
(most of a run is spent inside the commit's sync, so most of these fall there), and on entry to the N-th write or sync
of the file system, where strace can be had. A failed check ends the run with its traceback.
"""

import argparse
import json
import os
import random
import shutil
import signal
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests.crash.bench import Bench, Kill, Output, at_byte, at_statement, die, live_through, reference
from tests.crash.strace import at_system_call, available
from tests.worlds import FERNLEAF, shipped_tree

JOBS = ((FERNLEAF, "cable-broken"), (FERNLEAF, "fuse-open"), ("ports/usb2-device-not-recognised", ""))


def at_moment(seconds: float) -> Kill:
    """Die after `seconds`, wherever the process is by then: a thread of the process itself ends it."""

    def arm(_: Output) -> None:
        def wait() -> None:
            time.sleep(seconds)
            die()

        threading.Thread(target=wait, daemon=True).start()

    return arm


def chooser(chance: random.Random, statements: int, size: int, lasted: float, told: list[str]) -> Callable[[], Kill]:
    def choose() -> Kill:
        kind = chance.choice(["statement", "byte", "moment", *(["system call"] if available() else [])])
        told.append(kind)
        match kind:
            case "statement":
                return at_statement(chance.randint(1, statements))
            case "byte":
                return at_byte(chance.randint(1, size))
            case "moment":
                return at_moment(chance.uniform(0, lasted))
        call, most = chance.choice((("pwrite64", 30), ("fdatasync", 8)))
        return at_system_call(call, chance.randint(1, most))

    return choose


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--kills", type=int, default=1000)
    arguments.add_argument("--seed", type=int, default=1)
    wanted = arguments.parse_args()
    chance, fatal, began = random.Random(wanted.seed), Counter(), time.perf_counter()
    kills = jobs = reads = torn = 0
    folder = Path(tempfile.mkdtemp())
    known = {}
    for tree_id, cause in JOBS:
        tree, _ = shipped_tree(tree_id)
        cause = cause or next(iter(tree.causes))
        start = time.perf_counter()
        known[tree_id, cause] = (tree, reference(folder / f"reference-{len(known)}", tree, cause),
                                 time.perf_counter() - start)  # fmt: skip
    while kills < wanted.kills:
        (tree_id, cause), (tree, expected, lasted) = chance.choice(list(known.items()))
        bench = Bench(folder / f"job-{jobs}", tree, cause)
        chosen: list[str] = []
        choose = chooser(chance, expected.statements // 3, expected.size // 3, lasted / 2, chosen)
        kills += live_through(bench, choose, expected, kills=min(12, wanted.kills - kills))
        fatal.update(kind for kind, ran in zip(chosen, bench.runs, strict=False) if ran.killed)
        jobs, reads, torn = jobs + 1, reads + sum(len(ran.reads()) for ran in bench.runs), torn + bench.torn
        shutil.rmtree(bench.home)
    shutil.rmtree(folder)
    print(json.dumps({
        "kills": kills, "by kind": dict(fatal), "left half a commit in the log": torn, "jobs": jobs,
        "readings printed and found again": reads, "seed": wanted.seed, "seconds": round(time.perf_counter() - began),
    }, indent=1))  # fmt: skip


if __name__ == "__main__":
    assert hasattr(os, "fork"), "needs fork"
    assert signal.SIGKILL
    main()
