"""The ear over scripted frames and a scripted panel: what comes back, and when it does not listen."""

import threading

import pytest

from guide.core.intent import Expecting, Utterance
from guide.core.quantity import Measure
from guide.core.reading import Source
from guide.edge.voice.agreement import Asked, Judged, Outcome
from guide.edge.voice.audio import FRAME_BYTES, FRAME_S
from guide.edge.voice.ear import (
    AHEAD_AT_MOST_S,
    NOISE,
    SAY_AGAIN,
    SAY_DIGITS,
    SPOKE_OVER,
    Again,
    Duplex,
    Ear,
)
from guide.edge.voice.endpoint import Endpointer
from tests.ears import (
    AGAIN,
    AGREED,
    DIODE,
    HEARD,
    IGNORE,
    LOUD,
    QUIET,
    SPEECH,
    UTTERANCE,
    Answers,
    Script,
    ear,
    frame,
    loudness,
)


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


def test_what_was_begun_to_an_earlier_question_is_no_answer_to_the_next():
    """The meter took the reading while the technician read it out; the rest must not count for the next point."""
    cancel = threading.Event()
    source = Script(UTTERANCE + UTTERANCE, at={22: cancel.set})
    listening = Ear(source, Answers(AGREED), endpointer=Endpointer(loudness))
    assert listening.listen(DIODE, cancel=cancel) is None
    assert 12 < source.number < 32, "in the middle of the first utterance"
    heard = listening.listen(Expecting(Measure.OHMS))
    assert isinstance(heard, Utterance)
    assert source.number > len(UTTERANCE) + 32, "it is the second one that was heard"
    assert not listening.ended


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


def spoken_into(times):
    """The tool speaks, and each time a technician begins before it has ended."""
    said = [SPEECH] * 30 + [QUIET] * 20
    source = Script(said * times)
    return source, {"speaking": lambda: (source.number - 1) % len(said) < 10}


def test_what_begins_while_the_tool_speaks_is_no_answer_but_asked_again():
    """Of `one hundred fifty` the fifty alone would be heard."""
    source, speaking = spoken_into(1)
    panel = Answers(Judged(Outcome.AGREED, "fifty"))
    heard = Ear(source, panel, endpointer=Endpointer(loudness), **speaking).listen(DIODE)
    assert heard == Again(SPOKE_OVER)


def test_it_is_asked_aloud_once_and_then_only_shown_until_something_is_heard():
    """What the tool says itself, in a room that rings long, must not make it speak for ever."""
    told = []
    three, one = (spoken_into(times)[0]._frames for times in (3, 1))
    source = Script([*three, *UTTERANCE, *one])
    last = len(three) + len(UTTERANCE)

    def talking():
        at = source.number - 1
        return at % 50 < 10 if at < len(three) else last <= at < last + 10

    listening = Ear(source, Answers(*[AGREED] * 5), endpointer=Endpointer(loudness), speaking=talking, tell=told.append)
    heard = [listening.listen(DIODE) for _ in range(3)]
    assert heard[0] == Again(SPOKE_OVER)
    assert isinstance(heard[1], Utterance)
    assert heard[2] == Again(SPOKE_OVER)
    assert told == [SPOKE_OVER] * 2


def test_what_is_no_answer_anyway_is_not_asked_for_again_after_the_tool_has_spoken():
    source, speaking = spoken_into(1)
    told = []
    listening = Ear(source, Answers(IGNORE), endpointer=Endpointer(loudness), tell=told.append, **speaking)
    assert listening.listen(DIODE) is None
    assert told == []


def test_what_begins_a_moment_after_the_tool_has_spoken_is_an_answer():
    source = Script([QUIET] * 22 + [SPEECH] * 20 + [QUIET] * 20)
    listening = Ear(source, Answers(AGREED), endpointer=Endpointer(loudness), speaking=lambda: source.number <= 10)
    assert isinstance(listening.listen(DIODE), Utterance)


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


class Noting(Answers):
    """Notes at which frame of a source it was asked."""

    def __init__(self, source, *judged):
        super().__init__(*judged)
        self._source, self.at = source, []

    def hear(self, samples, expecting, *, asked=Asked.ANSWER):
        self.at.append(self._source.number)
        return super().hear(samples, expecting, asked=asked)


def test_an_utterance_is_heard_while_its_end_is_still_waited_for_and_only_once():
    source = Script(UTTERANCE)
    panel = Noting(source, AGREED)
    heard = Ear(source, panel, endpointer=Endpointer(loudness)).listen(DIODE)
    assert isinstance(heard, Utterance)
    assert panel.at == [12 + 20 + round(0.25 / FRAME_S)], "when what is kept of the silence is there"
    assert source.number == 12 + 20 + round(0.4 / FRAME_S + 0.5), "and it counts when it has ended"


def test_what_goes_on_after_it_was_heard_ahead_is_heard_as_a_whole():
    pause = [QUIET] * 10
    frames = [QUIET] * 12 + [SPEECH] * 20 + pause + [SPEECH] * 20 + [QUIET] * 20
    panel = Answers(Judged(Outcome.AGREED, "point four"), AGREED)
    heard = Ear(Script(frames), panel, endpointer=Endpointer(loudness)).listen(DIODE)
    assert isinstance(heard, Utterance)
    assert heard.text == AGREED.text
    first, whole = (length // FRAME_BYTES for _, length in panel.asked)
    assert whole - first == len(pause) + 20


def test_what_was_heard_ahead_to_an_earlier_question_is_no_answer_to_the_next():
    """The same word said again is made out anew: another question has another grammar."""
    cancel = threading.Event()
    source = Script(UTTERANCE + UTTERANCE, at={42: cancel.set})
    panel = Answers(Judged(Outcome.AGREED, "yes"), AGREED)
    listening = Ear(source, panel, endpointer=Endpointer(loudness))
    assert listening.listen(DIODE, asked=Asked.YES_NO, cancel=cancel) is None
    heard = listening.listen(DIODE)
    assert isinstance(heard, Utterance)
    assert (heard.text, [asked for asked, _ in panel.asked]) == (AGREED.text, [Asked.YES_NO, Asked.ANSWER])


def test_long_talk_is_not_heard_ahead():
    """Frames wait while it is made out, and a sound system keeps no more than a second or so for us."""
    long = round(AHEAD_AT_MOST_S / FRAME_S)
    panel = Answers(IGNORE)
    frames = [QUIET] * 12 + [SPEECH] * long + [QUIET] * 10 + [SPEECH] * 10 + [QUIET] * 20
    assert Ear(Script(frames), panel, endpointer=Endpointer(loudness)).listen(DIODE) is None
    assert len(panel.asked) == 1


def test_nothing_is_heard_ahead_while_the_tool_speaks():
    """A decoder at work keeps the loudspeaker waiting."""
    echo = frame(2900)
    source = Script([echo] * 12 + [SPEECH] * 20 + [echo] * 20)
    panel = Noting(source, AGREED)
    Ear(source, panel, endpointer=Endpointer(loudness), duplex=Duplex.FULL, speaking=lambda: True).listen(DIODE)
    assert panel.at == [12 + 20 + round(0.4 / FRAME_S + 0.5)]


def test_the_level_is_metered_frame_by_frame():
    levels = []
    ear(UTTERANCE, AGREED, meter=levels.append).listen(DIODE)
    assert max(levels) == pytest.approx(-20.8, abs=0.1)  # 20 log10(3000 / 32768)
