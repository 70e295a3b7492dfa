"""Saying things: order, silence at once, repeats and pace, over a scripted voice and output."""

import queue
import threading
from array import array

import pytest

from guide.core.errors import Unavailable
from guide.edge.voice.speaker import RATES, Clip, Espeak, Saying, Speaker

PATIENCE_S = 10.0  # for a thread that must come; never waited for in full where all is well


class Letters:
    """A voice that renders each line as its own bytes, and counts."""

    def __init__(self):
        self.rendered = []

    def render(self, text, words_a_minute):
        self.rendered.append((text, words_a_minute))
        return Clip(text.encode(), 22_050)


class Room:
    """An output that plays each clip when told to, or until stopped. `playing` yields what is being played."""

    rate = 22_050

    def __init__(self, *, wait=False, lost=False):
        self.heard, self.playing = [], queue.Queue()
        self._wait, self._lost, self.closed = wait, lost, False

    def play(self, samples, stopped):
        if self._lost:
            raise Unavailable("the loudspeaker is gone; what is said is shown")
        self.playing.put(samples.decode())
        if self._wait:
            assert stopped.wait(PATIENCE_S)
        self.heard.append(samples.decode())

    def close(self):
        self.closed = True


@pytest.fixture
def room():
    return Room()


def test_lines_are_said_in_order(room):
    speaker = Speaker(Letters(), room)
    for line in ("one", "two", "three"):
        speaker.say(line)
    assert speaker.wait(PATIENCE_S)
    assert room.heard == ["one", "two", "three"]
    speaker.close()
    assert room.closed


def test_stop_cuts_the_line_and_forgets_the_rest():
    room = Room(wait=True)
    speaker = Speaker(Letters(), room)
    speaker.say("long")
    assert room.playing.get(timeout=PATIENCE_S) == "long"
    speaker.say("next")
    assert speaker.speaking
    speaker.stop()
    assert speaker.wait(PATIENCE_S)
    assert room.heard == ["long"]
    speaker.close()


def test_repeat_says_the_last_lines_again(room):
    speaker = Speaker(Letters(), room)
    speaker.say("earlier")
    speaker.wait(PATIENCE_S)
    speaker.say("bus b")
    speaker.wait(PATIENCE_S)
    speaker.repeat()
    speaker.wait(PATIENCE_S)
    assert room.heard == ["earlier", "bus b", "bus b"]
    speaker.close()


def test_slower_lowers_the_pace_step_by_step_to_a_floor(room):
    voice = Letters()
    speaker = Speaker(voice, room, rate=150)
    paces = [speaker.slower() for _ in range(len(RATES))]
    assert paces[0] < 150
    assert paces == sorted(paces, reverse=True)
    assert paces[-1] == RATES[0]
    speaker.say("slow")
    speaker.wait(PATIENCE_S)
    assert voice.rendered == [("slow", RATES[0])]
    speaker.close()


def test_quiet_says_only_what_is_needed(room):
    speaker = Speaker(Letters(), room)
    speaker.quiet()
    speaker.say("by the way", weight=Saying.EXTRA)
    speaker.say("unplug the supply")
    speaker.wait(PATIENCE_S)
    assert room.heard == ["unplug the supply"]
    speaker.close()


def test_a_line_said_again_is_not_rendered_again(room):
    voice = Letters()
    speaker = Speaker(voice, room)
    speaker.prepare("say again")
    for _ in range(3):
        speaker.say("say again")
    speaker.wait(PATIENCE_S)
    assert voice.rendered == [("say again", 150)]
    speaker.close()


def test_a_lost_loudspeaker_is_told_and_nothing_piles_up():
    told = []
    speaker = Speaker(Letters(), Room(lost=True), tell=told.append)
    speaker.say("one")
    assert speaker.wait(PATIENCE_S)
    assert not speaker.speaking
    assert told == ["the loudspeaker is gone; what is said is shown"]
    speaker.close()


def test_a_loudspeaker_that_is_lost_and_found_is_told_once_each(room):
    told = []
    room._lost = True
    speaker = Speaker(Letters(), room, tell=told.append)
    for line in ("one", "two"):
        speaker.say(line)
        assert speaker.wait(PATIENCE_S)
    room._lost = False
    for line in ("three", "four"):
        speaker.say(line)
        assert speaker.wait(PATIENCE_S)
    speaker.close()
    assert room.heard == ["three", "four"]
    assert told == ["the loudspeaker is gone; what is said is shown", "What is said can be heard again."]


@pytest.fixture(scope="module")
def voice():
    pytest.importorskip("pyttsx3")
    try:
        return Espeak()
    except Unavailable as error:
        pytest.skip(str(error))


class TestEspeak:
    def test_each_line_is_its_own_sound(self, voice, capfd):
        clips = [voice.render(text, 150) for text in ("Bus B.", "Point four five two.", "Bus B.")]
        first, longer, again = (len(clip.samples) for clip in clips)
        assert first == pytest.approx(again, rel=0.02)  # its breath is random, its timing is not
        assert longer > 1.5 * first
        assert max(array("h", clips[0].samples)) > 1000
        assert capfd.readouterr().out == ""

    def test_a_slower_pace_takes_longer(self, voice):
        slow, fast = (len(voice.render("Point four five two.", pace).samples) for pace in (110, 195))
        assert slow > 1.2 * fast

    def test_it_speaks_from_any_thread(self, voice):
        made = []
        thread = threading.Thread(target=lambda: made.append(voice.render("Bus A.", 150)))
        thread.start()
        thread.join(PATIENCE_S)
        assert made[0].rate == 22_050

    def test_an_unknown_voice_is_refused_with_those_there_are(self, voice):
        with pytest.raises(Unavailable, match="English"):
            Espeak("no such voice")
