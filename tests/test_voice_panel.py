"""The panel over scripted recognisers: which passes are made, and that they are kept apart."""

import threading

import pytest

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice.agreement import Asked, Outcome
from guide.edge.voice.fakes import ScriptedListener, ScriptedPanel, SilentOutput, SilentVoice
from guide.edge.voice.mending import Mender
from guide.edge.voice.panel import Panel
from guide.edge.voice.sounds import phones_with
from guide.edge.voice.speaker import Speaker

DIODE = Expecting(Measure.DIODE)
SOUND = bytes(32_000)

pytestmark = pytest.mark.usefixtures("resampling")


@pytest.fixture
def resampling():
    pytest.importorskip("miniaudio")


class Counted(ScriptedListener):
    """Counts its passes; each sound, resampled too, is heard as the same line."""

    def __init__(self, line, engine):
        super().__init__([], engine=engine)
        self.line, self.passes = line, 0

    def words(self, samples, vocabulary):
        self.passes += 1
        return self.line


def test_two_engines_that_agree_need_one_pass_each():
    first, second = Counted("point four five two", "vosk"), Counted("four hundred fifty two millivolts", "pocketsphinx")
    assert Panel([first, second]).hear(SOUND, DIODE).outcome is Outcome.AGREED
    assert (first.passes, second.passes) == (1, 1)


@pytest.mark.parametrize(("line", "passes"), [("point four five two", 2), ("skip", 4)])
def test_one_engine_is_heard_again_with_talk_and_a_word_slower_and_faster_too(line, passes):
    alone = Counted(line, "pocketsphinx")
    assert Panel([alone]).hear(SOUND, DIODE).outcome is Outcome.HEARD
    assert alone.passes == passes


def test_a_yes_is_heard_with_the_grammar_of_yes_and_no_too():
    alone = Counted("yes", "pocketsphinx")
    judged = Panel([alone]).hear(SOUND, DIODE, asked=Asked.YES_NO)
    assert (judged.outcome, judged.text, alone.passes) == (Outcome.AGREED, "yes", 2)


class Told(ScriptedListener):
    """Hears each pass as its own line."""

    def __init__(self, *lines):
        super().__init__([], engine="pocketsphinx")
        self.lines, self.left = lines, list(lines)

    def words(self, samples, vocabulary):
        return self.left.pop(0)


class Writes:
    """A free engine that writes the same whatever it hears."""

    def __init__(self, text):
        self.text = text

    def written(self, samples):
        return self.text

    def close(self):
        pass


def beside(written, *lines):
    phones = {
        "five": "F AY V", "point": "P OY N T", "line": "L AY N", "two": "T UW", "k": "K EY", "eight": "EY T",
        "three": "TH R IY", "take": "T EY K", "yes": "Y EH S", "yeah": "Y AE",
    }  # fmt: skip
    return Panel([Told(*lines)], free=Writes(written), mender=Mender(phones_with(phones.get)))


def test_of_what_the_passes_heard_that_which_comes_nearest_to_the_free_transcript_is_read_back():
    lines = ("five point two three eight", "five point two eight", "five point two k")
    judged = beside("Five point to k k", *lines).hear(SOUND, Expecting(Measure.OHMS))
    assert (judged.outcome, judged.text) == (Outcome.HEARD, "five point two k")


def test_what_only_comes_near_to_the_free_transcript_never_goes_on_without_a_yes():
    lines = ("five point two k",) * 3
    judged = beside("Five line two k", *lines).hear(SOUND, Expecting(Measure.OHMS))
    assert judged.outcome is Outcome.HEARD


def test_a_yes_is_not_taken_from_what_comes_near_it():
    class Near:
        """A mender to which what was written is no answer, and sounds like every one."""

        def ways(self, text, vocabulary):
            return []

        def likeness(self, text, said):
            return 0.0

    panel = Panel([Told(*["yes"] * 5)], free=Writes("Yeses."), mender=Near())
    assert panel.hear(SOUND, DIODE, asked=Asked.YES_NO).outcome is not Outcome.AGREED


def test_how_well_a_pass_fits_is_told_with_its_words():
    class Fits(Told):
        def words(self, samples, vocabulary):
            line, self.fit = self.left.pop(0)
            return line

    lines = (("eighteen point three", 0.42), ("up", 0.3), ("twenty point three", 0.4), ("nineteen point three", 0.51))
    judged = Panel([Fits(*lines)]).hear(SOUND, Expecting(Measure.VOLTS_DC))
    assert (judged.outcome, judged.text) == (Outcome.HEARD, "nineteen point three")


