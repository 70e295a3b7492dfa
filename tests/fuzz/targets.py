"""What is fuzzed: each target takes any bytes and may end in the errors it documents, and in no other way."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from dataclasses import fields
from functools import cache
from math import isfinite
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from pydantic import ValidationError

from guide.core.errors import BadInput, StoreError
from guide.core.intent import Command, Do, Expecting, Pick, Say, Unclear, Utterance
from guide.core.jobs import events as ev
from guide.core.jobs.coding import from_json, to_json
from guide.core.jobs.folding import evolve, fold
from guide.core.jobs.job import opened
from guide.core.jobs.onward import advance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import question
from guide.core.jobs.weighing import beliefs_of
from guide.core.lint import lint
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Answered, Measured, OverRange
from guide.core.tree import Tree
from guide.core.words.understanding import understand
from guide.edge.jobs import jobfile
from guide.edge.trees import treefile
from tests.worlds import FERNLEAF, shipped_tree

_MEASURES = tuple(Measure)
_ANSWERS = {"fitted": ("fitted", "there"), "torn off": ("torn off", "gone")}
_KINDS = tuple(ev.KINDS)
# Names the tree knows and units, so that what is grown gets past the first look.
_TEXTS = ("feed-volts", "bus-ohms", "good", "low", "none", "dead", "cable-broken", "fuse-open", "other", "unplugged",
          "one-hand", "V", "ohm", "word", "value", "unit", "resolution", "margin", "over_range", "", "stale", "plan",
          "yes", "\x1b[31m")  # fmt: skip


def words(data: bytes) -> None:
    """Any line at any kind of question is one intent or unclear; a number is finite and in the unit asked for."""
    measure = _MEASURES[data[0] % len(_MEASURES)] if data else Measure.DIODE
    text = data[1:].decode("utf-8", "replace")
    taking = measure.takes_a_reading
    wants = Expecting(measure, HANDHELD.spec(measure)) if taking else Expecting(answers=_ANSWERS)
    match understand(Utterance(text), wants):
        case Say(Measured(quantity, resolution, margin)):
            assert taking
            assert quantity.unit is measure.unit
            assert isfinite(quantity.value)
            assert resolution >= 0
            assert margin >= 0
        case Say(OverRange(unit)):
            assert unit is measure.unit
        case Say(Answered(word)) | Pick(word, _):
            assert word in wants.answers
        case Do(command, _):
            assert isinstance(command, Command)
        case Unclear(reason):
            assert reason


class Grown:
    """JSON values grown out of bytes, so that the fuzzer spends itself on values and not on brackets."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0

    def byte(self) -> int:
        self._at += 1
        return self._data[self._at - 1] if self._at <= len(self._data) else 0

    def left(self) -> bool:
        return self._at < len(self._data)

    def number(self) -> float:
        raw = bytes(self.byte() for _ in range(8))
        return float(struct.unpack("<d", raw)[0])

    def text(self) -> str:
        known = self.byte()
        if known < 128:
            return _TEXTS[known % len(_TEXTS)]
        raw = bytes(self.byte() for _ in range(known % 12))
        return raw.decode("utf-8", "surrogatepass" if known & 1 else "replace")

    def value(self, depth: int = 0) -> Any:
        match self.byte() % (9 if depth < 4 else 7):
            case 0:
                return None
            case 1:
                return bool(self.byte() & 1)
            case 2:
                return self.byte() - 128
            case 3:
                return self.number()
            case 4:
                return self.byte() / 255
            case 5 | 6:
                return self.text()
            case 7:
                return [self.value(depth + 1) for _ in range(self.byte() % 5)]
        return {self.text(): self.value(depth + 1) for _ in range(self.byte() % 5)}


def event(data: bytes) -> None:
    """Any body of any kind is an event, or a damaged one; an event comes back from its own JSON the same."""
    grown = Grown(data)
    try:
        kind = _KINDS[grown.byte() % len(_KINDS)]
        names = [f.name for f in fields(ev.KINDS[kind])]
        body = {name: grown.value() for name in names if grown.byte() % 8}
        decoded = from_json(kind, grown.byte() % 2 or 1, body)
    except (StoreError, UnicodeDecodeError):
        return
    again = json.loads(json.dumps(to_json(decoded), ensure_ascii=False, allow_nan=False).encode())
    assert from_json(kind, 1, again) == decoded


