"""The ear that a key opens and closes, over scripted frames."""

import pytest

from guide.core.intent import Utterance
from guide.edge.voice.agreement import Judged, Outcome
from guide.edge.voice.audio import FRAME_BYTES, FRAME_S
from guide.edge.voice.ear import ECHO_TAIL_S, HELD_ENDS_AFTER_S, LONGEST_HELD_S, SAY_AGAIN, Again, Ear
from guide.edge.voice.endpoint import Endpointer
from guide.edge.voice.settings import Listens
from guide.edge.voice.talkkey import TalkKey
from tests.ears import (
    AGAIN,
    DIODE,
    HEARD,
    IGNORE,
    LOUD,
    QUIET,
    SPEECH,
    UTTERANCE,
    Answers,
    Script,
    loudness,
)


class Hand:
    """A hand on the key: `at` a frame it presses. Time is the number of the frame."""

    def __init__(self, frames, *presses):
        self.now = 0.0
        self.key = TalkKey(clock=lambda: self.now)
        self.source = Script(frames, at=dict.fromkeys(presses, self.key.press))
        fetch = self.source.frame

        def frame(wait_s):
            self.now = (self.source.number + 1) * FRAME_S
            if wait_s == 0.0 and self.caught_up:
                return None  # nothing more has been picked up so far
            return fetch(wait_s)

        self.source.frame, self.caught_up = frame, True

    def ear(self, *judged, **more):
        self.panel = Answers(*judged)
        return Ear(self.source, self.panel, endpointer=Endpointer(loudness), key=self.key, **more)

    @property
    def frames_heard(self):
        return [length // FRAME_BYTES for _, length in self.panel.asked]


PRE, AFTER = round(0.3 / FRAME_S), round(0.25 / FRAME_S)


def test_between_two_taps_everything_is_one_answer_pauses_and_all():
    """The end-pointing alone would have ended it at the first pause of 0.4 s."""
    spoken = [SPEECH] * 20 + [QUIET] * 25 + [SPEECH] * 20
    hand = Hand([QUIET] * 40 + spoken + [QUIET] * 60, 40, 40 + len(spoken) + 10)
    heard = hand.ear(Judged(Outcome.HEARD, "point four"), HEARD).listen(DIODE)
    assert isinstance(heard, Utterance)
    assert heard.text == HEARD.text
    assert hand.frames_heard == [PRE + 20 + AFTER, PRE + len(spoken) + AFTER], "ahead, and all of it"
    assert not hand.key.open


def test_in_noise_that_never_ends_the_second_tap_ends_it():
    hand = Hand([SPEECH] * 200, 30, 90)
    assert isinstance(hand.ear(HEARD).listen(DIODE), Utterance)
    assert hand.source.number < 110


def test_a_key_held_down_keeps_the_ear_open_until_it_comes_no_more():
    """As a terminal tells it: a first press, a pause of half a second, then one press after the other."""
    repeats = range(56, 130, 2)
    hand = Hand([QUIET] * 40 + [SPEECH] * 90 + [QUIET] * 60, 40, *repeats)
    assert isinstance(hand.ear(HEARD).listen(DIODE), Utterance)
    assert hand.frames_heard[0] >= 90
    assert hand.source.number < 145, "it ends when the key comes up, not by the silence after it"


def test_what_was_picked_up_before_the_key_was_let_go_of_is_heard_even_if_fetched_late():
    hand = Hand([QUIET] * 20 + [SPEECH] * 60 + [None], 20, 30)
    hand.caught_up = False
    hand.ear(HEARD).listen(DIODE)
    assert hand.frames_heard == [PRE + 60]


def test_an_ear_forgotten_open_closes_after_the_speech_or_after_a_while():
    spoken = Hand([QUIET] * 40 + [SPEECH] * 20 + [QUIET] * 600, 40)
    assert isinstance(spoken.ear(HEARD).listen(DIODE), Utterance)
    assert spoken.source.number < 60 + 2 * HELD_ENDS_AFTER_S / FRAME_S
    silent = Hand([QUIET] * 2000, 40)
    assert silent.ear().listen(DIODE) == Again(SAY_AGAIN)
    assert silent.frames_heard == []
    assert silent.source.number < 50 + LONGEST_HELD_S / FRAME_S


@pytest.mark.parametrize("judged", [AGAIN, IGNORE])
def test_what_was_meant_for_the_tool_and_not_made_out_is_asked_again(judged):
    hand = Hand([QUIET] * 20 + [SPEECH] * 20 + [QUIET] * 40, 20, 45)
    assert hand.ear(judged).listen(DIODE) == Again(SAY_AGAIN)


def test_where_only_the_key_opens_the_ear_nothing_else_is_heard():
    hand = Hand(UTTERANCE * 2, len(UTTERANCE) + 10, len(UTTERANCE) + 40)
    listening = hand.ear(HEARD, listens=Listens.KEY)
    assert listening.shut
    assert isinstance(listening.listen(DIODE), Utterance)
    assert len(hand.frames_heard) == 1


def test_the_key_cuts_the_voice_short_and_its_echo_is_not_heard():
    cut, speaking = [], []

    def interrupt():
        cut.append(hand.source.number)
        speaking.clear()

    for listens in Listens:
        del cut[:]
        speaking[:] = [True]
        hand = Hand([LOUD] * 40 + [SPEECH] * 20 + [QUIET] * 60, 40, 70)
        heard = hand.ear(HEARD, listens=listens, speaking=lambda: bool(speaking), interrupt=interrupt).listen(DIODE)
        assert isinstance(heard, Utterance)
        assert cut == [41]
        assert hand.frames_heard == [20 - round(ECHO_TAIL_S / FRAME_S) + AFTER]
