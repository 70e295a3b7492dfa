"""Saying things: text to samples with the espeak-ng of the wheel, played so that it can be cut off at once.

The synthesiser's own playback cannot be stopped, so every line is rendered whole and played here.
"""

from __future__ import annotations

import ctypes
import os
import sys
import tempfile
import threading
import wave
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, StrEnum
from pathlib import Path
from typing import Any, Protocol

from guide.core.errors import Unavailable

RATES = (110, 130, 150, 170, 195, 220)  # words a minute
_KEPT_CLIPS = 64
_ESPEAK_RATE = 22_050


class Verbosity(StrEnum):
    """How much is said aloud; all of it is shown."""

    FULL = "full"
    SHORT = "short"  # as after `quiet`: only what is needed


class Saying(Enum):
    """How much a line matters: after `quiet` only needed ones are said."""

    NEEDED = "needed"
    EXTRA = "extra"


@dataclass(frozen=True, slots=True)
class Clip:
    """Rendered speech: mono, 16 bit."""

    samples: bytes
    rate: int


class Voice(Protocol):
    """Turns text into sound."""

    def render(self, text: str, words_a_minute: int) -> Clip:
        """Return `text` as sound. Raises Unavailable."""


class Output(Protocol):
    """Plays sound."""

    rate: int

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        """Play to the end or until stopped. Raises Unavailable where the device is gone."""

    def close(self) -> None:
        """Let go of it."""


class Espeak:
    """pyttsx3 on espeak-ng: the library and the data of the wheel where they are installed, else the system's.

    On Linux its binding is driven synchronously, without its queue. As the driver starts the engine, it works in a
    thread of its own: of 450 lines some thirty were said at the pace of the one before, or came back empty.
    """

    def __init__(self, name: str = "") -> None:
        """Load the engine and choose the voice `name` (by a part of its name). Raises Unavailable."""
        self._lock = threading.Lock()
        self._espeak: Any = None
        _bring_espeak()
        try:
            if sys.platform.startswith("linux"):
                self._espeak = _synchronous()
            import pyttsx3

            self._engine = pyttsx3.init("espeak" if self._espeak else None)
        except (ImportError, RuntimeError, OSError, AttributeError) as error:
            raise Unavailable("speaking needs the voice parts: pip install 'bench-guide[voice]'") from error
        self.name = self._choose(name)

    def voices(self) -> tuple[str, ...]:
        """Return the names of the English voices."""
        return tuple(v.name for v in self._english())

    def _english(self) -> list[Any]:
        found = [v for v in self._engine.getProperty("voices") or [] if "/mb" not in v.id and "mb/" not in v.id]
        return [v for v in found if any(str(lang).strip("\x05\x02").startswith("en") for lang in v.languages)]

    def _choose(self, name: str) -> str:
        wanted = name or "America"
        for voice in self._english():
            if wanted.casefold() in voice.name.casefold() or wanted.casefold() in voice.id.casefold():
                self._engine.setProperty("voice", voice.id)
                return str(voice.name)
        if name:
            raise Unavailable(f"no voice is called {name!r}; there is: {'; '.join(self.voices())}")
        return "the engine's own"

    def render(self, text: str, words_a_minute: int) -> Clip:
        """Return `text` as sound; about 10 ms a line. One line at a time, in whichever thread. Raises Unavailable."""
        with self._lock:
            clip = self._synthesised(text, words_a_minute) if self._espeak else self._saved(text, words_a_minute)
        if not clip.samples:
            raise Unavailable("the voice made no sound; what is said is shown")
        return clip

    def _synthesised(self, text: str, words_a_minute: int) -> Clip:
        pieces: list[bytes] = []

        def collect(wav: Any, samples: int, events: Any) -> int:
            pieces.append(ctypes.string_at(wav, 2 * samples) if samples > 0 else b"")
            return 0

        self._espeak.SetSynthCallback(collect)
        self._espeak.SetParameter(self._espeak.RATE, words_a_minute, 0)
        self._espeak.Synth(text.encode(), flags=self._espeak.ENDPAUSE | self._espeak.CHARS_UTF8)
        return Clip(b"".join(pieces), _ESPEAK_RATE)

    def _saved(self, text: str, words_a_minute: int) -> Clip:
        """Another platform's engine: through a file, for its own playback cannot be stopped."""
        with tempfile.TemporaryDirectory(prefix="guide-") as folder:
            file = Path(folder) / "line.wav"
            self._engine.setProperty("rate", words_a_minute)
            self._engine.save_to_file(text, str(file))
            self._engine.runAndWait()
            if not file.exists():
                return Clip(b"", 0)
            with wave.open(str(file), "rb") as clip:
                return Clip(clip.readframes(clip.getnframes()), clip.getframerate())


