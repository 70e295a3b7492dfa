"""Shipped twins of the ear's and the speaker's parts: a listener that hears from a script, a speaker that only keeps
what it was told to say."""

from __future__ import annotations

import threading
from collections.abc import Iterable

from guide.core.intent import Expecting
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice.agreement import Asked, Judged, Outcome
from guide.edge.voice.speaker import Clip


class ScriptedListener:
    """A recogniser that hears the next line of a script at each utterance, whatever the sound."""

    fit = 0.0

    def __init__(self, lines: Iterable[str], *, engine: str = "script") -> None:
        self.engine = engine
        self._lines = iter(lines)
        self._heard: dict[bytes, str] = {}

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Nothing to load."""

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Return the next line; the same sound is heard the same again."""
        if samples not in self._heard:
            self._heard[samples] = next(self._lines, "")
        return self._heard[samples]


class ScriptedPanel:
    """A panel that hears each line of a script as `outcome`."""

    def __init__(self, lines: Iterable[str], *, outcome: Outcome = Outcome.AGREED) -> None:
        self._lines, self._outcome = iter(lines), outcome

    def prepare(self, expecting: Expecting) -> None:
        """Nothing to load."""

    def hear(self, samples: bytes, expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
        """Return the next line; talk once the script has ended."""
        line = next(self._lines, None)
        return Judged(Outcome.IGNORE) if line is None else Judged(self._outcome, line)

    def close(self) -> None:
        """Nothing to let go of."""


class SilentVoice:
    """Renders every line as a moment of silence."""

    def render(self, text: str, words_a_minute: int) -> Clip:
        """Return a tenth of a second of nothing."""
        return Clip(bytes(4410), 22_050)


class SilentOutput:
    """Plays nothing, and counts."""

    rate = 22_050

    def __init__(self) -> None:
        self.played = 0

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        """Return at once."""
        self.played += 1

    def close(self) -> None:
        """Nothing to let go of."""
