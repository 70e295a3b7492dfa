"""Speech: from the end of an answer to the first sound of what is said back; a change of question; memory. Prints JSON.

    python -m tests.benchmarks.bench_speech [ROUNDS]

The recordings of the demo job are played to the ear, the job with its store on disk, and the voice; the clock stops
when the first samples reach the loudspeaker. From the last sound of a clip on each frame comes when a microphone would
have it, for the ear is at work while it waits for the end. The decision is the moment the frame comes that ends the
utterance, whether the ear is ready for it or not. Times are milliseconds; processor time is what all threads used from
the last sound to the first one said. Baseline of the same run: the first recogniser's narrow pass alone.
"""

import json
import sys
import tempfile
import threading
import time
from array import array
from collections import defaultdict
from pathlib import Path
from statistics import median

from guide import app
from guide.commands.demo import question_key
from guide.commands.spoken import Mouth
from guide.core.intent import Expecting, Utterance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import expecting, question
from guide.core.words.vocabulary import vocabulary
from guide.edge.jobs.store import Store
from guide.edge.voice.agreement import Asked, Judged
from guide.edge.voice.audio import FRAME_S, RATE, Recordings, read_sound
from guide.edge.voice.ear import Ear
from guide.edge.voice.panel import Panel, panel
from guide.edge.voice.speaker import Espeak, Speaker
from tests.benchmarks.bench_job import peak_of, timed
from tests.samples import MANIFEST, SAMPLES
from tests.worlds import shipped_tree

ROUNDS = 5
QUIET = 0.01  # of the loudest sample: below it a clean recording is silence


class Stopwatch:
    """A loudspeaker that notes when the first samples came."""

    rate = 22_050

    def __init__(self) -> None:
        self.at = 0.0
        self.sounded = threading.Event()

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        if not self.sounded.is_set():
            self.at = time.perf_counter()
            self.sounded.set()

    def close(self) -> None:
        pass


def last_sound_s(clip: Path) -> float:
    """When the last sound of a clean recording was."""
    samples = array("h", read_sound(clip))
    loud = max(map(abs, samples)) * QUIET
    return next(i for i in range(len(samples) - 1, -1, -1) if abs(samples[i]) > loud) / RATE


class OnTime:
    """Frames of a clip: at once up to its last sound, then each when it is due."""

    def __init__(self, clip: Path) -> None:
        self._clip, self._last_s = Recordings([clip]), last_sound_s(clip)
        self._number, self._start, self.lost = 0, 0.0, False
        self.due = self.used = 0.0

    @property
    def last_sound(self) -> float:
        """When the last sound was, by the clock the frames are due by."""
        return self._start + self._last_s

    def frame(self, wait_s: float) -> bytes | None:
        found = self._clip.frame(wait_s)
        self._number += 1
        at = self._number * FRAME_S
        if at > self._last_s:
            now = time.perf_counter()
            if not self._start:
                self._start, self.used = now - self._last_s, time.process_time()
            self.due = self._start + at
            time.sleep(max(0.0, self.due - now))
        return found

    def close(self) -> None:
        pass


class Overheard:
    """A panel that keeps what it was last asked to hear, and counts."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.samples, self.times = panel, b"", 0
        self.prepare, self.close = panel.prepare, panel.close

    def hear(self, samples: bytes, expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
        self.samples, self.times = samples, self.times + 1
        return self._panel.hear(samples, expecting, asked=asked)


def turn(session: app.Session, ear: Panel, speaker: Speaker, out: Stopwatch, clip: Path, found: dict) -> list[dict]:
    """Answer the question that stands with a clip; note the times; return what was told."""
    phase, wants = session.job.phase, expecting(session.job)
    asked = Asked.YES_NO if phase is Phase.CONFIRMING else Asked.ANSWER
    found["a change of question"].append(timed(lambda: ear.prepare(wants)))
    sound, overheard = OnTime(clip), Overheard(ear)
    listening = Ear(sound, overheard)
    out.sounded.clear()
    came = listening.listen(wants, asked=asked)
    heard = time.perf_counter()
    told = session.hear(came) if isinstance(came, Utterance) else [{"type": "told", "say": "Say it again."}]
    Mouth(speaker).say(told)
    assert out.sounded.wait(20), "nothing was said"
    used = time.process_time() - sound.used
    found["recognition, after the decision"].append((heard - sound.due) * 1000)
    found["job and voice"].append((out.at - heard) * 1000)
    found["decision to first sound"].append((out.at - sound.due) * 1000)
    found["real end to first sound"].append((out.at - sound.last_sound) * 1000)
    found["processor time"].append(used * 1000)
    found["times a clip was heard"].append(overheard.times)
    narrow = vocabulary(wants)
    found["narrow pass (baseline)"].append(timed(lambda: ear.listeners[0].words(overheard.samples, narrow)))
    speaker.stop()
    speaker.wait(5)
    return told


def play(folder: Path, ear: Panel, found: dict) -> None:
    """One whole job, spoken."""
    clips = {row["question"]: SAMPLES / row["file"] for row in MANIFEST["job"]}
    out = Stopwatch()
    speaker, store = Speaker(Espeak(), out), Store(folder)
    tree, text = shipped_tree(MANIFEST["tree"])
    session, told = app.begin(store, tree, text)
    for _ in range(40):
        standing = question(session.job)
        if app.done(told) or standing is None:
            break
        told = turn(session, ear, speaker, out, clips[question_key(standing)], found)
    speaker.close()
    store.close()


def spread(samples: list[float]) -> dict[str, float]:
    ordered = sorted(samples)
    return {"median": round(median(ordered), 1), "p95": round(ordered[int(len(ordered) * 0.95)], 1),
            "worst": round(ordered[-1], 1), "samples": len(ordered)}  # fmt: skip


def peak_mb(ears: str) -> float:
    """The most memory a process of its own takes to hear the recordings of the job."""
    clips = [str(SAMPLES / row["file"]) for row in MANIFEST["job"]]
    with tempfile.TemporaryDirectory() as home:
        return peak_of(["hear", "--json", *clips], Path(home), without="moonshine_voice" if ears == "alone" else "")


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS
    result = {}
    with tempfile.TemporaryDirectory() as name:
        both = panel(Path(name))
        for kind, ear in (("both ears", both), ("the shipped recogniser alone", Panel(both.listeners))):
            found: dict[str, list[float]] = defaultdict(list)
            for number in range(rounds):
                play(Path(name) / f"{kind}-{number}", ear, found)
            result[kind] = {"engines": list(ear.engines), **{k: spread(v) for k, v in found.items()}}
        both.close()
    result["memory, MB"] = {"the shipped recogniser alone": peak_mb("alone"), "both ears": peak_mb("both")}
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
