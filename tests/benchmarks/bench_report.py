"""Reports of a 300-reading job in every form, and a drawing of 60 routed checks. Prints JSON.

    python -m tests.benchmarks.bench_report

Times are milliseconds, the median of five after one warm-up; `cold` is a whole process from the store to the file.
Baseline in the same run: one bare interpreter.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from guide.core.drawing import markdown_of, picture_of, svg_of
from guide.core.intent import Utterance
from guide.core.jobs import events as ev
from guide.core.report import bench_text, customer_page, customer_text, document_of
from guide.edge.fakes import Technician
from guide.edge.jobs.store import Store
from guide.edge.reporting.html import bench_html, customer_html
from guide.edge.reporting.pdf import bench_pdf, customer_pdf
from tests.reports import long_report
from tests.test_drawing import big_tree
from tests.worlds import TestBench

READINGS = 300


def timed(work) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def usual(work) -> float:
    work()
    return round(median(timed(work) for _ in range(5)), 1)


def long_store(home: Path) -> None:
    """A stored job of READINGS readings on the shipped tree."""
    bench = TestBench(home)
    technician = Technician(bench.job.tree, "cable-broken", seed=1)
    store, job = bench.store, bench.job.id
    while bench.last["type"] != "verdict":
        bench.said += bench.session.hear(Utterance(technician.answer(bench.last)))
    recorded = store.events(job)
    taken = [r.event for r in recorded if isinstance(r.event, ev.ReadingTaken)]
    more = [taken[i % len(taken)] for i in range(READINGS - len(taken))]
    at = recorded[-1].at
    store.append(job, [ev.Recorded(len(recorded) + i, at, e) for i, e in enumerate(more, 1)], answers=READINGS)


def cold(home: Path, *arguments: str) -> float:
    environment = {**os.environ, "GUIDE_HOME": str(home)}
    command = [sys.executable, "-m", "guide", *arguments]
    return round(median(timed(lambda: subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL))
                        for _ in range(3)), 0)  # fmt: skip


def main() -> None:
    report = long_report(READINGS)
    page = customer_page(report)
    forms = {
        "gather": lambda: long_report(READINGS),
        "bench md": lambda: bench_text(report).encode(),
        "bench json": lambda: json.dumps(document_of(report)).encode(),
        "bench html": lambda: bench_html(report).encode(),
        "bench pdf": lambda: bench_pdf(report),
        "customer md": lambda: customer_text(page).encode(),
        "customer html": lambda: customer_html(report, page).encode(),
        "customer pdf": lambda: customer_pdf(report, page),
        "draw 60 svg": lambda: svg_of(picture_of(big_tree())).encode(),
        "draw 60 md": lambda: markdown_of(picture_of(big_tree())).encode(),
    }
    made = {name: work() for name, work in forms.items()}
    found = {
        "readings": len(report.rows),
        "ms": {name: usual(work) for name, work in forms.items()},
        "bytes": {name: len(data) for name, data in made.items() if isinstance(data, bytes)},
    }
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        long_store(home)
        Store(home).close()
        found["cold ms"] = {
            "bare interpreter": round(median(timed(lambda: subprocess.run([sys.executable, "-c", "0"], check=True))
                                             for _ in range(3)), 0),
            **{f"report .{s}": cold(home, "report", "1", "--to", str(home / f"r.{s}")) for s in ("md", "html", "pdf")},
            "customer .pdf": cold(home, "report", "1", "--for", "customer", "--to", str(home / "c.pdf")),
        }  # fmt: skip
        found["cold bytes"] = {s: (home / f"r.{s}").stat().st_size for s in ("md", "html", "pdf")}
    print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
