"""`guide hear FILE`: what is made of a recording, as the object of the contract."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from guide.core.intent import Expecting, Say, Unclear, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Source
from guide.core.words.hearing import hear_words, heard_anywhere, without_job
from guide.core.words.templates import Breadth
from guide.core.words.understanding import understand
from guide.core.words.vocabulary import vocabulary
from guide.edge.voice.agreement import Judged, Outcome
from guide.edge.voice.audio import EndOfSound, Recordings
from guide.edge.voice.ear import NOISY_DB
from guide.edge.voice.endpoint import Endpointer, Segment
from guide.edge.voice.panel import Panel

_CLEAR = (Outcome.AGREED, Outcome.HEARD)
NO_SPEECH = "no speech in it"
NOT_MADE_OUT = "not made out"
TALK = "taken for talk that is not meant for the tool"


@dataclass(frozen=True, slots=True)
class _Answer:
    """What was decided about one utterance, and the question it was heard for."""

    judged: Judged
    question: Expecting
    sure: bool = True  # of the kind of measurement

    @property
    def clear(self) -> bool:
        return self.judged.outcome in _CLEAR


def hear_file(
    path: Path, panel: Panel, *, measure: Measure | None = None, expecting: Expecting | None = None
) -> dict[str, object]:
    """Return the object of `hear --json` for the first utterance in `path` that means something.

    With neither `measure` nor `expecting` it may be a command or a reading of any kind; the unit said tells which.
    `sure` only where a job would go on without a yes. Beside the contract: `ears`, what each recogniser heard by
    itself, and `say`, why it is not clear or how noisy it is. Raises BadInput for what is no recording.
    """
    question = expecting or without_job(measure)
    anywhere = measure is None and expecting is None
    answer, segment = _Answer(Judged(Outcome.IGNORE), question), None
    for segment in _utterances(path):
        answer = _anywhere(segment, panel) if anywhere else _Answer(panel.hear(segment.samples, question), question)
        if answer.clear:
            break
    asked = answer.question
    found = hear_words(
        answer.judged.text if answer.clear else "",
        asked.measure if anywhere else measure,
        expecting=expecting,
        source=Source.SPOKEN,
        agreed=answer.judged.outcome is Outcome.AGREED and answer.sure,
    )
    broad = Breadth.BROAD if anywhere and asked.measure is None else Breadth.NARROW
    ears = panel.by_each(segment.samples, vocabulary(asked, breadth=broad)) if segment else {}
    return {**found, "file": str(path), "ears": ears, "say": _to_say(answer, segment)}


def _utterances(path: Path) -> Iterator[Segment]:
    sound, endpointer = Recordings([path]), Endpointer()
    while True:
        try:
            frame = sound.frame(0.0)
        except EndOfSound:
            return
        segment = endpointer.feed(frame) if frame is not None else None
        if segment is not None:
            yield segment


def _to_say(answer: _Answer, segment: Segment | None) -> str:
    """Return why it is not clear, or that it was noisy; empty where there is nothing to say."""
    if segment is None:
        return NO_SPEECH
    noisy = f"noisy: speech {segment.snr_db:.0f} dB above it" if segment.snr_db < NOISY_DB else ""
    why = ""
    if answer.judged.outcome is Outcome.AGAIN:
        why = NOT_MADE_OUT
    elif answer.judged.outcome is Outcome.IGNORE:
        why = TALK
    elif answer.question.measure is None:
        meant = heard_anywhere(Utterance(answer.judged.text, Source.SPOKEN))
        why = meant.reason if isinstance(meant, Unclear) else ""
    return "; ".join(part for part in (why, noisy) if part)


def _anywhere(segment: Segment, panel: Panel) -> _Answer:
    """Hear an utterance whatever it is. A command that two recognisers mean is one; else each says, with every kind of
    reading to choose from, what was measured, and the utterance is heard again as an answer to that."""
    commands = without_job()
    judged = panel.hear(segment.samples, commands)
    if judged.outcome is Outcome.AGREED:
        return _Answer(judged, commands)
    guessed = panel.by_each(segment.samples, vocabulary(commands, breadth=Breadth.BROAD))
    kinds = [_kinds(words) for words in guessed.values()]
    for measure in dict.fromkeys(m for named in kinds for m in named):
        question = without_job(measure)
        answer = _Answer(panel.hear(segment.samples, question), question, all(measure in named for named in kinds))
        if answer.clear and measure in _kinds(answer.judged.text):
            return answer
    if any(_is_bare(words) for words in guessed.values()):
        return _bare(segment, panel, guessed)
    return _Answer(judged, commands)


def _kinds(words: str) -> tuple[Measure, ...]:
    """Return the kinds of measurement that the unit in `words` tells, those first that show most."""
    said = Utterance(words, Source.SPOKEN)
    if not isinstance(heard_anywhere(said), Say):
        return ()
    return tuple(m for m in _BY_RANGE if isinstance(understand(said, Expecting(m)), Say))


_BY_RANGE = (Measure.VOLTS_DC, *(m for m in HANDHELD.modes if m is not Measure.VOLTS_DC))


def _is_bare(words: str) -> bool:
    """Tell whether `words` are a reading but for the kind of measurement."""
    meant = heard_anywhere(Utterance(words, Source.SPOKEN))
    return isinstance(meant, Unclear) and bool(meant.candidates)


def _bare(segment: Segment, panel: Panel, guessed: Mapping[str, str]) -> _Answer:
    """A number, or an open or a short: a narrow grammar hears it better, and its words stand only if it names no unit.

    What is wanted is left open, so that the words are told as what they would be.
    """
    commands = without_job()
    for measure in (Measure.DIODE, Measure.OHMS):
        judged = panel.hear(segment.samples, without_job(measure))
        if judged.outcome in _CLEAR and (_is_bare(judged.text) or not _kinds(judged.text)):
            return _Answer(judged, commands)
    return _Answer(Judged(Outcome.AGAIN, next(w for w in guessed.values() if _is_bare(w))), commands)
