"""Large trees, large stores, long jobs: what the largest sizes promised cost. Prints JSON, times in milliseconds.

    python -m tests.benchmarks.bench_scale

Baselines of the same run: a bare SQLite commit with sync (for an answer), a bare interpreter that imports
prompt_toolkit and pydantic (for a start).
"""

import gc
import json
import os
import random
import subprocess
import sys
import tempfile
import time
import tracemalloc
from pathlib import Path
from statistics import median

from guide import app
from guide.core.intent import Utterance
from guide.core.jobs.shop import Lesson
from guide.core.jobs.stats import rosner_limit, tolerance_factor
from guide.core.quantity import Quantity, Unit
from guide.core.reading import Measured
from guide.core.tree import Tree
from guide.edge.jobs.store import Store
from guide.edge.trees import treefile
from tests.benchmarks.bench_job import bare_commits, p99, timed, timed_both
from tests.worlds import FERNLEAF, TestBench, shipped_tree


def planned_tree(checks: int, causes: int) -> tuple[Tree, str]:
    """A tree of that size without routes, so that every next check is the planner's; each check names ten causes."""
    chance = random.Random(1)
    lines = ["version: 1", "device: Fernleaf GH-2", "symptom: Made for timing", "sources: {s: a sheet}",
             "hazards: {off: {power: off, say: Unplug it., until: unplugged}}", "points: {a: pin a, b: pin b}",
             "checks:"]  # fmt: skip
    for i in range(checks):
        named = ", ".join(f"k{c}: open" for c in chance.sample(range(causes), 10))
        lines += [f"  c{i}:", "    ask: Ohms across the part.", "    measure: ohm", "    hazard: off",
                  "    bands: {short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}",
                  "    source: s", "    normal: good", f"    expect: {{{named}}}", "    red: a",
                  "    black: b"]  # fmt: skip
    lines.append("causes:")
    for i in range(causes):
        lines += [f"  k{i}:", "    weight: 3", "    say: A part is open.",
                  "    repair: [{do: Fit a new one, minutes: 20, hazard: off}]",
                  f"    verify: {{check: c{i % checks}, band: good, else: stop}}"]  # fmt: skip
    text = "\n".join([*lines, "  other: {weight: 1, say: Something else.}", ""])
    return treefile.read(text, "large.yaml", "large"), text


def answers(folder: Path) -> dict[str, float]:
    """Answer to next prompt on 200 checks and 100 causes, disk included; a quarter of the answers name a cause.

    A hundred jobs: of some 1,000 answers the slowest hundredth is more than one moment of a busy machine.
    """
    tree, text = planned_tree(200, 100)
    assert (len(tree.asked()), sum(c.startswith("k") for c in tree.causes)) == (200, 100)
    chance, both = random.Random(2), []
    app.ready_for_words()
    for number in range(100):
        bench = TestBench(folder / f"large-{number}", tree=tree, text=text)
        bench.hears("unplugged")
        for _ in range(25):
            if bench.last["type"] != "ask":
                break
            said = "OL" if chance.random() < 0.25 else "30 ohms"
            both.append(timed_both(lambda said=said, bench=bench: bench.hears(said)))
        bench.store.close()
    commits, samples, cpu = bare_commits(folder), [wall for wall, _ in both], [cpu for _, cpu in both]
    return {"answers": len(samples), "p50": median(samples), "p99": p99(samples),
            "bare commit": median(commits), "bare commit p99": p99(commits),
            "p50 of processor time": median(cpu), "p99 of processor time": p99(cpu),
            "p99 beside the commit": p99(samples) - p99(commits),
            "p50 over commit": median(samples) / median(commits)}  # fmt: skip


