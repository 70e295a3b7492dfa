"""python -m tests.benchmarks.voice [--n 4] [--seed 1031] [--voices V,...] [--noises N,...] [--ears both] [--fsdd DIR]

Seeds below 1000 were used for tuning; report with others. Speech is synthetic unless --fsdd is given.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.util
import math
import os
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
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice import panel as panels
from guide.edge.voice.agreement import Asked, Outcome, meaning
from guide.edge.voice.audio import EndOfSound, Recordings, read_sound
from guide.edge.voice.endpoint import Endpointer, Segment
from guide.edge.voice.listeners import Listener
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


class Remembering:
    """A listener that decodes each sound once a grammar, so that two panels can share it. `forget` between clips."""

    def __init__(self, listener: Listener) -> None:
        self._listener, self.engine = listener, listener.engine
        self._heard: dict[tuple[bytes, str], tuple[str, float]] = {}
        self.fit = 0.0

    def prepare(self, vocabulary: Vocabulary) -> None:
        self._listener.prepare(vocabulary)

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        key = (samples, vocabulary.jsgf)
        if key not in self._heard:
            self._heard[key] = self._listener.words(samples, vocabulary), self._listener.fit
        text, self.fit = self._heard[key]
        return text

    def forget(self) -> None:
        self._heard.clear()


def bound(wrong: int, of: int) -> float:
    """Return the upper 95 % confidence bound of a rate in percent, after Clopper and Pearson; none seen: 3 / n."""
    if of == 0 or wrong == of:
        return 100.0
    low, high = wrong / of, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        seen = sum(math.comb(of, k) * middle**k * (1 - middle) ** (of - k) for k in range(wrong + 1))
        low, high = (middle, high) if seen > 0.05 else (low, middle)
    return 100 * high


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
    """One panel, and what it made of the clips."""

    def __init__(self, name: str, panel: panels.Panel) -> None:
        self.name, self._panel = name, panel
        self.text = ""
        self.latency: dict[str, list[float]] = defaultdict(list)
        self.tallies: dict[str, Tally] = defaultdict(Tally)
        self.talk: Counter[str] = Counter()
        self.values_gone_on: Counter[bool] = Counter()
        self.wrong_in_the_end = 0

    def heard(self, segment: Segment | None, wants: Expecting, asked: Asked) -> tuple[Outcome, str]:
        if segment is None:
            return Outcome.IGNORE, ""
        began = time.perf_counter()
        judged = self._panel.hear(segment.samples, wants, asked=asked)
        self.latency[f"recognition, {judged.outcome.value}"].append(time.perf_counter() - began)
        return judged.outcome, judged.text

    def first(self, segment: Segment | None, phrase: Phrase) -> str:
        """Return how the first hearing of a phrase came out."""
        wants = Expecting(phrase.measure)
        outcome, self.text = self.heard(segment, wants, Asked.ANSWER)
        if outcome in (Outcome.AGAIN, Outcome.IGNORE):
            return outcome.value
        meant = meaning(self.text, wants)
        if phrase.kind == "talk":
            acts = isinstance(meant, tuple) and meant[0] in ("command", "word")
            return "acted on" if acts or outcome is Outcome.AGREED else "asked about"
        same = meant == _truth(phrase)
        if outcome is Outcome.AGREED and isinstance(meant, tuple) and meant[0] in ("reading", "over range"):
            self.values_gone_on[same] += 1
        return f"{'agreed' if outcome is Outcome.AGREED else 'asked'} {'right' if same else 'wrong'}"

    def report(self) -> None:
        print(f"--- {self.name}: {', '.join(self._panel.engines)}")
        for name, tally in self.tallies.items():
            print(tally.line(name))
        answers, wrong = sum(self.tallies["all"].heard.values()), self.values_gone_on[False]
        print(
            f"values that went on without a yes: {sum(self.values_gone_on.values())}, wrong {wrong}; of {answers} "
            f"answers that is {100 * wrong / max(answers, 1):.2f} %, below {bound(wrong, answers):.2f} % with 95 % "
            f"confidence; of those that went on below {bound(wrong, sum(self.values_gone_on.values())):.1f} %"
        )
        print(
            f"talk ({sum(self.talk.values())} clips): acted on {self.talk['acted on']}, asked about "
            f"{self.talk['asked about']}, said `again` to {self.talk['again']}, ignored {self.talk['ignore']}"
        )
        if any(tally.turns for tally in self.tallies.values()):
            print(f"readings that counted and were wrong: {self.wrong_in_the_end}")
        for name, taken in self.latency.items():
            taken.sort()
            print(
                f"{name}: median {taken[len(taken) // 2] * 1e3:.0f} ms, p95 {taken[int(len(taken) * 0.95)] * 1e3:.0f}"
            )


class Sounds:
    """Clips with fresh noise each time, and the first utterance the end-pointing makes of them."""

    def __init__(self, maker: Any, rng: np.random.Generator) -> None:
        self._maker, self._rng = maker, rng
        self._speech: dict[tuple[str, str], np.ndarray] = {}
        self.taken: list[float] = []

    def segment(self, words: str, voice: str, noise: str) -> Segment | None:
        kind, _, snr = noise.partition(":")
        if (words, voice) not in self._speech:
            self._speech[words, voice] = self._maker.spoken(words, voice)
        speech = self._speech[words, voice]
        mixed = self._maker.mixed(speech, kind, float(snr) if snr else None, self._rng)
        source, endpointer = Recordings([bytes(self._maker.as_s16(mixed))]), Endpointer()
        began = time.perf_counter()
        found: Segment | None = None
        with contextlib.suppress(EndOfSound):
            while found is None:
                found = endpointer.feed(source.frame(0.0) or b"")
        self.taken.append(time.perf_counter() - began)
        return found


def turns(bench: Bench, sounds: Sounds, phrase: Phrase, voice: str, noise: str, first: str) -> tuple[int, bool]:
    """Return how many utterances it takes until a reading counts, and whether what counts is right."""
    wants, said, outcome = Expecting(phrase.measure), 1, first
    while said < MOST_TURNS:
        if outcome.startswith("agreed"):
            return said, outcome == "agreed right"
        if outcome.startswith("asked"):
            said += 1
            answer = "yes" if outcome == "asked right" else "no"
            _, text = bench.heard(sounds.segment(answer, voice, noise), wants, Asked.YES_NO)
            if text == "yes":
                return said, outcome == "asked right"
            if text not in ("no", "yes"):
                continue
        said += 1
        outcome = bench.first(sounds.segment(phrase.words, voice, noise), phrase)
    return said, True


def _truth(phrase: Phrase) -> object:
    if phrase.kind == "reading":
        return ("over range",) if phrase.value is None else ("reading", float(f"{phrase.value:.5g}"))
    return meaning(phrase.words, Expecting(phrase.measure))


def report(arguments: argparse.Namespace) -> None:
    """Play everything and print the tallies."""
    panel = panels.panel(Path("/nonexistent"))
    shared = [Remembering(listener) for listener in panel.listeners]
    panel.listeners = tuple(shared)
    benches = [] if arguments.ears == "one" else [Bench("with the second ear", panel)]
    if arguments.ears != "two":
        benches.append(Bench("one recogniser alone", panels.Panel(shared)))
    sounds = Sounds(_sample_maker(), np.random.default_rng(arguments.seed))
    print(f"seed {arguments.seed}; speech is synthetic; load {os.getloadavg()[0]:.1f} at the start")
    voices, noises = arguments.voices.split(","), arguments.noises.split(",")
    said = {voice: drawn(random.Random(f"{arguments.seed} {voice}"), arguments.n) for voice in voices}
    with contextlib.suppress(KeyboardInterrupt):  # what has been played by then is reported
        # Voices in turn and phrases in an order drawn, so that a run cut short is a smaller one of the same kind.
        order = random.Random(arguments.seed).sample(range(len(said[voices[0]])), len(said[voices[0]]))
        for count, i in enumerate(order):
            for voice in voices:
                for noise in noises if arguments.every else [noises[count % len(noises)]]:
                    _play(benches, sounds, said[voice][i], voice, noise, arguments)
                    for listener in shared:
                        listener.forget()
            print(f"{time.strftime('%H:%M:%S')} {count + 1} of {len(order)} phrases of each voice", flush=True)
    for bench in benches:
        bench.report()
    sounds.taken.sort()
    print(f"end-pointing, a whole clip: median {sounds.taken[len(sounds.taken) // 2] * 1e3:.0f} ms")
    print(f"load {os.getloadavg()[0]:.1f} at the end; latencies of the recogniser alone are without shared passes only")
    panel.close()


def _play(
    benches: list[Bench], sounds: Sounds, phrase: Phrase, voice: str, noise: str, arguments: argparse.Namespace
) -> None:
    segment = sounds.segment(phrase.words, voice, noise)
    for bench in benches:
        first = bench.first(segment, phrase)
        if arguments.show and not first.endswith("right") and first != "ignore":
            print(f"   {bench.name}: {first}: {phrase.words!r} by {voice}, {noise}, as {bench.text!r}")
        if phrase.kind == "talk":
            bench.talk[first] += 1
            continue
        groups = ("all", voice, noise, phrase.kind, f"{voice} {noise}" if arguments.every else "all")
        for group in dict.fromkeys(groups):
            bench.tallies[group].heard[first] += 1
        if phrase.kind == "reading" and not arguments.first_only:
            count, right = turns(bench, sounds, phrase, voice, noise, first)
            bench.wrong_in_the_end += not right
            for group in dict.fromkeys(groups):
                bench.tallies[group].turns.append(count)


def human(folder: Path, ears: str) -> None:
    """Human digits one by one, at ohms."""
    panel = panels.panel(Path("/nonexistent"))
    if ears == "one":
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
    parser.add_argument("--ears", choices=("one", "two", "both"), default="two", help="with the second ear or not")
    parser.add_argument("--first-only", action="store_true", help="do not play the read-backs through")
    parser.add_argument("--show", action="store_true", help="print what was misheard")
    parser.add_argument("--fsdd", type=Path, help="a folder of human digits; nothing else is played")
    arguments = parser.parse_args()
    if arguments.fsdd:
        human(arguments.fsdd, arguments.ears)
    else:
        report(arguments)


if __name__ == "__main__":
    main()
