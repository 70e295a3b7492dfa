"""`guide hear FILE`: what is made of a recording, as the object of the contract."""

from __future__ import annotations

from pathlib import Path

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.core.reading import Source
from guide.core.words.hearing import hear_words
from guide.edge.voice.agreement import Judged, Outcome
from guide.edge.voice.audio import EndOfSound, Recordings
from guide.edge.voice.endpoint import Endpointer
from guide.edge.voice.panel import Panel

# As for words without a job: an acknowledgement of a caution counts as a command.
_ACKNOWLEDGED = {word: (word,) for word in ("ready", "unplugged", "powered")}


def hear_file(
    path: Path, panel: Panel, *, measure: Measure | None = None, expecting: Expecting | None = None
) -> dict[str, object]:
    """Return the object of `hear --json` for the first utterance in `path` that means something.

    `sure` only where a job would go on without a yes. Raises BadInput for what is no recording.
    """
    question = expecting or Expecting(measure, None, _ACKNOWLEDGED)
    judged = _first_answer(path, panel, question)
    clear = judged.outcome in (Outcome.AGREED, Outcome.HEARD)
    found = hear_words(
        judged.text if clear else "",
        measure,
        expecting=expecting,
        source=Source.SPOKEN,
        agreed=judged.outcome is Outcome.AGREED,
    )
    return {**found, "file": str(path)}


def _first_answer(path: Path, panel: Panel, question: Expecting) -> Judged:
    sound, endpointer = Recordings([path]), Endpointer()
    judged = Judged(Outcome.IGNORE)
    while judged.outcome in (Outcome.IGNORE, Outcome.AGAIN):
        try:
            frame = sound.frame(0.0)
        except EndOfSound:
            break
        segment = endpointer.feed(frame) if frame is not None else None
        if segment is not None:
            judged = panel.hear(segment.samples, question)
    return judged
