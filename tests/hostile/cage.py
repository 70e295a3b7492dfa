"""A process of its own for each bad file: two seconds of processor and 200 MB beyond its start, no more."""

from __future__ import annotations

import io
import os
import resource
import sys
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from guide.cli import run

SECONDS, BYTES = 2, 200 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Ended:
    """What came of it: the exit code (negative: the signal that ended it), both streams, processor seconds."""

    code: int
    out: str
    error: str
    seconds: float

    def one_clear_line(self) -> bool:
        """Tell whether standard error is one line with a place and a remedy, and nothing that drives a terminal."""
        line = self.error.removesuffix("\n")
        plain = not any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") for c in line)
        return plain and line.startswith("guide: ") and self.error.endswith("\n") and len(line) < 1200


def caged(command: list[str], home: Path) -> Ended:
    """Run `command` in a fork under the limits and return how it ended."""
    (out, out_end), (error, error_end) = os.pipe(), os.pipe()
    child = os.fork()
    if child == 0:
        code = 70
        try:
            os.environ["GUIDE_HOME"] = str(home)
            sys.stdin = io.StringIO()
            sys.stdout, sys.stderr = os.fdopen(out_end, "w"), os.fdopen(error_end, "w")
            sys.stdout.reconfigure(encoding="utf-8")
            sys.stderr.reconfigure(encoding="utf-8")
            size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
            resource.setrlimit(resource.RLIMIT_AS, (size + BYTES, size + BYTES))
            used = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
            resource.setrlimit(resource.RLIMIT_CPU, (int(used) + SECONDS, int(used) + SECONDS))
            code = run(command)
        except BaseException as failed:
            print(type(failed).__name__, failed, file=sys.stderr)
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)
    os.close(out_end)
    os.close(error_end)
    said = []
    for handle in (error, out):  # what is printed fits the pipe: one line, and a few objects
        with os.fdopen(handle, encoding="utf-8", errors="replace") as stream:
            said.append(stream.read())
    _, status, used = os.wait4(child, 0)
    return Ended(os.waitstatus_to_exitcode(status), said[1], said[0], used.ru_utime + used.ru_stime)
