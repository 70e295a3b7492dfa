"""From frames to an utterance: end-pointing, the recognisers, and what their agreement allows.

Half-duplex by default: while the tool speaks it does not listen, for it would hear itself.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from guide.core.intent import Command, Expecting, Utterance
from guide.core.reading import Source
from guide.edge.voice.agreement import Asked, Judged, Outcome
from guide.edge.voice.audio import FRAME_S, RATE, EndOfSound, Frames, Recordings, decibels, power
from guide.edge.voice.endpoint import Endpointer, Segment, Take
from guide.edge.voice.settings import Duplex, Listens
from guide.edge.voice.talkkey import TalkKey
from guide.edge.voice.votes import meaning

NOISY_DB = 15.0  # below this SNR recognition falls apart (narrow pass, pink noise: 86 % right at 20 dB, 62 % at 15)
ECHO_TAIL_S = 0.16  # of the tool's own voice in the room after it has ended
LOUDER_DB = 10.0  # over the tool's own voice: someone speaks across it
_LOUDER_FRAMES = 4
_POLL_S = 0.1
_CUTS_IN = (("command", Command.HOLD), ("command", Command.SCRATCH_THAT))
# Speech heard within them had begun before: come into the middle of speech 176 times, the model told it in two frames
# 77 % of the time, in three 89 %. With more, who answers quickly would be taken for who spoke into it.
_CUT_FRAMES = 3
SAY_AGAIN = "Say again."
SPOKE_OVER = "I was speaking: say it again."
SAY_DIGITS = "I cannot make that out. Say it digit by digit, or type it."
TYPE_IT = "Type it: free words are understood only with the second ear. Or say skip."
NOISE = (
    "It is noisy here: I may mishear. Type, or press Space before and after you speak (in plain lines Space and Enter)."
)
AHEAD_AT_MOST_S = 5.0  # of sound heard before it is known to have ended; the longest reading takes three
LONGEST_HELD_S = 15.0  # an ear forgotten open closes by itself
HELD_ENDS_AFTER_S = 1.5  # of silence after speech: longer than a breath, so that a pause is no end


@dataclass(frozen=True, slots=True)
class Again:
    """Something was said and not made out: `say` asks for it. The question stands."""

    say: str


class Hearing(Protocol):
    """What makes something of an utterance: `Panel`, or a script."""

    def prepare(self, expecting: Expecting) -> None:
        """Load what a question needs."""

    def hear(self, samples: bytes, expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
        """Return what to do with the utterance."""

    def close(self) -> None:
        """Let go of what was loaded."""


def _silent() -> bool:
    return False


def _nothing() -> None:
    return None


class Ear:
    """Listens. `speaking` and `interrupt` are the speaker's; `tell` gets lines to show, `meter` the level in dB.

    While `key` is open everything is taken for one utterance, whatever the noise; talk does not come into it.
    """

    def __init__(
        self,
        frames: Frames,
        panel: Hearing,
        *,
        endpointer: Endpointer | None = None,
        duplex: Duplex = Duplex.HALF,
        listens: Listens = Listens.OPEN,
        key: TalkKey | None = None,
        speaking: Callable[[], bool] = _silent,
        interrupt: Callable[[], None] = _nothing,
        tell: Callable[[str], None] = lambda line: None,
        meter: Callable[[float], None] = lambda level_db: None,
    ) -> None:
        self._frames, self._panel, self._duplex = frames, panel, duplex
        self._endpointer = endpointer or Endpointer()
        self.listens, self.key = listens, key or TalkKey()
        self._speaking, self._interrupt, self._tell, self._meter = speaking, interrupt, tell, meter
        self._echo: deque[float] = deque(maxlen=round(3.0 / FRAME_S))
        self._take: Take | None = None
        self._ahead: tuple[bytes, Judged] | None = None
        self._louder = self._tail = self._failures = 0
        self._open_for = _CUT_FRAMES + 1  # frames since the tool's voice had died away
        self._cut = self._cut_told = False
        self._noise_told = self._stale = False
        self.ended = False
        self.snr_db = 0.0

    @property
    def shut(self) -> bool:
        """Whether nothing is heard until the key is pressed, and nothing is being made out."""
        return self.listens is Listens.KEY and not self.key.open and self._take is None

    @property
    def half(self) -> bool:
        """Whether it does not listen while the tool speaks."""
        return self._duplex is Duplex.HALF

    @property
    def lost(self) -> bool:
        """Whether the microphone is gone for now."""
        return self._frames.lost

    def prepare(self, expecting: Expecting) -> None:
        """Load what a question needs while it is being said."""
        self._panel.prepare(expecting)

    def listen(
        self, expecting: Expecting, *, asked: Asked = Asked.ANSWER, cancel: threading.Event | None = None
    ) -> Utterance | Again | None:
        """Return what is said next; None where `cancel` was set or the recordings have ended (`ended`).

        Talk that answers nothing is passed over without a word, unless the key was used. So is what began before: it
        was said to another question, which a meter or a hand has answered in the meantime.
        """
        self._take = self._ahead = None
        self._stale = self._endpointer.speaking
        while not (cancel is not None and cancel.is_set()):
            let_go = self.key.let_go
            try:
                # What was said before the key was let go of may still wait to be fetched.
                frame = self._frames.frame(0.0 if let_go else _POLL_S)
            except EndOfSound:
                self.ended = True
                return self._taken(self._take, expecting, asked) if self._take else None
            if self.key.open:
                heard = self._hold(frame, expecting, asked, over=let_go and frame is None)
            else:
                heard = self._overheard(frame, expecting, asked) if frame is not None else None
            if heard is not None:
                return heard
        return None

    def _hold(self, frame: bytes | None, expecting: Expecting, asked: Asked, *, over: bool) -> Utterance | Again | None:
        """Keep a frame of what is said while the key is open; return what it was once it is over."""
        take = self._take or self._opened()
        if self._tail > 0:
            self._tail -= 1
        elif frame is not None:
            take.add(frame)
            self._meter(decibels(power(frame)))
            self._hear_ahead(take.settled, expecting, asked)
        over = over or take.silent_for_s >= HELD_ENDS_AFTER_S or take.seconds >= LONGEST_HELD_S
        return self._taken(take, expecting, asked) if over else None

    def _opened(self) -> Take:
        if self._stale:
            self._endpointer.reset()
            self._stale = False
        if self._speaking():
            self._interrupt()
            self._tail = round(ECHO_TAIL_S / FRAME_S)
            self._endpointer.reset()
        self._take = self._endpointer.opened()
        return self._take

    def _taken(self, take: Take, expecting: Expecting, asked: Asked) -> Utterance | Again:
        """Return what was said while the key was open. What was not made out, or was nothing, is asked again."""
        self.key.close()
        samples = take.samples()
        judged = self._judged(samples, expecting, asked) if samples else Judged(Outcome.IGNORE)
        return self._result(judged) or (Again(TYPE_IT) if asked is Asked.WORDS else self._again())

    def _overheard(self, frame: bytes, expecting: Expecting, asked: Asked) -> Utterance | Again | None:
        """Take a frame that came without a key; return what it ends, if that answers."""
        spoken_over = self._speaking()
        if self.listens is Listens.KEY:
            if spoken_over:
                self._endpointer.reset()
            else:
                self._endpointer.overhear(frame)
            self._meter(self._endpointer.level_db)
            return None
        segment = self._across(frame) if spoken_over else self._open(frame)
        if self._stale:
            self._stale = self._endpointer.speaking
            return None
        if not spoken_over:  # a decoder at work would make the voice stutter
            self._hear_ahead(self._endpointer.settled, expecting, asked)
        return self._heard(segment, expecting, asked, spoken_over) if segment else None

    def _open(self, frame: bytes) -> Segment | None:
        if self._tail > 0:  # the room still rings with the tool's own voice
            self._tail -= 1
            self._open_for = 0
            self._endpointer.reset()
            return None
        self._open_for += 1
        was_speaking = self._endpointer.speaking
        segment = self._endpointer.feed(frame)
        if not was_speaking:
            self._cut = self._open_for <= _CUT_FRAMES
        self._meter(self._endpointer.level_db)
        return segment

    def _across(self, frame: bytes) -> Segment | None:
        """Take a frame that came while the tool speaks."""
        self._tail = round(ECHO_TAIL_S / FRAME_S)
        if self._duplex is Duplex.HALF:
            self._endpointer.reset()
            return None
        segment = self._endpointer.feed(frame)
        level = self._endpointer.level_db
        self._meter(level)
        usual = sorted(self._echo)[len(self._echo) // 2] if len(self._echo) > _LOUDER_FRAMES else level
        self._louder = self._louder + 1 if level > usual + LOUDER_DB and self._endpointer.speaking else 0
        if self._louder < _LOUDER_FRAMES:
            self._echo.append(level)
            return segment
        self._louder = self._tail = 0
        self._interrupt()
        return segment

    def _hear_ahead(self, samples: bytes, expecting: Expecting, asked: Asked) -> None:
        """Hear what is complete if nothing more is said. The silence until that is certain takes as long as one pass;
        frames wait meanwhile. If there is more, it was for nothing."""
        if samples and len(samples) <= 2 * RATE * AHEAD_AT_MOST_S:
            self._ahead = samples, self._panel.hear(samples, expecting, asked=asked)

    def _judged(self, samples: bytes, expecting: Expecting, asked: Asked) -> Judged:
        """Return what to do with an utterance that has ended."""
        if self._ahead is not None and self._ahead[0] == samples:
            return self._ahead[1]
        return self._panel.hear(samples, expecting, asked=asked)

    def _heard(
        self, segment: Segment, expecting: Expecting, asked: Asked, spoken_over: bool
    ) -> Utterance | Again | None:
        self.snr_db = segment.snr_db
        judged = self._judged(segment.samples, expecting, asked)
        if spoken_over:
            if judged.outcome not in (Outcome.AGREED, Outcome.HEARD) or meaning(judged.text, expecting) not in _CUTS_IN:
                return None
            self._interrupt()
        elif self._cut:
            return self._spoke_over(judged)
        found: Utterance | Again | None = self._result(judged)
        if found is None and judged.outcome is Outcome.AGAIN:
            found = Again(TYPE_IT) if asked is Asked.WORDS else self._again()
        if found is not None:
            self._warn(segment.snr_db)
        return found

    def _spoke_over(self, judged: Judged) -> Again | None:
        """What began while the tool spoke is no answer: `one hundred fifty` would be fifty. Said aloud once until
        something is heard, for a room that rings long enough to be heard itself would have it said for ever."""
        if judged.outcome is Outcome.IGNORE:
            return None
        if self._cut_told:
            self._tell(SPOKE_OVER)
            return None
        self._cut_told = True
        return Again(SPOKE_OVER)

    def _result(self, judged: Judged) -> Utterance | None:
        if judged.outcome not in (Outcome.AGREED, Outcome.HEARD):
            return None
        self._failures, self._cut_told = 0, False
        agreed = judged.outcome is Outcome.AGREED
        return Utterance(judged.text, Source.SPOKEN, 1.0 if agreed else 0.5, agreed)

    def _again(self) -> Again:
        self._failures += 1
        return Again(SAY_AGAIN if self._failures % 2 else SAY_DIGITS)

    def _warn(self, snr_db: float) -> None:
        if snr_db < NOISY_DB and not self._noise_told:
            self._noise_told = True
            self._tell(NOISE)

    def close(self) -> None:
        """Let go of the microphone and the recognisers."""
        self._frames.close()
        self._panel.close()


def wav_ear(files: Sequence[Path | bytes], panel: Hearing, *, tell: Callable[[str], None] = lambda line: None) -> Ear:
    """Return an ear that hears recordings in turn through the same end-pointing and recognisers."""
    return Ear(Recordings(files), panel, tell=tell)
