"""Every target a million times under coverage, one after the other: `nice python -m tests.fuzz.run [TARGET ...]`.

    nice python -m tests.fuzz.run --runs 1000000 --seconds 1200 --seed 1 --corpus FOLDER

Prints JSON: executions, executions a second, edges reached and the input of a find, for each target. `--seconds` ends a
target early; it then says how far it got. The seed makes a run repeatable; FOLDER keeps what reached new code.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

LONGEST = {"words": 60, "event": 200, "tree": 4000, "job": 20_000, "history": 60}


def campaign(name: str, corpus: Path, *, runs: int, seconds: int, seed: int) -> dict[str, Any]:
    """Run one target to its end; return what libFuzzer told of it."""
    with tempfile.TemporaryDirectory() as finds:
        options = [
            f"-runs={runs}", f"-max_total_time={seconds}", f"-seed={seed}", f"-max_len={LONGEST[name]}", "-timeout=20",
            "-rss_limit_mb=1024", "-print_final_stats=1", f"-artifact_prefix={finds}/",
        ]  # fmt: skip
        command = [sys.executable, "-m", "tests.fuzz.harness", name, str(corpus / name), *options]
        told = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False).stderr
        found = [repr(p.read_bytes()) for p in sorted(Path(finds).iterdir())]
    return {**summary(told), "wanted": runs, "seed": seed, "finds": found, **({"told": told[-2000:]} if found else {})}


def summary(told: str) -> dict[str, Any]:
    """Return the figures out of libFuzzer's log."""
    line = r"^#(\d+)\s.*cov: (\d+) ft: (\d+) corp: (\d+)/.*exec/s: (\d+) rss: (\d+)Mb"
    progress = re.findall(line, told, re.MULTILINE)
    if not progress:
        return {"failed": told[-2000:]}
    done, edges, features, kept, speed, memory = map(int, progress[-1])
    names = "executions", "a second", "edges", "features", "inputs kept", "memory, MB"
    last = dict(zip(names, (done, speed, edges, features, kept, memory), strict=True))
    # The final count, where it came to its end; one that was interrupted got at least as far as its last line.
    ended = re.search(r"stat::number_of_executed_units:\s+(\d+)", told)
    return {**last, "executions": int(ended.group(1))} if ended else {**last, "interrupted": True}


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("targets", nargs="*", metavar="TARGET", help=", ".join(LONGEST))
    arguments.add_argument("--runs", type=int, default=1_000_000)
    arguments.add_argument("--seconds", type=int, default=0, help="at most this long a target; 0: to the end")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--corpus", type=Path)
    wanted = arguments.parse_args()
    corpus = wanted.corpus or Path(tempfile.mkdtemp(prefix="guide-fuzz-"))
    found = {}
    for name in wanted.targets or LONGEST:
        sys.stderr.write(f"{name} ...\n")
        found[name] = campaign(name, corpus, runs=wanted.runs, seconds=wanted.seconds, seed=wanted.seed)
        sys.stderr.write(f"{json.dumps(found[name])}\n")
    print(json.dumps(found, indent=1))
    return int(any(one.get("finds") or "failed" in one for one in found.values()))


if __name__ == "__main__":
    sys.exit(main())
