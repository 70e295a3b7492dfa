"""The job and its store: fold, answer to prompt, resume, a large store, a cold start. Prints JSON.

    python -m tests.benchmarks.bench_job

Ratios stand beside a baseline measured in the same run: one bare SQLite commit with sync, one bare interpreter.
"""

import contextlib
import json
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median, quantiles

from guide import app
from guide.core.intent import Utterance
from guide.core.jobs import events as ev
from guide.core.jobs.folding import fold
from guide.core.jobs.job import opened
from guide.core.quantity import Quantity, Unit
from guide.core.reading import Measured
from guide.edge.jobs.store import Store
from tests.worlds import FERNLEAF, TestBench, shipped_tree

AT = "2026-01-05T09:00:00+00:00"


def timed(work) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def timed_both(work) -> tuple[float, float]:
    """Milliseconds on the clock, and of them those this process had a processor: a busy machine shows in the first."""
    cpu = time.process_time()
    return timed(work), (time.process_time() - cpu) * 1000


def p99(samples: list[float]) -> float:
    return quantiles(samples, n=100)[98]


def history(tree, count: int) -> list[ev.Event]:
    """A long job: readings taken and withdrawn over and over, no two the same."""
    made: list[ev.Event] = [ev.Opened("1", tree.id, "0" * 64)]
    ids = [c.id for c in tree.asked() if c.measure.takes_a_reading]
    while len(made) < count:
        check = tree.checks[ids[len(made) // 4 % len(ids)]]
        reading = Measured(Quantity(12.0 + len(made) / 1000, check.measure.unit or Unit.VOLT), 0.1)
        band = check.bands[0].name
        made += [
            ev.CheckChosen(check.id, "plan"),
            ev.CheckAsked(check.id),
            ev.ReadingTaken(check.id, reading, f"{reading.quantity.value}", "typed", band, {band: 1.0}),
            ev.ReadingWithdrawn(check.id),
        ]
    return made[:count]


def bench_fold(result: dict) -> None:
    tree, _ = shipped_tree(FERNLEAF)
    events = history(tree, 10_000)
    result["fold_10000_events_ms"] = median(timed(lambda: fold(opened(tree), events)) for _ in range(5))


def bench_commit(folder: Path) -> float:
    db = sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE t (a INTEGER PRIMARY KEY, b TEXT)")
    return median(timed(lambda: db.execute("INSERT INTO t (b) VALUES (?)", ("x" * 300,))) for _ in range(200))


def bench_answers(folder: Path, result: dict) -> None:
    samples = []
    for round_ in range(40):
        bench = TestBench(folder / f"answers-{round_}")
        for line in ("unplugged", "ready", "12.1", "go back", "12.1", "unplugged", "60.1"):
            samples.append(timed(lambda line=line, bench=bench: bench.session.hear(Utterance(line))))
    result["answer_to_prompt_p50_ms"], result["answer_to_prompt_p99_ms"] = median(samples), p99(samples)


def bench_resume(folder: Path, result: dict) -> None:
    tree, text = shipped_tree(FERNLEAF)
    store = Store(folder / "long")
    job = store.begin(tree.id, app.digest(text), text, at=AT)
    events = history(tree, 10_000)
    first = datetime.fromisoformat(AT)
    stamped = [ev.Recorded(i, (first + timedelta(seconds=i)).isoformat(), e) for i, e in enumerate(events, 1)]
    store.append(job, stamped, answers=0)
    took = [timed_both(lambda: app.resume(store, job)) for _ in range(15)]
    result["resume_10000_events_ms"] = median(wall for wall, _ in took)
    result["resume_10000_events_cpu_ms"] = median(cpu for _, cpu in took)


def bench_many(folder: Path, result: dict) -> None:
    store = Store(folder / "many")
    db = store._db.connection
    db.execute("BEGIN")
    db.execute("INSERT INTO trees VALUES ('ab', 'x', 'y')")
    db.executemany(
        "INSERT INTO jobs (tree, tree_sha256, device, symptom, state, answers, began, touched)"
        " VALUES ('x', 'ab', 'GH-2', 'dead', ?, 3, ?, ?)",
        (("closed" if i % 50 else "aside", AT, AT) for i in range(100_000)),
    )
    db.execute("COMMIT")
    result["list_of_100000_jobs_ms"] = median(timed(lambda: store.jobs("open", "aside")) for _ in range(9))
    result["list_all_newest_200_ms"] = median(timed(store.jobs) for _ in range(9))


def bench_start(folder: Path, result: dict) -> None:
    """Cold starts with bytecode compiled; the first prompt ends the process (end of input is hold)."""
    env = {**os.environ, "GUIDE_HOME": str(folder / "start"), "PYTHONPATH": os.getcwd()}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    command = [sys.executable, "-m", "guide", "begin", "--tree", FERNLEAF, "--jsonl"]

    def run(arguments: list[str]) -> None:
        subprocess.run(arguments, env=env, stdin=subprocess.DEVNULL, capture_output=True, check=True)

    run(command)
    result["first_prompt_ms"] = median(timed(lambda: run(command)) for _ in range(9))
    result["bare_interpreter_ms"] = median(timed(lambda: run([sys.executable, "-c", "pass"])) for _ in range(9))
    result["first_prompt_over_bare"] = result["first_prompt_ms"] / result["bare_interpreter_ms"]


def main() -> None:
    result: dict = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        result["bare_commit_ms"] = bench_commit(folder)
        bench_fold(result)
        bench_answers(folder, result)
        result["answer_over_commit"] = result["answer_to_prompt_p50_ms"] / result["bare_commit_ms"]
        bench_resume(folder, result)
        bench_many(folder, result)
        bench_start(folder, result)
    with contextlib.suppress(AttributeError):
        result["peak_memory_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        result["child_peak_memory_mb"] = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(json.dumps({k: round(v, 3) for k, v in result.items()}, indent=1))


if __name__ == "__main__":
    main()
