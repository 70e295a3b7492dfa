"""The key that opens the ear, and what is kept of what is said meanwhile; time and sound are scripted."""

import pytest

from guide.edge.voice.audio import FRAME_BYTES, FRAME_S
from guide.edge.voice.endpoint import Endpointer, Pace
from guide.edge.voice.talkkey import REPEATS_WITHIN_S, TalkKey


class Clock:
    now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


def test_the_first_tap_opens_and_the_second_closes_a_moment_later(clock):
    opened = []
    key = TalkKey(pressed=lambda: opened.append(clock.now), clock=clock)
    key.press()
    assert key.open
    clock.now = 60.0
    assert not key.let_go, "an ear may stay open for as long as it takes"
    key.press()
    assert key.open
    assert not key.let_go
    clock.now += REPEATS_WITHIN_S
    assert key.let_go
    assert opened == [0.0]
    key.close()
    assert not key.open
    assert not key.let_go


@pytest.mark.parametrize("every_s", [0.03, 0.1])
def test_a_key_held_down_closes_only_when_it_comes_up(clock, every_s):
    """A terminal tells the first press, nothing for half a second, and then one press after the other."""
    key = TalkKey(clock=clock)
    key.press()
    clock.now = 0.5
    for _ in range(40):
        key.press()
        clock.now += every_s
        assert not key.let_go
    clock.now += REPEATS_WITHIN_S
    assert key.let_go


def test_after_it_has_closed_a_press_opens_it_again(clock):
    key = TalkKey(clock=clock)
    for _ in range(2):
        key.press()
        assert key.open
        key.close()


SPEECH, SILENCE = b"\1\0" * (FRAME_BYTES // 2), bytes(FRAME_BYTES)
PACE = Pace()


def take(*frames, before=()):
    endpointer = Endpointer(lambda frame: 0.9 if frame == SPEECH else 0.0)
    for frame in before:
        endpointer.feed(frame)
    begun = endpointer.opened()
    for frame in frames:
        begun.add(frame)
    return begun


def test_only_silence_at_both_ends_is_cut_off():
    begun = take(*[SILENCE] * 40, *[SPEECH] * 5, *[SILENCE] * 30, *[SPEECH] * 5, *[SILENCE] * 40)
    around = round(PACE.pre_roll_s / FRAME_S) + round(PACE.kept_after_s / FRAME_S)
    assert len(begun.samples()) == FRAME_BYTES * (40 + around)
    assert begun.silent_for_s == pytest.approx(40 * FRAME_S)
    assert begun.seconds == pytest.approx(120 * FRAME_S)


def test_without_speech_nothing_was_said():
    begun = take(*[SILENCE] * 50)
    assert begun.samples() == b""
    assert begun.silent_for_s == 0.0


def test_a_word_begun_before_the_key_is_kept_whole():
    begun = take(*[SPEECH] * 5, before=[SILENCE] * 20 + [SPEECH] * 6)
    assert begun.samples().count(SPEECH) == 11
