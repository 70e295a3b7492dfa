#!/usr/bin/env python3
"""Make the recordings of this folder and their manifest.json; the same seed gives the same files.

    python audio_samples/make_samples.py [--out audio_samples] [--seed 7]

Needs numpy, and the programs flite and espeak-ng (packages of those names in Debian); nothing is downloaded. Every file
is 16 kHz, mono, 16 bit. The speech is synthetic: it shows that the way from sound to reading works, not how well a
living voice is heard.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

RATE = 16_000
LICENCES = {
    "flite": "made with flite; its voices are free for any use under the Carnegie Mellon licence",
    "espeak": "made with espeak-ng (GPL-3 program; its output is not covered by that licence)",
}
# Letters said one by one, as a technician does.
_SPELT = {"o": "oh", "l": "ell", "k": "kay", "r": "are"}


@dataclass(frozen=True)
class Said:
    """One utterance: its words, what is measured while it is said, and what it means.

    `kind` is reading, command or chatter; `value` is in the base unit, None for over range.
    """

    words: str
    measure: str | None
    kind: str = "reading"
    value: float | None = None
    command: str | None = None


def reading(words: str, measure: str, value: float | None) -> Said:
    return Said(words, measure, "reading", value)


def command(words: str, name: str, measure: str | None = None) -> Said:
    return Said(words, measure, "command", None, name)


READINGS = (
    reading("point four five two", "diode", 0.452),
    reading("zero point five one two volts", "diode", 0.512),
    reading("five hundred and ten millivolts", "diode", 0.51),
    reading("O L", "diode", None),
    reading("four point seven kilohms", "ohms", 4700.0),
    reading("one hundred and twenty ohms", "ohms", 120.0),
    reading("sixty ohms", "ohms", 60.0),
    reading("twelve point one volts", "volts_dc", 12.1),
    reading("minus point two volts", "volts_dc", -0.2),
    reading("beeps", "continuity", 0.0),
)
COMMANDS = (
    command("skip", "skip", "diode"),
    command("go back", "go back", "diode"),
    command("scratch that", "scratch that", "diode"),
    command("yes", "yes"),
    command("no", "no"),
    command("unplugged", "unplugged"),
    command("ready", "ready"),
)
CHATTER = (
    Said("where did that screw go", "diode", "chatter"),
    Said("pass me the flux please", "ohms", "chatter"),
    Said("is it lunch time already", "volts_dc", "chatter"),
    Said("did you see the game last night", "diode", "chatter"),
)
LATER = (  # at the end, for the place in the list gives voice, noise and seed
    command("repeat", "repeat", "volts_dc"),
    command("slower", "slower", "volts_dc"),
    command("quiet", "quiet", "volts_dc"),
    command("take it", "take it", "volts_dc"),
)
# A whole job on trees/fernleaf-gh2/sensor-bus-dead: at which question, and what is said there. `confirm` is for every
# read-back that waits.
JOB = (
    ("caution:one-hand", command("ready", "ready")),
    ("ask:feed-volts", reading("eleven point nine volts", "volts_dc", 11.9)),
    ("caution:unplugged", command("unplugged", "unplugged")),
    ("ask:bus-ohms", reading("ninety nine ohms", "ohms", 99.0)),
    ("verdict", command("enough", "enough")),
    ("repair", command("one", "1")),
    ("repair:chosen", command("done", "done")),
    ("ask:bus-ohms:proof", reading("sixty ohms", "ohms", 60.0)),
    ("ask:function-test", command("works", "works")),
    ("confirm", command("yes", "yes")),
)
JOB_VOICE = "flite:rms"
OTHER_VOICE = {"enough": "flite:slt"}  # of a word the shipped recogniser, alone, does not make out in the job's own
VOICES = ("flite:slt", "flite:rms", "flite:awb", "espeak:en-us")
NOISES = (("clean", None), ("fan", 20.0), ("pink", 20.0))


def spoken(words: str, voice: str, *, rate: int = 150) -> np.ndarray:
    """Return `words` in `voice` (program:name) at RATE, trimmed, peak at 0.35 of full scale."""
    program, _, name = voice.partition(":")
    said = " ".join(_SPELT.get(w.lower(), w) for w in words.split())
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "a.wav"
        if program == "flite":
            stretch = f"duration_stretch={150 / rate:.3f}"
            order = ["flite", "-voice", name, "--setf", stretch, "-t", said, "-o", str(file)]
        else:
            order = ["espeak-ng", "-v", name, "-s", str(rate), "-w", str(file), said]
        subprocess.run(order, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        with wave.open(str(file), "rb") as f:
            own, samples = f.getframerate(), np.frombuffer(f.readframes(f.getnframes()), "<i2") / 32768
    samples = resampled(samples, own)
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.max(np.abs(samples)))
    samples = samples[loud[0] : loud[-1] + 1]
    return samples / np.max(np.abs(samples)) * 0.35


def resampled(samples: np.ndarray, rate: int) -> np.ndarray:
    """Band-limited resampling to RATE in the frequency domain; fine for short clips."""
    if rate == RATE:
        return samples
    n = round(len(samples) * RATE / rate)
    spectrum, wider = np.fft.rfft(samples), np.zeros(n // 2 + 1, complex)
    kept = min(len(spectrum), len(wider))
    wider[:kept] = spectrum[:kept]
    return np.fft.irfft(wider, n) * (n / len(samples))


def noise(kind: str, n: int, rng: np.random.Generator) -> np.ndarray:
    """Noise of unit power: white, pink, or fan (airflow under 500 Hz, mains hum and blade tones)."""
    white = rng.standard_normal(n)
    frequency = np.fft.rfftfreq(n, 1 / RATE)
    if kind == "pink":
        white = np.fft.irfft(np.fft.rfft(white) / np.sqrt(np.maximum(frequency, 30)), n)
    elif kind == "fan":
        air = np.fft.irfft(np.fft.rfft(white) / (1 + (frequency / 500.0) ** 1.5), n)
        t, mains, blade = np.arange(n) / RATE, rng.choice([50.0, 60.0]), rng.uniform(180, 420)
        hum = sum(np.sin(2 * np.pi * mains * k * t + rng.uniform(0, 6)) / k for k in (1, 2, 3, 4, 6))
        tones = sum(np.sin(2 * np.pi * blade * k * t + rng.uniform(0, 6)) / k for k in (1, 2, 3))
        white = air / np.std(air) + 0.5 * hum / np.std(hum) + 0.5 * tones / np.std(tones)
    return white / np.std(white)


def mixed(speech: np.ndarray, kind: str, snr_db: float | None, rng: np.random.Generator) -> np.ndarray:
    """Return `speech` with silence about it, under noise at `snr_db` (speech power over its own extent)."""
    whole = np.concatenate([np.zeros(int(0.4 * RATE)), speech, np.zeros(int(0.6 * RATE))])
    if snr_db is None:
        return whole + 0.0005 * rng.standard_normal(len(whole))
    whole = whole + noise(kind, len(whole), rng) * np.sqrt(np.mean(speech**2) / 10 ** (snr_db / 10))
    peak = np.max(np.abs(whole))
    return whole * (0.95 / peak) if peak > 0.95 else whole


def as_s16(samples: np.ndarray) -> bytes:
    """Return samples of full scale 1 as signed 16 bit."""
    return (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def written(file: Path, samples: np.ndarray) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(file), "wb") as f:
        f.setnchannels(1)
        f.setsampwidth(2)
        f.setframerate(RATE)
        f.writeframes(as_s16(samples))


def row(file: str, said: Said, voice: str, kind: str, snr_db: float | None, seed: int) -> dict[str, Any]:
    """One line of the manifest. `measure` null: asked without a measurement."""
    return {
        "file": file, "transcript": said.words, "measure": said.measure, "kind": said.kind, "value": said.value,
        "command": said.command, "voice": voice, "noise": kind, "snr_db": snr_db, "seed": seed,
        "licence": LICENCES[voice.partition(":")[0]],
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    parser.add_argument("--seed", type=int, default=7)
    chosen = parser.parse_args()
    for program in ("flite", "espeak-ng"):
        if shutil.which(program) is None:
            parser.error(f"{program} is not installed")
    clips, job = [], []
    for i, said in enumerate((*READINGS, *COMMANDS, *CHATTER, *LATER)):
        voice, (kind, snr_db) = VOICES[i % len(VOICES)], NOISES[i % len(NOISES)]
        seed = chosen.seed * 1000 + i
        file = f"clips/{said.words.lower().replace(' ', '-')}.wav"
        written(chosen.out / file, mixed(spoken(said.words, voice), kind, snr_db, np.random.default_rng(seed)))
        clips.append(row(file, said, voice, kind, snr_db, seed))
    for i, (question, said) in enumerate(JOB):
        voice, seed = OTHER_VOICE.get(said.words, JOB_VOICE), chosen.seed * 1000 + 500 + i
        file = f"job/{i + 1:02d}-{said.words.replace(' ', '-')}.wav"
        written(chosen.out / file, mixed(spoken(said.words, voice), "clean", None, np.random.default_rng(seed)))
        job.append({"question": question, **row(file, said, voice, "clean", None, seed)})
    manifest = {"tree": "fernleaf-gh2/sensor-bus-dead", "clips": clips, "job": job}
    (chosen.out / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
