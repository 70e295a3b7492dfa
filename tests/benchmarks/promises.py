"""What is promised in figures, where each is measured, and its limit. Times are milliseconds.

A limit holds on two cores with nothing else to do; on a busy machine the ratios to the baselines are what to read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Promise:
    """`path` leads to the figure through the results of all benchmarks; it is at most `most`, or at least `least`."""

    what: str
    path: tuple[str, ...]
    most: float | None = None
    least: float | None = None


LARGE = ("scale", "answer on 200 checks, 100 causes")
SPEECH, ALONE = ("speech", "both ears"), ("speech", "the shipped recogniser alone")
LIBRARY = "odds against pyAgrum, 100 x 200, 10 readings"
PLANS = ("odds", "plans, 12 causes x 15 checks")
CHOICE = ("odds", "1000 causes x 300 checks, ms")
PROMISES = (
    Promise("answer to next prompt, p99 beside the disk's sync", (*LARGE, "p99 beside the commit"), 5),
    Promise("resume of 10,000 events", ("job", "resume_10000_events_ms"), 100),
    Promise("list the open ones of 100,000 jobs", ("scale", "store", "list open"), 100),
    Promise("resume one of 100,000 jobs", ("scale", "store", "resume"), 100),
    Promise("first prompt of a cold start", ("scale", "start", "first prompt"), 400),
    Promise("decision that speech ended to first sound, p95", (*SPEECH, "decision to first sound", "p95"), 400),
    Promise("the same with one recogniser, p95", (*ALONE, "decision to first sound", "p95"), 400),
    Promise("real end of speech to first sound, p95", (*SPEECH, "real end to first sound", "p95"), 900),
    Promise("the same with one recogniser, p95", (*ALONE, "real end to first sound", "p95"), 900),
    Promise("change of question for the recognisers, p95", (*SPEECH, "a change of question", "p95"), 20),
    Promise("odds against an independent library", ("odds", LIBRARY, "most apart"), 1e-9),
    Promise("plans of 12 causes and 15 checks not proved exact", (*PLANS, "not exact"), 0),
    Promise("the slowest exact plan, seconds", (*PLANS, "exact, s", "most"), 2),
    Promise("the worst fast plan over the exact one, %", (*PLANS, "over exact, %", "fast", "worst"), 5),
    Promise("one choice among 300 checks with 1,000 causes, p99", (*CHOICE, "first choice", "p99"), 50),
    Promise("memory of a job, MB", ("job", "job_memory_mb"), 150),
    Promise("memory of a report as PDF, MB", ("job", "report_memory_mb"), 150),
    Promise("memory with the shipped recogniser, MB", ("speech", "memory, MB", "the shipped recogniser alone"), 400),
)  # fmt: skip
# Promised too and held in the tests, where a figure would say less: odds equal to brute force within 1e-12
# (test_belief), the exact optimum on published examples (test_published_cases), nothing lost and nothing twice after a
# kill (tests/crash).


def kept(results: Mapping[str, Any], promises: Sequence[Promise] = PROMISES) -> list[dict[str, Any]]:
    """Return each promise with what was measured, in their order; those of benchmarks not run are left out.

    A promise whose figure the benchmark does not tell is not held.
    """
    found = []
    for one in promises:
        value: Any = results
        for step in one.path:
            value = value.get(step) if isinstance(value, Mapping) else None
        if one.path[0] not in results:
            continue
        limit = {"most": one.most} if one.most is not None else {"least": one.least}
        held = value is not None and (value <= one.most if one.most is not None else value >= (one.least or 0))
        found.append({"what": one.what, "measured": value, **limit, "held": held})
    return found
