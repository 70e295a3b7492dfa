"""Where the fuzzer begins: what people say, every kind of event, the shipped trees, one whole job."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from guide.core.jobs import events as ev
from guide.core.quantity import Measure
from guide.edge.jobs import jobfile
from tests.lint_examples import BREAKS, CLEAN, PASSES, changed
from tests.test_spoken_phrases import LINES
from tests.worlds import FERNLEAF, TestBench, shipped_tree

SAID = ("ready", "12.1", "note splash", "unplugged", "OL", "go back", "OL", "enough", "1", "done", "unplugged", "60.2",
        "works")  # fmt: skip


def seeds(target: str) -> Iterator[bytes]:
    """Yield the seeds of a target."""
    match target:
        case "words":
            numbers = {m.value: i for i, m in enumerate(Measure)}
            yield from (bytes([numbers[measure]]) + phrase.encode() for measure, phrase, _ in LINES)
        case "event":
            yield from (bytes([kind, *([1, 5, word] * 8)]) for kind in range(len(ev.KINDS)) for word in (0, 2, 11))
        case "tree":
            yield shipped_tree(FERNLEAF)[1].encode()
            yield CLEAN.encode()
            yield from (changed(*changes).encode() for changes, _ in BREAKS.values())
            yield from (changed(*changes).encode() for changes in PASSES.values())
        case "job":
            yield json.dumps(_document()).encode()
        case "history":
            places = range(len(sound_events()))
            yield from (bytes([place, change, 0, 4, 200]) for place in places for change in range(8))


def sound_events() -> list[dict]:
    """Return the events of a whole job, as an export has them."""
    return _document()["events"]


@cache
def _document() -> dict:
    with TemporaryDirectory() as home:
        bench = TestBench(Path(home))
        bench.hears(*SAID)
        kept = bench.store.summary("1")
        of, said = bench.store.tree_of("1"), bench.store.events("1")
        text = jobfile.written(of, said, device=kept.device, symptom=kept.symptom, began=kept.began)
        bench.store.close()
    return json.loads(text)
