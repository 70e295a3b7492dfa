"""Scripted frames and a scripted panel, for tests of the ear."""

from array import array

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice.agreement import Asked, Judged, Outcome
from guide.edge.voice.audio import FRAME_SAMPLES, EndOfSound
from guide.edge.voice.ear import Ear
from guide.edge.voice.endpoint import Endpointer

DIODE = Expecting(Measure.DIODE)


def frame(level):
    return array("h", [level, -level] * (FRAME_SAMPLES // 2)).tobytes()


QUIET, SPEECH, LOUD = frame(3), frame(3000), frame(20000)
UTTERANCE = [QUIET] * 12 + [SPEECH] * 20 + [QUIET] * 20


class Script:
    """A source of frames; None stands for a moment in which nothing came. `at` runs what happens at a frame."""

    def __init__(self, frames, at=None):
        self._frames, self._at, self.number, self.closed = list(frames), at or {}, 0, False
        self.lost = False

    def frame(self, wait_s):
        if self.number in self._at:
            self._at[self.number]()
        if self.number >= len(self._frames):
            raise EndOfSound
        self.number += 1
        return self._frames[self.number - 1]

    def close(self):
        self.closed = True


class Answers:
    """A panel that gives back what it was told to."""

    def __init__(self, *judged):
        self._left, self.asked = list(judged), []

    def hear(self, samples, expecting, *, asked=Asked.ANSWER):
        self.asked.append((asked, len(samples)))
        return self._left.pop(0)

    def prepare(self, expecting):
        pass

    def close(self):
        pass


def loudness(piece):
    return 0.9 if piece in (SPEECH, LOUD) else 0.0


def ear(frames, *judged, **kwargs):
    return Ear(Script(frames), Answers(*judged), endpointer=Endpointer(loudness), **kwargs)


AGREED, HEARD = Judged(Outcome.AGREED, "point four five two"), Judged(Outcome.HEARD, "point four five two")
AGAIN, IGNORE = Judged(Outcome.AGAIN), Judged(Outcome.IGNORE)
