"""Trees: load, lint, heads and matching, in milliseconds. Prints JSON.

    python -m tests.benchmarks.bench_trees

The baseline of the same run is PyYAML composing the same text into nodes, with nothing checked or built.
"""

import json
import time
from statistics import median

import yaml

from guide.core.lint import lint
from guide.core.symptoms import Head, likeness, match
from guide.edge.trees import treefile
from guide.edge.trees.library import head


def large_tree(checks: int) -> str:
    """A tree with as many causes as checks, every check with bands, routes and leads."""
    lines = ["version: 1", "device: Fernleaf GH-2", "symptom: Made for timing", "sources: {s: a sheet}",
             "hazards: {off: {power: off, say: Unplug it., until: unplugged}}", "points: {a: pin a, b: pin b}",
             "start: c0", "checks:"]  # fmt: skip
    for i in range(checks):
        ahead = f"c{i + 1}" if i < checks - 1 else "stop"
        lines += [f"  c{i}:", "    ask: Ohms across the part.", "    measure: ohm", "    hazard: off",
                  "    bands: {short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}",
                  "    source: s", "    normal: good", f"    expect: {{k{i}: open}}", "    red: a", "    black: b",
                  f"    then: {{short: stop, good: {ahead}, open: k{i}}}"]  # fmt: skip
    lines.append("causes:")
    for i in range(checks):
        lines += [f"  k{i}:", "    weight: 3", "    say: A part is open.",
                  "    repair: [{do: Fit a new one, minutes: 20, hazard: off}]",
                  f"    verify: {{check: c{i}, band: good, else: stop}}"]  # fmt: skip
    return "\n".join([*lines, "  other: {weight: 1, say: Something else.}", ""])


def milliseconds(work, runs: int = 15) -> float:
    took = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        took.append((time.perf_counter() - start) * 1000)
    return round(median(took), 2)


def matching() -> None:
    likeness.cache_clear()
    match("the coil got to hot and the valve dosnt open", HEADS)


WORDS = (
    "valve", "coil", "pump", "probe", "bus", "relay", "fan", "heater", "lamp", "door", "hums", "stays", "shut", "open",
    "hot", "cold", "dead", "loose", "slow", "stuck",
)  # fmt: skip
HEADS = tuple(
    Head(f"t{i}", f"device {i}", " ".join(WORDS[(i + k) % 20] for k in range(8)), tuple(WORDS[i % 19 : i % 19 + 2]))
    for i in range(30)
)


def main() -> None:
    found = {}
    for checks in (30, 200):
        text = large_tree(checks)
        tree, _ = treefile.load(text, "t.yaml", "t")
        found[f"{checks} checks"] = {
            "lines": text.count("\n"),
            "compose nodes (baseline)": milliseconds(lambda t=text: yaml.compose(t, yaml.CBaseLoader)),
            "read": milliseconds(lambda t=text: treefile.read(t, "t.yaml", "t")),
            "lint": milliseconds(lambda t=tree: lint(t), runs=3),
            "head": milliseconds(lambda t=text: head(t, "t.yaml", "t")),
        }
    found["match over 30 trees, cold"] = milliseconds(matching)
    print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
