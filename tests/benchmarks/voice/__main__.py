"""python -m tests.benchmarks.voice [--n 4] [--seed 1031] [--voices V,...] [--noises N,...] [--alone] [--fsdd DIR]

Seeds below 1000 were used for tuning; report with others. Speech is synthetic unless --fsdd is given.
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import statistics
import sys
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice import panel as panels
from guide.edge.voice.agreement import Asked, Outcome, meaning
from guide.edge.voice.audio import EndOfSound, Recordings, read_sound
from guide.edge.voice.endpoint import Endpointer, Segment
from tests.benchmarks.voice.phrases import Phrase, drawn

ROOT = Path(__file__).parents[3]
VOICES = "flite:slt,flite:rms,flite:awb,flite:kal16,espeak:en-us,espeak:en-gb"
NOISES = "clean,fan:20,pink:20,fan:15,pink:15"
MOST_TURNS = 6


def _sample_maker() -> Any:
    spec = importlib.util.spec_from_file_location("make_samples", ROOT / "audio_samples" / "make_samples.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_samples"] = module
    spec.loader.exec_module(module)
    return module


@dataclass
class Tally:
    """Counts of one group of utterances."""

    heard: Counter[str] = field(default_factory=Counter)
    turns: list[int] = field(default_factory=list)

    def line(self, name: str) -> str:
        n = sum(self.heard.values()) or 1
        share = {k: 100 * v / n for k, v in self.heard.items()}
        right = share.get("agreed right", 0) + share.get("asked right", 0)
        turns = f"{statistics.mean(self.turns):.2f}" if self.turns else "-"
        return (
            f"{name:<22} n={n:<4} right at first {right:5.1f} %  went on {share.get('agreed right', 0):5.1f} %  "
            f"SILENT WRONG {self.heard['agreed wrong']} ({share.get('agreed wrong', 0):.1f} %)  "
            f"asked wrong {share.get('asked wrong', 0):4.1f} %  again {share.get('again', 0):4.1f} %  "
            f"ignored {share.get('ignore', 0):4.1f} %  utterances a reading {turns}"
        )


class Bench:
    """One panel, and the clips played to it."""

    def __init__(self, panel: panels.Panel, maker: Any, rng: np.random.Generator) -> None:
        self._panel, self._maker, self._rng = panel, maker, rng
        self.text = ""
        self.latency: dict[str, list[float]] = defaultdict(list)
        self._speech: dict[tuple[str, str], np.ndarray] = {}

    def sound(self, words: str, voice: str, noise: str) -> bytes:
        """Return the clip, with fresh noise each time."""
        kind, _, snr = noise.partition(":")
        if (words, voice) not in self._speech:
            self._speech[words, voice] = self._maker.spoken(words, voice)
        speech = self._speech[words, voice]
        return bytes(self._maker.as_s16(self._maker.mixed(speech, kind, float(snr) if snr else None, self._rng)))

    def heard(self, sound: bytes, wants: Expecting, asked: Asked) -> tuple[Outcome, str]:
        """Return what came of the first utterance of a clip that was one."""
        source, endpointer = Recordings([sound]), Endpointer()
        began = time.perf_counter()
        segment: Segment | None = None
        try:
            while segment is None:
                segment = endpointer.feed(source.frame(0.0) or b"")
        except EndOfSound:
            return Outcome.IGNORE, ""
        ended = time.perf_counter()
        judged = self._panel.hear(segment.samples, wants, asked=asked)
        self.latency["end-pointing, a whole clip"].append(ended - began)
        self.latency[f"recognition, {judged.outcome.value}"].append(time.perf_counter() - ended)
        return judged.outcome, judged.text

    def first(self, phrase: Phrase, voice: str, noise: str) -> str:
        """Return how the first hearing of a phrase came out."""
        wants = Expecting(phrase.measure)
        outcome, self.text = self.heard(self.sound(phrase.words, voice, noise), wants, Asked.ANSWER)
        text = self.text
        if outcome in (Outcome.AGAIN, Outcome.IGNORE):
            return outcome.value
        if phrase.kind == "talk":
            meant = meaning(text, wants)
            acts = isinstance(meant, tuple) and meant[0] in ("command", "word")
            return "acted on" if acts or outcome is Outcome.AGREED else "asked about"
        same = meaning(text, wants) == _truth(phrase)
        return f"{'agreed' if outcome is Outcome.AGREED else 'asked'} {'right' if same else 'wrong'}"

    def turns(self, phrase: Phrase, voice: str, noise: str, first: str) -> tuple[int, bool]:
        """Return how many utterances it takes until a reading counts, and whether what counts is right."""
        wants, said, outcome = Expecting(phrase.measure), 1, first
        while said < MOST_TURNS:
            if outcome.startswith("agreed"):
                return said, outcome == "agreed right"
            if outcome.startswith("asked"):
                said += 1
                answer = "yes" if outcome == "asked right" else "no"
                _, text = self.heard(self.sound(answer, voice, noise), wants, Asked.YES_NO)
                if text == "yes":
                    return said, outcome == "asked right"
                if text not in ("no", "yes"):
                    continue
            said += 1
            outcome = self.first(phrase, voice, noise)
        return said, True


def _truth(phrase: Phrase) -> object:
    if phrase.kind == "reading":
        return ("over range",) if phrase.value is None else ("reading", float(f"{phrase.value:.5g}"))
    return meaning(phrase.words, Expecting(phrase.measure))


def report(arguments: argparse.Namespace) -> None:
    """Play everything and print the tallies."""
    home = Path("/nonexistent")
    panel = panels.panel(home)
    if arguments.alone:
        panel = panels.Panel(panel.listeners)
    bench = Bench(panel, _sample_maker(), np.random.default_rng(arguments.seed))
    print(f"recognisers: {', '.join(panel.engines)}; seed {arguments.seed}; speech is synthetic")
    tallies: dict[str, Tally] = defaultdict(Tally)
    talk, wrong_in_the_end = Counter[str](), 0
    for voice in arguments.voices.split(","):
        said = drawn(random.Random(f"{arguments.seed} {voice}"), arguments.n)
        for i, phrase in enumerate(said):
            noises = arguments.noises.split(",")
            for noise in noises if arguments.every else [noises[i % len(noises)]]:
                first = bench.first(phrase, voice, noise)
                if arguments.show and not first.endswith("right") and first != "ignore":
                    print(f"   {first}: {phrase.words!r} by {voice}, {noise}, as {bench.text!r}")
                if phrase.kind == "talk":
                    talk[first] += 1
                    continue
                groups = ("all", voice, noise, phrase.kind, f"{voice} {noise}" if arguments.every else "all")
                for group in dict.fromkeys(groups):
                    tallies[group].heard[first] += 1
                if phrase.kind == "reading" and not arguments.first_only:
                    count, right = bench.turns(phrase, voice, noise, first)
                    wrong_in_the_end += not right
                    for group in dict.fromkeys(groups):
                        tallies[group].turns.append(count)
    for name, tally in tallies.items():
        print(tally.line(name))
    print(
        f"talk ({sum(talk.values())} clips): acted on {talk['acted on']}, asked about {talk['asked about']}, "
        f"said `again` to {talk['again']}, ignored {talk['ignore']}"
    )
    print(f"readings that counted and were wrong: {wrong_in_the_end}")
    for name, taken in bench.latency.items():
        taken.sort()
        print(f"{name}: median {taken[len(taken) // 2] * 1e3:.0f} ms, p95 {taken[int(len(taken) * 0.95)] * 1e3:.0f} ms")
    panel.close()


def human(folder: Path, alone: bool) -> None:
    """Human digits one by one, at ohms."""
    panel = panels.panel(Path("/nonexistent"))
    if alone:
        panel = panels.Panel(panel.listeners)
    tallies: dict[str, Tally] = defaultdict(Tally)
    quiet, wants = bytes(9600), Expecting(Measure.OHMS)
    for file in sorted(folder.glob("*.wav")):
        digit, speaker, _ = file.stem.split("_")
        judged = panel.hear(quiet + read_sound(file) + quiet, wants)
        same = meaning(judged.text, wants) == ("reading", float(digit))
        outcome = {Outcome.AGREED: "agreed", Outcome.HEARD: "asked"}.get(judged.outcome)
        for group in ("all", speaker):
            tallies[group].heard[f"{outcome} {'right' if same else 'wrong'}" if outcome else judged.outcome.value] += 1
    print(f"recognisers: {', '.join(panel.engines)}; human digits at 8 kHz")
    for name, tally in tallies.items():
        print(tally.line(name))
    panel.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--n", type=int, default=4, help="of each kind, for each voice")
    parser.add_argument("--seed", type=int, default=1031)
    parser.add_argument("--voices", default=VOICES)
    parser.add_argument("--noises", default=NOISES)
    parser.add_argument("--every", action="store_true", help="every phrase in every noise, not in turn")
    parser.add_argument("--alone", action="store_true", help="without the second ear")
    parser.add_argument("--first-only", action="store_true", help="do not play the read-backs through")
    parser.add_argument("--show", action="store_true", help="print what was misheard")
    parser.add_argument("--fsdd", type=Path, help="a folder of human digits; nothing else is played")
    arguments = parser.parse_args()
    if arguments.fsdd:
        human(arguments.fsdd, arguments.alone)
    else:
        report(arguments)


if __name__ == "__main__":
    main()