def _bring_espeak() -> None:
    """Load the wheel's library before pyttsx3 looks for one. Its data path must be known first, or the C library ends
    the whole process."""
    try:
        import espeakng_loader
    except ImportError:
        return
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    try:
        ctypes.CDLL(espeakng_loader.get_library_path(), ctypes.RTLD_GLOBAL)
    except OSError as error:
        raise Unavailable(f"the speech library of the wheel does not load here: {error}") from error


def _synchronous() -> Any:
    """Return pyttsx3's binding of the engine, started so that a line is whole when the call that orders it returns."""
    from pyttsx3.drivers import _espeak, espeak

    if not espeak.EspeakDriver._moduleInitialized:
        if _espeak.Initialize(_espeak.AUDIO_OUTPUT_SYNCHRONOUS, 1000) == -1:
            raise Unavailable("the speech engine does not start here; what is said is shown")
        espeak.EspeakDriver._defaultVoice = "gmw/en"
        espeak.EspeakDriver._moduleInitialized = True
    return _espeak


class Speaker:
    """Says lines one after another in a thread of its own.

    `tell` gets one line where the device is lost and one where it is back; in between lines are skipped, not piled up.
    """

    def __init__(
        self,
        voice: Voice,
        output: Output,
        *,
        rate: int = 150,
        verbosity: Verbosity = Verbosity.FULL,
        tell: Callable[[str], None] = lambda line: None,
    ) -> None:
        self._voice, self._output, self._tell = voice, output, tell
        self._pace = rate
        self._clips: OrderedDict[tuple[str, int], Clip] = OrderedDict()
        self._lines: deque[str] = deque()
        self._last: list[str] = []
        self._changed = threading.Condition()
        self._stopped = threading.Event()
        self._busy = self._closed = False
        self._quiet = verbosity is Verbosity.SHORT
        self._trouble = ""
        self._thread = threading.Thread(target=self._run, name="guide-voice", daemon=True)
        self._thread.start()

    @property
    def speaking(self) -> bool:
        """Whether a line is being said or waits to be."""
        with self._changed:
            return self._busy or bool(self._lines)

    @property
    def pace(self) -> int:
        """Words a minute."""
        return self._pace

    def say(self, text: str, *, weight: Saying = Saying.NEEDED) -> None:
        """Say `text` after what is being said. Returns at once."""
        if not text.strip() or (self._quiet and weight is Saying.EXTRA):
            return
        with self._changed:
            if not self._busy and not self._lines:
                self._last = []
            self._last.append(text)
            self._stopped.clear()
            self._lines.append(text)
            self._changed.notify_all()

    def stop(self) -> None:
        """Fall silent at once and forget what waits."""
        with self._changed:
            self._lines.clear()
            self._stopped.set()
            self._changed.notify_all()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait until everything has been said; tell whether it has."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._busy and not self._lines, timeout_s)

    def repeat(self) -> None:
        """Say the last lines again."""
        for line in list(self._last):
            self.say(line)

    def slower(self) -> int:
        """Speak a step slower, never faster; return the words a minute."""
        self._pace = max((r for r in RATES if r < self._pace), default=self._pace)
        return self._pace

    def quiet(self) -> None:
        """Say only what is needed from now on."""
        self._quiet = True

    def prepare(self, text: str) -> None:
        """Render `text` ahead of its use."""
        self._clip(text)

    def close(self) -> None:
        """Fall silent and let go of the device."""
        self.stop()
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        self._thread.join(timeout=2.0)
        self._output.close()

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._lines or self._closed)
                if self._closed:
                    return
                text, self._busy = self._lines.popleft(), True
            try:
                self._play(text)
                self._told("")
            except Unavailable as error:
                self._told(str(error))
                with self._changed:
                    self._lines.clear()
            finally:
                with self._changed:
                    self._busy = False
                    self._changed.notify_all()

    def _told(self, trouble: str) -> None:
        """Tell a trouble that is new, or that there is none any more."""
        was, self._trouble = self._trouble, trouble
        if trouble != was:
            self._tell(trouble or "What is said can be heard again.")

    def _play(self, text: str) -> None:
        clip = self._clip(text)
        if not self._stopped.is_set():
            self._output.play(clip.samples, self._stopped)

    def _clip(self, text: str) -> Clip:
        key = (text, self._pace)
        if key not in self._clips:
            clip = self._voice.render(text, self._pace)
            if clip.rate != self._output.rate:
                from guide.edge.voice.audio import at_rate

                clip = Clip(at_rate(clip.samples, clip.rate, self._output.rate), self._output.rate)
            self._clips[key] = clip
            while len(self._clips) > _KEPT_CLIPS:
                self._clips.popitem(last=False)
        return self._clips[key]
