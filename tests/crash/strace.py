"""Death on entry to a system call: strace attaches to the process and injects SIGKILL there."""

from __future__ import annotations

import os
import shutil
import subprocess
from functools import cache

from tests.crash.bench import Kill, Output


@cache
def available() -> bool:
    """Tell whether strace is here and may trace its own children."""
    if shutil.which("strace") is None:
        return False
    tried = subprocess.run(["strace", "-qq", "-e", "trace=none", "true"], capture_output=True, check=False)
    return tried.returncode == 0


def at_system_call(name: str, number: int) -> Kill:
    """Die when the process enters its `number`-th call of `name` (pwrite64: a page; fdatasync: the commit itself)."""

    def arm(_: Output) -> None:
        me = str(os.getpid())
        inject = f"inject={name}:signal=KILL:when={number}"
        tracer = subprocess.Popen(
            ["strace", "-p", me, "-e", f"trace={name}", "-e", inject, "-o", os.devnull],
            stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        assert tracer.stderr is not None
        assert "attached" in tracer.stderr.readline()  # the process goes on only once it is watched

    return arm
