"""The ear over scripted frames and a scripted panel: what comes back, and when it does not listen."""

import threading
from array import array

import pytest

from guide.core.intent import Expecting, Utterance
from guide.core.quantity import Measure
from guide.core.reading import Source
from guide.edge.voice.agreement import Asked, Judged, Outcome
from guide.edge.voice.audio import FRAME_BYTES, FRAME_SAMPLES, EndOfSound
from guide.edge.voice.ear import NOISE, SAY_AGAIN, SAY_DIGITS, Again, Duplex, Ear
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


@pytest.mark.parametrize(("judged", "agreed"), [(AGREED, True), (HEARD, False)])
def test_an_utterance_carries_whether_two_engines_agreed(judged, agreed):
    heard = ear(UTTERANCE, judged).listen(DIODE)
    assert isinstance(heard, Utterance)
    assert (heard.text, heard.source, heard.agreed) == ("point four five two", Source.SPOKEN, agreed)


def test_talk_is_passed_over_without_a_word():
    told = []
    listening = ear(UTTERANCE * 2, IGNORE, AGREED, tell=told.append)
    assert isinstance(listening.listen(DIODE), Utterance)
    assert told == []


def test_the_second_failure_offers_digits_one_by_one_or_a_key():
    listening = ear(UTTERANCE * 3, AGAIN, AGAIN, AGREED)
    assert [listening.listen(DIODE), listening.listen(DIODE)] == [Again(SAY_AGAIN), Again(SAY_DIGITS)]


def test_a_success_forgets_the_failures_before_it():
    listening = ear(UTTERANCE * 3, AGAIN, AGREED, AGAIN)
    heard = [listening.listen(DIODE) for _ in range(3)]
    assert heard[2] == Again(SAY_AGAIN)


def test_a_typed_key_ends_the_listening():
    cancel = threading.Event()
    source = Script([QUIET] * 40, at={20: cancel.set})
    assert Ear(source, Answers(), endpointer=Endpointer(loudness)).listen(DIODE, cancel=cancel) is None
    assert source.number == 21


def test_the_end_of_the_recordings_is_no_answer():
    listening = ear(UTTERANCE[:20])
    assert listening.listen(DIODE) is None
    assert listening.ended


def test_a_question_of_yes_or_no_is_heard_as_one():
    panel = Answers(Judged(Outcome.AGREED, "yes"))
    Ear(Script(UTTERANCE), panel, endpointer=Endpointer(loudness)).listen(DIODE, asked=Asked.YES_NO)
    assert panel.asked[0][0] is Asked.YES_NO


def test_while_the_tool_speaks_half_duplex_hears_nothing():
    """The same sound is heard once the tool is silent."""
    source = Script(UTTERANCE * 2)
    listening = Ear(
        source, Answers(AGREED), endpointer=Endpointer(loudness), speaking=lambda: source.number <= len(UTTERANCE)
    )
    assert isinstance(listening.listen(DIODE), Utterance)
    assert source.number > len(UTTERANCE)


def test_in_full_duplex_only_stop_and_scratch_that_are_taken_while_it_speaks():
    cut = []
    echo = frame(2900)
    listening = ear(
        ([echo] * 12 + [SPEECH] * 20 + [echo] * 20) * 3,
        AGREED,
        Judged(Outcome.AGREED, "go back"),
        Judged(Outcome.AGREED, "stop"),
        duplex=Duplex.FULL,
        speaking=lambda: True,
        interrupt=lambda: cut.append("cut"),
    )
    heard = listening.listen(DIODE)
    assert isinstance(heard, Utterance)
    assert (heard.text, cut) == ("stop", ["cut"])


def test_in_full_duplex_a_clearly_louder_voice_cuts_in():
    speaking = [True]
    frames = [SPEECH] * 60 + [LOUD] * 12 + [QUIET] * 20
    listening = ear(
        frames,
        AGREED,
        duplex=Duplex.FULL,
        speaking=lambda: speaking[0],
        interrupt=lambda: speaking.__setitem__(0, False),
    )
    assert isinstance(listening.listen(DIODE), Utterance)
    assert speaking == [False]


def test_noise_is_told_once():
    told = []
    noisy = [frame(1500)] * 30 + [SPEECH] * 20 + [frame(1500)] * 20
    listening = ear(noisy * 2, AGREED, AGREED, tell=told.append)
    listening.listen(DIODE)
    listening.listen(DIODE)
    assert told == [NOISE]


def test_push_to_talk_takes_everything_until_the_key_is_let_go():
    released = threading.Event()
    panel = Answers(HEARD)
    source = Script([SPEECH] * 100, at={30: released.set})
    heard = Ear(source, panel, endpointer=Endpointer(loudness)).listen_held(DIODE, released)
    assert isinstance(heard, Utterance)
    assert panel.asked == [(Asked.ANSWER, 31 * FRAME_BYTES)]


def test_the_level_is_metered_frame_by_frame():
    levels = []
    ear(UTTERANCE, AGREED, meter=levels.append).listen(DIODE)
    assert max(levels) == pytest.approx(-20.8, abs=0.1)  # 20 log10(3000 / 32768)
