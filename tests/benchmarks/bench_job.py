"""The job and its store: fold, answer to prompt, resume, memory. Prints JSON.

    python -m tests.benchmarks.bench_job

Ratios stand beside a baseline measured in the same run: one bare SQLite commit with sync.
"""

import json
import os
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


def bare_commits(folder: Path) -> list[float]:
    """A thousand commits with sync on a store of nothing."""
    db = sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE t (a INTEGER PRIMARY KEY, b TEXT)")
    took = [timed(lambda: db.execute("INSERT INTO t (b) VALUES (?)", ("x" * 300,))) for _ in range(1000)]
    db.close()
    return took


def bench_answers(folder: Path, result: dict) -> None:
    samples = []
    app.ready_for_words()
    for round_ in range(40):
        bench = TestBench(folder / f"answers-{round_}")
        for line in ("unplugged", "ready", "12.1", "go back", "12.1", "unplugged", "60.1"):
            samples.append(timed_both(lambda line=line, bench=bench: bench.session.hear(Utterance(line))))
        bench.store.close()
    for kind, times in zip(("", "cpu_"), zip(*samples, strict=True), strict=True):
        result[f"answer_to_prompt_{kind}p50_ms"], result[f"answer_to_prompt_{kind}p99_ms"] = median(times), p99(times)


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


PEAK = """
import sys
without, *arguments = sys.argv[1:]
if without:
    sys.modules[without] = None
from guide.cli import run
code = run(arguments)
status = open("/proc/self/status").read()
sys.stderr.write(status.split("VmHWM:")[1].split()[0])
sys.exit(code)
"""


def peak_of(arguments: list[str], home: Path, *, typed: str = "", without: str = "") -> float:
    """Return the most memory, in MB, that a command held in a process of its own; Linux alone tells.

    Not by getrusage: there a child's peak begins at what its parent held when it was forked.
    """
    env = {**os.environ, "GUIDE_HOME": str(home), "PYTHONPATH": os.getcwd()}
    command = [sys.executable, "-c", PEAK, without, *arguments]
    ran = subprocess.run(command, input=typed, env=env, capture_output=True, text=True, check=True)
    return int(ran.stderr.split()[-1]) / 1024


def bench_memory(folder: Path, result: dict) -> None:
    """A whole job, and a report of it as a PDF; no speech."""
    home = folder / "memory"
    answers = "ready\n12.1\nunplugged\nOL\nenough\n1\ndone\nunplugged\n60.2\nworks\n"
    result["job_memory_mb"] = peak_of(["begin", "--tree", FERNLEAF, "--jsonl"], home, typed=answers)
    result["report_memory_mb"] = peak_of(["report", "1", "--to", str(folder / "r.pdf")], home)


def main() -> None:
    result: dict = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        commits = bare_commits(folder)
        result["bare_commit_ms"], result["bare_commit_p99_ms"] = median(commits), p99(commits)
        bench_fold(result)
        bench_answers(folder, result)
        result["answer_over_commit"] = result["answer_to_prompt_p50_ms"] / result["bare_commit_ms"]
        bench_resume(folder, result)
        bench_memory(folder, result)
    print(json.dumps({k: round(v, 3) for k, v in result.items()}, indent=1))


if __name__ == "__main__":
    main()
