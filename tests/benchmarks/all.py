"""Every benchmark, one after the other, as one JSON document on standard output.

    python -m tests.benchmarks.all [--quick] [NAME ...]

Each runs in a process of its own. `--quick` shortens the longest; names (`job`, `scale`, ...) choose some of them. The
first part says what is promised, what was measured and whether it held (`promises.py`), and how busy the machine was. A
benchmark that fails is named with its error, and the exit code is 1.
"""

import json
import os
import platform
import subprocess
import sys
import time
from pathlib import Path

from tests.benchmarks.promises import kept

HERE = Path(__file__).parent
QUICK = {"soak": ["200"], "odds": ["20"]}


def names() -> list[str]:
    return sorted(p.stem.removeprefix("bench_") for p in HERE.glob("bench_*.py"))


def measured(name: str, *options: str) -> dict:
    """Return what one benchmark printed, with the seconds it took."""
    start = time.perf_counter()
    command = [sys.executable, "-m", f"tests.benchmarks.bench_{name}", *options]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    took = round(time.perf_counter() - start, 1)
    if ran.returncode:
        return {"failed": (ran.stderr.strip().splitlines() or [f"exit code {ran.returncode}"])[-1], "seconds": took}
    return {**json.loads(ran.stdout), "seconds": took}


def main() -> int:
    quick, chosen = "--quick" in sys.argv, [a for a in sys.argv[1:] if not a.startswith("--")]
    found = {}
    for name in chosen or names():
        sys.stderr.write(f"{name} ...\n")
        found[name] = measured(name, *(QUICK.get(name, []) if quick else []))
    machine = {
        "python": platform.python_version(), "system": platform.platform(), "processor": platform.machine(),
        "cores": os.cpu_count(), "load, quarter of an hour": os.getloadavg()[2] if hasattr(os, "getloadavg") else None,
    }  # fmt: skip
    print(json.dumps({"promises": kept(found), "machine": machine, **found}, indent=1))
    return int(any("failed" in one for one in found.values()))


if __name__ == "__main__":
    sys.exit(main())
