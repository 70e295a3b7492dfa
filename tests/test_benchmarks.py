"""The benchmarks are run by hand; that they can be run at all is seen here."""

import os
import subprocess
import sys

from tests.benchmarks.all import names
from tests.worlds import ROOT


def test_every_benchmark_starts_from_the_folder_of_the_project():
    """As `python -m` finds them: pytest's own search path would hide an import that only it can follow."""
    assert len(names()) >= 8
    code = "import importlib, sys; [importlib.import_module(f'tests.benchmarks.bench_{n}') for n in sys.argv[1:]]"
    ran = subprocess.run([sys.executable, "-c", code, *names()], cwd=ROOT, capture_output=True, text=True,
                         env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)  # fmt: skip
    assert ran.returncode == 0, ran.stderr
