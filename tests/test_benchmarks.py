"""The benchmarks are run by hand; that they can be run at all is seen here."""

import os
import subprocess
import sys

from tests.benchmarks.all import names
from tests.benchmarks.promises import PROMISES, Promise, kept
from tests.worlds import ROOT


def test_every_benchmark_starts_from_the_folder_of_the_project():
    """As `python -m` finds them: pytest's own search path would hide an import that only it can follow."""
    assert len(names()) >= 8
    code = "import importlib, sys; [importlib.import_module(f'tests.benchmarks.bench_{n}') for n in sys.argv[1:]]"
    ran = subprocess.run([sys.executable, "-c", code, *names()], cwd=ROOT, capture_output=True, text=True,
                         env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)  # fmt: skip
    assert ran.returncode == 0, ran.stderr


def test_every_promise_is_measured_by_a_benchmark_there_is():
    assert {p.path[0] for p in PROMISES} <= set(names())
    assert all((p.most is None) != (p.least is None) for p in PROMISES)


def test_a_promise_not_held_or_not_told_is_said_so_and_one_of_a_benchmark_not_run_is_left_out():
    asked = (Promise("a", ("job", "x"), 5), Promise("b", ("job", "y", "z"), least=3), Promise("c", ("odds", "w"), 1))
    (lost,) = kept({"job": {"failed": "no disk"}}, asked)[:1]
    assert lost == {"what": "a", "measured": None, "most": 5, "held": False}
    told = kept({"job": {"x": 6.0, "y": {"z": 3}}}, asked)
    assert [(p["what"], p["held"]) for p in told] == [("a", False), ("b", True)]
    assert [p["held"] for p in kept({"job": {"x": 5.0, "y": {"z": 2}}}, asked)] == [True, False]
