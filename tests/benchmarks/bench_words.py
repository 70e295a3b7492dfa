"""Words: a parse, a whole line, a vocabulary, a cold first parse. Prints JSON, in milliseconds.

    python -m tests.benchmarks.bench_words

The baseline of the same run is splitting the line into words, with nothing understood.
"""

import json
import subprocess
import sys
import time
from statistics import median, quantiles

from guide.core.intent import Expecting, Utterance
from guide.core.quantity import Measure
from guide.core.words import vocabulary as vocabularies
from guide.core.words.spoken import parse
from guide.core.words.templates import Breadth
from guide.core.words.tokens import tokens
from guide.core.words.understanding import understand
from guide.core.words.vocabulary import vocabulary
from tests.test_spoken_phrases import LINES

ROUNDS = 20
COLD = """
import time
start = time.perf_counter()
from guide.core.quantity import Measure
from guide.core.words.spoken import parse
parse("four fifty two", Measure.DIODE)
print((time.perf_counter() - start) * 1000)
"""


def timed(work) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def spread(samples: list[float]) -> dict[str, float]:
    return {"median": round(median(samples), 4), "p99": round(quantiles(samples, n=100)[98], 4)}


def every_line(work) -> list[float]:
    """The best of a few rounds for each phrase, so that a busy machine does not count as a slow phrase."""

    def best(measure, phrase):
        return min(timed(lambda: work(phrase, Measure(measure))) for _ in range(ROUNDS))

    return [best(measure, phrase) for measure, phrase, _ in LINES]


def vocabulary_times(breadth: Breadth) -> list[float]:
    def built(measure):
        vocabularies._reading_rules.cache_clear()
        return timed(lambda: vocabulary(Expecting(measure), breadth=breadth))

    return [built(m) for m in Measure if m.takes_a_reading for _ in range(ROUNDS)]


def main() -> None:
    runs = (subprocess.run([sys.executable, "-c", COLD], capture_output=True, check=True) for _ in range(5))
    cold = [float(run.stdout) for run in runs]
    print(json.dumps({
        "phrases": len(LINES),
        "split_only": spread(every_line(lambda p, _: tokens(p))),
        "parse": spread(every_line(parse)),
        "understand": spread(every_line(lambda p, m: understand(Utterance(p), Expecting(m)))),
        "vocabulary_narrow": spread(vocabulary_times(Breadth.NARROW)),
        "vocabulary_broad": spread(vocabulary_times(Breadth.BROAD)),
        "cold_import_and_first_parse": round(median(cold), 1),
    }, indent=1))  # fmt: skip


if __name__ == "__main__":
    main()
