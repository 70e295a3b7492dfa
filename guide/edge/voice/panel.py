"""The recognisers at work on one utterance: the fewest passes that settle it, then the rest.

First the narrow pass of each engine; where two mean the same nothing more is needed. Otherwise the same sound is heard
again at other speeds and with a grammar that takes talk, and the votes are counted.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from guide.core.errors import Unavailable
from guide.core.intent import Expecting
from guide.core.words.vocabulary import Vocabulary, vocabulary, yes_or_no
from guide.edge.voice.agreement import Asked, Judged, Outcome, judge, of_one_mind
from guide.edge.voice.audio import resampled
from guide.edge.voice.freewords import free_command
from guide.edge.voice.listeners import Listener, Neural, Pocketsphinx, Vosk, vosk_model
from guide.edge.voice.mending import Mender
from guide.edge.voice.sounds import phones_with
from guide.edge.voice.talk import may_be_talk, with_talk
from guide.edge.voice.votes import FREE, FURTHEST_BENT, By, Hypothesis, meaning

# The grammar that takes talk hears the faster sound: the same sound again shares the narrow pass's errors. Alone, of
# 330 clean answers of a tuning seed 93 % are right at first so, 91 with the sound as it is; no talk of 66 is taken
# either way.
_SPEEDS = {By.SLOW: 0.94, By.FAST: 1.06, By.TALK: 1.06}
_WAYS = 12  # of reading a free transcript
_BENT_A_LITTLE = 0.01  # what a guess is at least: nothing bent is as written


class Panel:
    """Listeners that hear the same utterance. The first is asked for more passes where they do not agree."""

    def __init__(
        self, listeners: Sequence[Listener], *, free: Neural | None = None, mender: Mender | None = None
    ) -> None:
        self.listeners = tuple(listeners)
        self._free, self._mender = free, mender
        # Alone, whether it was talk comes first: a reading waits for a yes anyway, and each pass takes its time.
        self._further = (By.SLOW, By.TALK, By.FAST) if free else (By.TALK, By.SLOW, By.FAST)
        # A question can change while the last utterance is still being heard; an engine bears one thing at a time.
        self._lock = threading.Lock()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="guide-ear") if free else None

    @property
    def engines(self) -> tuple[str, ...]:
        """The names of what listens."""
        return (*(x.engine for x in self.listeners), *((FREE,) if self._free else ()))

    def prepare(self, expecting: Expecting) -> None:
        """Load what the question needs, so that hearing it takes no longer."""
        narrow = vocabulary(expecting)
        with self._lock:
            for listener in self.listeners:
                listener.prepare(narrow)
                listener.prepare(yes_or_no())
            if self._mender is not None:
                self._mender.prepare(narrow)

    def hear(self, samples: bytes, expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
        """Return what to do with the utterance `samples`."""
        with self._lock:
            return self._heard(samples, expecting, asked)

    def by_each(self, samples: bytes, words: Vocabulary) -> dict[str, str]:
        """Return what each recogniser hears by itself, by its name: the grammars out of `words`, the free one as it
        writes."""
        with self._lock:
            found = {x.engine: x.words(samples, words) for x in self.listeners}
            return found | ({FREE: self._free.written(samples).strip()} if self._free is not None else {})

    def _heard(self, samples: bytes, expecting: Expecting, asked: Asked) -> Judged:
        if asked is Asked.WORDS:
            return self._free_words(samples, expecting)
        judged, heard = self._first(samples, expecting, asked)
        for by in self._further:
            if judged.outcome is Outcome.AGREED:
                return judged
            # One engine of one mind, the talk grammar too, is not swayed by one pass more; beside another it can be.
            alone = self._free is None and asked is Asked.ANSWER and any(h.by is By.TALK for h in heard)
            if alone and of_one_mind(heard, expecting):
                return judged
            if by is not By.TALK or self._may_be_talk(heard):
                again = self._again(by, samples, expecting)
                heard += [again, *self._likened([again], heard, asked)]
                judged = judge(heard, expecting, asked=asked)
        return judged

    def _first(self, samples: bytes, expecting: Expecting, asked: Asked) -> tuple[Judged, list[Hypothesis]]:
        written: Future[str] | None = None
        if self._thread is not None and self._free is not None:
            written = self._thread.submit(self._free.written, samples)
        narrow = vocabulary(expecting)
        found = [_pass(x, By.NARROW, samples, narrow) for x in self.listeners]
        if asked is Asked.YES_NO:
            found += [_pass(x, By.YES_NO, samples, yes_or_no()) for x in self.listeners]
        if written is not None:
            ways = self._mended(written.result(), expecting, narrow)
            found += [*ways, *self._likened(found, ways, asked)]
        return judge(found, expecting, asked=asked), found

    def _mended(self, written: str, expecting: Expecting, words: Vocabulary) -> list[Hypothesis]:
        ways = self._mender.ways(written, words) if self._mender is not None else []
        later = (w for w in ways[_WAYS:] if w.bent < FURTHEST_BENT and meaning(w.text, expecting) is not None)
        found = [Hypothesis(FREE, By.NARROW, w.text, w.bent, written, w.guessed) for w in (*ways[:_WAYS], *later)]
        if command := free_command(written, expecting):
            found.insert(0, Hypothesis(FREE, By.NARROW, command, 0.0, written))
        return found or [Hypothesis(FREE, By.NARROW, "", 1.0, written)]

    def _likened(
        self, passes: Sequence[Hypothesis], others: Sequence[Hypothesis], asked: Asked
    ) -> list[Hypothesis]:
        """Return what the free engine says for what `passes` heard: how near it comes to what was written.

        A guess at best, and none beside a read-back: a yes has to be written.
        """
        written = next((h.written for h in others if h.engine == FREE), "")
        if self._mender is None or asked is not Asked.ANSWER or not written:
            return []
        bent = ((h.text, max(_BENT_A_LITTLE, self._mender.likeness(written, h.text))) for h in passes if h.text)
        return [Hypothesis(FREE, By.NARROW, text, b, written, True) for text, b in bent if b < FURTHEST_BENT]

    def _may_be_talk(self, heard: Sequence[Hypothesis]) -> bool:
        """Tell whether the grammar for talk is worth its time: a free transcript tells most answers from talk."""
        return self._free is None or any(may_be_talk(h.written) for h in heard)

    def _again(self, by: By, samples: bytes, expecting: Expecting) -> Hypothesis:
        """Hear the same sound in another way."""
        first, narrow = self.listeners[0], vocabulary(expecting)
        words = with_talk(narrow) if by is By.TALK else narrow
        return _pass(first, by, resampled(samples, _SPEEDS[by]), words)

    def _free_words(self, samples: bytes, expecting: Expecting) -> Judged:
        """Any words are an answer: those of the free engine; without one a command at most."""
        if self._free is not None:
            written = self._free.written(samples).strip()
            return Judged(Outcome.HEARD, written) if written else Judged(Outcome.IGNORE)
        judged = self._heard(samples, expecting, Asked.ANSWER)
        return judged if judged.outcome in (Outcome.AGREED, Outcome.HEARD) else Judged(Outcome.AGAIN)

    def close(self) -> None:
        """Let go of threads and models."""
        if self._thread is not None:
            self._thread.shutdown()
        if self._free is not None:
            self._free.close()


def _pass(listener: Listener, by: By, samples: bytes, words: Vocabulary) -> Hypothesis:
    text = listener.words(samples, words)
    return Hypothesis(listener.engine, by, text, fit=listener.fit)


def panel(home: Path, *, vosk_folder: str = "") -> Panel:
    """Return every recogniser there is: Vosk where the user has a model, pocketsphinx, and the second ear.

    Raises Unavailable where there is none at all.
    """
    listeners: list[Listener] = []
    missing = ""
    folder = vosk_model(vosk_folder, home)
    if folder is not None:
        listeners.append(Vosk(folder))
    sphinx: Pocketsphinx | None = None
    try:
        sphinx = Pocketsphinx()
        listeners.append(sphinx)
    except Unavailable as error:
        missing = str(error)
    free = _second_ear()
    if not listeners:
        raise Unavailable(missing)
    mender = Mender(phones_with(sphinx.sounds if sphinx else lambda word: None)) if free else None
    return Panel(listeners, free=free, mender=mender)


def _second_ear() -> Neural | None:
    try:
        return Neural()
    except Unavailable:
        return None