def test_the_grammar_that_takes_talk_hears_another_sound_than_the_narrow_one():
    heard = []

    class Keeps(ScriptedListener):
        def words(self, samples, vocabulary):
            heard.append(samples)
            return "point four five two"

    Panel([Keeps([], engine="pocketsphinx")]).hear(SOUND, DIODE)
    assert len(heard) == 2
    assert len(heard[1]) < len(heard[0])


def test_a_command_that_does_no_harm_takes_no_more_passes_once_all_are_of_one_mind():
    alone = Counted("why", "pocketsphinx")
    assert Panel([alone]).hear(SOUND, DIODE).outcome is Outcome.HEARD
    assert alone.passes == 2


@pytest.mark.parametrize(("line", "outcome"), [("skip", Outcome.HEARD), ("no data at all", Outcome.AGAIN)])
def test_at_the_counter_a_recogniser_of_grammars_takes_commands_only(line, outcome):
    assert Panel([Counted(line, "pocketsphinx")]).hear(SOUND, Expecting(), asked=Asked.WORDS).outcome is outcome


def test_a_question_that_changes_waits_for_the_utterance_that_is_being_heard():
    """Engines bear one thing at a time: to load a grammar in the middle of a decode ends the process."""
    inside, go_on, order = threading.Event(), threading.Event(), []

    class Slow(ScriptedListener):
        def words(self, samples, vocabulary):
            inside.set()
            assert go_on.wait(10.0)
            order.append("heard")
            return "yes"

        def prepare(self, vocabulary):
            order.append("prepared")

    panel = Panel([Slow([])])
    hearing = threading.Thread(target=panel.hear, args=(SOUND, DIODE), kwargs={"asked": Asked.YES_NO})
    hearing.start()
    assert inside.wait(10.0)
    preparing = threading.Thread(target=panel.prepare, args=(DIODE,))
    preparing.start()
    go_on.set()
    hearing.join(10.0)
    preparing.join(10.0)
    assert order == ["heard", "heard", "prepared", "prepared"]


def test_the_scripted_twins_hear_and_say_their_lines():
    panel = ScriptedPanel(["ready", "point four"])
    assert [panel.hear(SOUND, DIODE).text for _ in range(3)] == ["ready", "point four", ""]
    listener = ScriptedListener(["yes", "no"])
    assert [listener.words(b"a", None), listener.words(b"b", None), listener.words(b"a", None)] == ["yes", "no", "yes"]
    room = SilentOutput()
    speaker = Speaker(SilentVoice(), room)
    speaker.say("one")
    assert speaker.wait(10.0)
    assert room.played == 1
    speaker.close()


@pytest.mark.parametrize(
    ("written", "hears", "stands"),
    [
        ("Note the fuse holder is loose.", "nope", "Note the fuse holder is loose"),
        ("Hold for the customer until Friday.", "hold", "Hold for the customer until Friday"),
        ("Hold until Monday.", "help", "Hold until Monday"),
        ("What is 472?", "one thousand forty seven volts", "What is 472"),
        ("What is for seven to?", "minus four seventy two", "what is four seven two"),
        ("Something else, a cracked via.", "scratch that", "Something else, a cracked via"),
    ],
)
@pytest.mark.parametrize("asked", [Asked.ANSWER, Asked.YES_NO])
def test_a_command_with_words_keeps_its_words_whatever_the_grammar_made_of_them(written, hears, stands, asked):
    """At a read-back too, where a note was heard as a no."""
    judged = beside(written, *[hears] * 5).hear(SOUND, Expecting(Measure.VOLTS_DC), asked=asked)
    assert (judged.outcome, judged.text) == (Outcome.AGREED, stands)


@pytest.mark.parametrize(
    "written",
    ["Pause the music.", "Hold this for me.", "Hold for a second.", "Hold for me please.", "What is that smell?",
     "What about lunch?", "Note."],
)  # fmt: skip
def test_talk_that_begins_like_a_command_with_words_is_none(written):
    judged = beside(written, *[""] * 4).hear(SOUND, Expecting(Measure.VOLTS_DC))
    assert (judged.outcome in (Outcome.IGNORE, Outcome.AGAIN), judged.text) == (True, "")


def test_a_no_with_the_reading_after_it_is_no_note():
    """`No, four point seven` is written so too."""
    assert beside("Note 4.7.", *[""] * 4).hear(SOUND, Expecting(Measure.VOLTS_DC)).outcome is not Outcome.AGREED
