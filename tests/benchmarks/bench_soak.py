"""A soak: 10,000 whole jobs in one process over one store. Prints JSON.

    python -m tests.benchmarks.bench_soak [JOBS]

Every job is played by the simulated technician to its end, causes in turn; the memory of the process and the time of a
job are compared between the first and the last tenth, for what creeps shows there.
"""

import json
import resource
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from guide import app
from guide.core.intent import Utterance
from guide.core.tree import Tree
from guide.edge.fakes import Technician
from guide.edge.jobs.store import Store
from tests.worlds import FERNLEAF, shipped_tree


def resident_mb() -> float:
    statm = Path("/proc/self/statm")
    if statm.exists():
        return int(statm.read_text().split()[1]) * resource.getpagesize() / 2**20
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def play(store: Store, tree: Tree, text: str, number: int) -> int:
    """Play one job to its end; return how many answers it took."""
    causes = [c for c in tree.causes if c not in ("other", "none")]
    session, told = app.begin(store, tree, text)
    technician = Technician(tree, causes[number % len(causes)], seed=number)
    answers = 0
    while not app.done(told):
        answers += 1
        assert answers < 200, f"job {session.job.id} does not end"
        told = session.hear(Utterance(technician.answer(told[-1])))
    return answers


def main() -> None:
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    tree, text = shipped_tree(FERNLEAF)
    tenth, took, memory, answers = max(jobs // 10, 1), [], [], 0
    with tempfile.TemporaryDirectory() as home:
        store = Store(Path(home))
        for number in range(jobs):
            start = time.perf_counter()
            answers += play(store, tree, text, number)
            took.append((time.perf_counter() - start) * 1000)
            memory.append(resident_mb())
        closed = store._db.reading("SELECT count(*) FROM jobs WHERE state = 'closed'")[0][0]
        sound = store._db.reading("PRAGMA integrity_check")[0][0]
        store.close()
        size = (Path(home) / "guide.sqlite3").stat().st_size / 2**20
    print(json.dumps({
        "jobs": jobs, "closed": closed, "answers": answers, "integrity": sound, "store, MB": round(size, 1),
        "a job, ms": {"first tenth": round(median(took[:tenth]), 2), "last tenth": round(median(took[-tenth:]), 2)},
        "memory, MB": {"after the first tenth": round(memory[tenth - 1], 1), "at the end": round(memory[-1], 1)},
        "seconds": round(sum(took) / 1000),
    }, indent=1))  # fmt: skip


if __name__ == "__main__":
    main()