def large_store(folder: Path) -> dict[str, float]:
    """100,000 jobs, each with its events: list the open ones, resume one, begin another."""
    bench = TestBench(folder / "many")
    bench.hears("ready", "12.1")
    store, db = bench.store, bench.store._db.connection
    db.execute("BEGIN")
    db.execute(
        "WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 100000)"
        " INSERT INTO jobs SELECT i, tree, tree_sha256, device, symptom,"
        " CASE i % 50 WHEN 0 THEN 'aside' ELSE 'closed' END, answers, waits_for, until, outcome, began, touched"
        " FROM jobs, n WHERE id = 1"
    )
    db.execute(
        "INSERT INTO events SELECT jobs.id, seq, kind, v, at,"
        " CASE kind WHEN 'opened' THEN json_set(body, '$.job', CAST(jobs.id AS TEXT)) ELSE body END"
        " FROM jobs, events WHERE job = 1 AND id > 1"
    )
    db.execute("COMMIT")
    tree, text = shipped_tree(FERNLEAF)
    return {
        "jobs": store.count(), "events": store._db.reading("SELECT count(*) FROM events")[0][0],
        "list open": median(timed(lambda: store.jobs("open", "aside")) for _ in range(9)),
        "list newest 200": median(timed(store.jobs) for _ in range(9)),
        "open the store": median(timed(lambda: Store(folder / "many").close()) for _ in range(5)),
        "resume": median(timed(lambda n=n: app.resume(store, str(n * 50))) for n in range(2, 11)),
        "begin": median(timed(lambda: app.begin(store, tree, text)) for _ in range(9)),
    }  # fmt: skip


def taught(folder: Path, *, jobs: int = 500) -> dict[str, float]:
    """The first job after a start, in a shop whose last 500 jobs on a tree of 40 checks have each taught them all."""
    tree, text = planned_tree(40, 20)
    chance, store = random.Random(3), Store(folder / "taught")
    with store.at_once():
        for _ in range(jobs):
            job = store.begin(tree.id, app.digest(text), text, at="2026-01-05T09:00:00+00:00", device=tree.device)
            good = {c.id: Measured(Quantity(chance.gauss(40, 2), Unit.OHM), 0.1) for c in tree.asked()}
            lesson = Lesson(job, "k0", dict.fromkeys(good, "good"), good)
            store.keep_lesson(job, tree.id, tree.device, lesson.to_json())
    rosner_limit.cache_clear()
    tolerance_factor.cache_clear()
    first = timed(lambda: app.begin(store, tree, text))
    later = median(timed(lambda: app.begin(store, tree, text)) for _ in range(5))
    store.close()
    return {"lessons": jobs, "checks": len(tree.asked()), "first begin": first, "later begin": later}


def memory(folder: Path, *, readings: int = 2000) -> dict[str, float]:
    """A job of 2,000 readings: what the live job holds on the way, in KiB."""
    bench = TestBench(folder / "long")
    bench.hears("ready")
    tracemalloc.start()
    held = {}
    for number in range(1, readings + 1):
        bench.session.hear(Utterance("12.1"))
        bench.session.hear(Utterance("go back"))
        if number == 100 or number % (readings // 4) == 0:
            gc.collect()
            held[f"after {number}"] = tracemalloc.get_traced_memory()[0] / 1024
    tracemalloc.stop()
    seq = bench.job.seq
    bench.store.close()
    return {"readings": readings, "events": seq, **held}


def starts(folder: Path) -> dict[str, float]:
    env = {**os.environ, "GUIDE_HOME": str(folder / "start"), "PYTHONPATH": os.getcwd()}
    env.pop("PYTHONDONTWRITEBYTECODE", None)

    def run(*command: str) -> None:
        subprocess.run([sys.executable, *command], env=env, stdin=subprocess.DEVNULL, capture_output=True, check=True)

    begin = ("-m", "guide", "begin", "--tree", FERNLEAF, "--jsonl")

    def first_prompt() -> float:
        start = time.perf_counter()
        command = [sys.executable, *begin]
        with subprocess.Popen(command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
            while '"answers"' not in (line := process.stdout.readline().decode()):
                assert line, "no prompt came"
            return (time.perf_counter() - start) * 1000

    run(*begin)
    ours = median(first_prompt() for _ in range(9))
    whole = median(timed(lambda: run(*begin)) for _ in range(9))
    base = median(timed(lambda: run("-c", "import prompt_toolkit, pydantic")) for _ in range(9))
    return {"first prompt": ours, "whole process, no answer": whole, "importing prompt_toolkit and pydantic": base,
            "ratio": ours / base}  # fmt: skip


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        result = {
            "answer on 200 checks, 100 causes": answers(folder), "store": large_store(folder), "taught": taught(folder),
            "memory, KiB": memory(folder), "start": starts(folder),
        }  # fmt: skip
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
