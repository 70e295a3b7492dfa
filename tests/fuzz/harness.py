"""Coverage-guided fuzzing with atheris (`pip install atheris`, Linux, not part of the dev extra).

    nice python -m tests.fuzz.harness words FOLDER -max_total_time=600 -max_len=40
    nice python -m tests.fuzz.harness event FOLDER -runs=1000000 -max_len=200
    nice python -m tests.fuzz.harness tree FOLDER -max_total_time=600 -max_len=4000
    nice python -m tests.fuzz.harness job FOLDER -max_total_time=600 -max_len=20000
    nice python -m tests.fuzz.harness history FOLDER -max_total_time=600 -max_len=60

FOLDER keeps what reached new code, for a later run and for `tests.fuzz.mutate`, which is ten times as fast without the
measuring. Options are libFuzzer's. A find is written to the current folder and ends the run; it becomes a test.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["guide"]):
    from tests.fuzz.seeds import seeds
    from tests.fuzz.targets import TARGETS


def main() -> None:
    name, kept, *options = sys.argv[1:]
    Path(kept).mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as first:
        for number, seed in enumerate(seeds(name)):
            (Path(first) / f"{number:05}").write_bytes(seed)
        atheris.Setup([sys.argv[0], *options, kept, first], TARGETS[name])
        atheris.Fuzz()


if __name__ == "__main__":
    main()