def tree(data: bytes) -> None:
    """Any text is a tree or findings, each with a line of the file; a tree can be linted."""
    try:
        text = data.decode("utf-8", "surrogatepass")  # a lone surrogate cannot come out of a file, but out of an import
    except UnicodeDecodeError:
        text = data.decode("utf-8", "replace")
    loaded, findings = treefile.load(text, "t.yaml", "t")
    lines = len(text.splitlines()) + 1
    assert all(1 <= f.where.line <= max(lines, 1) for f in findings)
    assert loaded is not None or findings
    if loaded is not None:
        lint(loaded)


def job(data: bytes) -> None:
    """Any document is refused, or is a job that folds."""
    memory = Path("/dev/shm")
    with NamedTemporaryFile(dir=memory if memory.is_dir() else None, suffix=".json") as file:
        file.write(data)
        file.flush()
        _imported(Path(file.name))


def _imported(path: Path) -> None:
    try:
        document = jobfile.read(path)
        known = treefile.read(document.tree.text, "t.yaml", document.tree.id)
        recorded = jobfile.history(document, known, path)
    except BadInput:
        return
    fold(opened(known), [one.event for one in recorded])


def history(data: bytes) -> None:
    """A sound job with values changed, taken out, doubled or swapped is refused, or folds and can be gone on with."""
    known, told = _sound()
    grown, listed = Grown(data), json.loads(told)
    try:
        while grown.left() and listed:
            _change(grown, listed)
        listed = json.loads(json.dumps(listed))
    except (UnicodeDecodeError, IndexError, ValueError):
        return
    try:
        document = jobfile.JobDocument.model_validate({
            "format": "guide-job", "version": 1, "device": "", "symptom": "", "began": "2026-01-05T09:00:00+00:00",
            "tree": {"id": FERNLEAF, "sha256": "0" * 64, "text": ""}, "events": listed,
        })  # fmt: skip
        recorded = jobfile.history(document, known, Path("x"))
    except (ValidationError, BadInput):
        return
    folded = fold(opened(known), [one.event for one in recorded])
    if folded.phase is Phase.CLOSED:
        return
    resumed = evolve(folded, ev.Resumed())
    standing = question(fold(resumed, advance(resumed)))
    assert standing is None or json.dumps(standing, allow_nan=False)
    assert abs(sum(beliefs_of(folded).values()) - 1) < 1e-9


def _change(grown: Grown, listed: list[dict[str, Any]]) -> None:
    at = grown.byte() % len(listed)
    match grown.byte() % 8:
        case 0:
            del listed[at]
            _number(listed)
        case 1:
            listed.insert(at, listed[grown.byte() % len(listed)])
            listed[:] = [dict(one) for one in listed]
            _number(listed)
        case 2:
            del listed[max(at, 1) :]
        case 3:
            listed[at]["kind"] = _KINDS[grown.byte() % len(_KINDS)]
        case 4 if listed[at]["body"]:
            inner = listed[at]["body"]
            name = sorted(inner)[grown.byte() % len(inner)]
            if isinstance(inner[name], dict) and inner[name]:
                inner[name] = {**inner[name], sorted(inner[name])[grown.byte() % len(inner[name])]: grown.value()}
            else:
                inner[name] = grown.value()
        case _ if listed[at]["body"]:
            inner = listed[at]["body"]
            inner[sorted(inner)[grown.byte() % len(inner)]] = grown.value()


def _number(listed: list[dict[str, Any]]) -> None:
    for place, one in enumerate(listed, 1):
        one["seq"] = place


@cache
def _sound() -> tuple[Tree, str]:
    from tests.fuzz.seeds import sound_events

    return shipped_tree(FERNLEAF)[0], json.dumps(sound_events())


TARGETS: dict[str, Callable[[bytes], None]] = {
    "words": words, "event": event, "tree": tree, "job": job, "history": history,
}  # fmt: skip
