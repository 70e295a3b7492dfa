"""Sound as samples: 16 kHz, mono, signed 16 bit. Files, resampling, levels; and quiet while a library is not.

Everything heard is in this one shape, wherever it comes from, so a recording and a microphone take the same way.
"""

from __future__ import annotations

import os
import sys
from array import array
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from math import log10
from pathlib import Path
from typing import Any, Protocol

from guide.core.errors import BadInput, Unavailable

RATE = 16_000  # samples a second; what every recogniser here was trained on
FRAME_SAMPLES = 512  # 32 ms: what the Silero end-pointing model takes
FRAME_BYTES = 2 * FRAME_SAMPLES
FRAME_S = FRAME_SAMPLES / RATE
SILENCE = bytes(FRAME_BYTES)

LONGEST_FILE_S = 600.0  # of one recording; a job's longest utterance is 15 s
MOST_BYTES = 2**28  # ten minutes of stereo at 96 kHz and 24 bits are 330 MB uncompressed, and nobody speaks so
_FLOOR_DB = -96.0  # the last bit of 16
_FULL = 32768.0


class EndOfSound(Exception):
    """A source of frames has no more and will have no more."""


class Frames(Protocol):
    """Where sound comes from: a microphone, or recordings."""

    def frame(self, wait_s: float) -> bytes | None:
        """Return the next FRAME_BYTES bytes; None where none came within `wait_s`. Raises EndOfSound."""

    @property
    def lost(self) -> bool:
        """Whether nothing can come for now: the device is gone, as was told."""

    def close(self) -> None:
        """Let go of the device or file. May be called twice."""


def read_sound(path: Path) -> bytes:
    """Return a sound file's samples at RATE, mono, whatever its own rate, channels and depth.

    Raises BadInput for what is no sound file, holds no sound or more than LONGEST_FILE_S; Unavailable without the sound
    library.
    """
    miniaudio = sound_library()
    data = _contents(path)
    try:
        seconds = miniaudio.get_file_info(str(path)).duration
        if seconds > LONGEST_FILE_S:
            most = f"{LONGEST_FILE_S / 60:g}"
            raise BadInput(f"{path}: {seconds / 60:.0f} minutes long; cut it to what is to be heard, {most} at most")
        decoded = miniaudio.decode(data, miniaudio.SampleFormat.SIGNED16, 1, RATE)
    except (miniaudio.MiniaudioError, ValueError) as error:
        raise BadInput(f"{path}: not a sound file that can be read; it takes wav, flac, mp3 and ogg") from error
    if not decoded.samples:
        raise BadInput(f"{path}: holds no sound; record it again")
    return bytes(decoded.samples)


def _contents(path: Path) -> bytes:
    """Return a file's bytes. Raises BadInput where there are none, or too many."""
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise BadInput(f"{path}: {size // 2**20} MB; cut it to what is to be heard")
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(f"{path}: {error.strerror or error}") from error
    if not data:
        raise BadInput(f"{path}: an empty file; record it again")
    return data


def resampled(samples: bytes, speed: float) -> bytes:
    """Return `samples` as if said at `speed` times the tempo and pitch, still at RATE."""
    miniaudio = sound_library()
    s16 = miniaudio.SampleFormat.SIGNED16
    return bytes(miniaudio.convert_frames(s16, 1, round(RATE * speed), samples, s16, 1, RATE))


def at_rate(samples: bytes, rate: int, to: int) -> bytes:
    """Return mono 16-bit `samples` of `rate` at the rate `to`."""
    if rate == to:
        return samples
    miniaudio = sound_library()
    s16 = miniaudio.SampleFormat.SIGNED16
    return bytes(miniaudio.convert_frames(s16, 1, rate, samples, s16, 1, to))


def power(samples: bytes) -> float:
    """Return the mean square of `samples`, full scale being 1; 0 for none."""
    values = array("h", samples)
    return sum(v * v for v in values) / (len(values) * _FULL * _FULL) if values else 0.0


def decibels(mean_square: float) -> float:
    """Return a mean square as dB below full scale, no lower than what 16 bits hold."""
    return max(_FLOOR_DB, 10 * log10(mean_square)) if mean_square > 0 else _FLOOR_DB


class Recordings:
    """Frames from sound files in turn, each followed by silence long enough for the end-pointing to close."""

    def __init__(self, files: Sequence[Path | bytes], *, gap_s: float = 1.0) -> None:
        self._left = list(files)
        self._gap = bytes(2 * round(gap_s * RATE))
        self._samples = b""
        self._at = 0
        self.lost = False

    def frame(self, wait_s: float) -> bytes | None:
        """Return the next frame at once. Raises EndOfSound, BadInput."""
        while self._at >= len(self._samples):
            if not self._left:
                raise EndOfSound
            file = self._left.pop(0)
            self._samples, self._at = (file if isinstance(file, bytes) else read_sound(file)) + self._gap, 0
        piece = self._samples[self._at : self._at + FRAME_BYTES]
        self._at += FRAME_BYTES
        return piece.ljust(FRAME_BYTES, b"\0")

    def close(self) -> None:
        """Drop what is left."""
        self._left, self._samples = [], b""


def sound_library() -> Any:
    """Return the miniaudio module. Raises Unavailable where it is not installed."""
    try:
        import miniaudio
    except ImportError as error:
        raise Unavailable("sound needs the voice parts: pip install 'bench-guide[voice]'") from error
    return miniaudio


@contextmanager
def hushed() -> Iterator[None]:
    """Keep C libraries off standard error for a moment: ALSA prints some forty lines where there is no card."""
    sys.stderr.flush()
    try:
        kept = os.dup(2)
    except OSError:  # no standard error at all: nothing to keep quiet
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    try:
        yield
    finally:
        with suppress(OSError):
            sys.stderr.flush()
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
