"""What a line means where a question stands: answers, commands, readings, and lines that must be asked again."""

import re

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.intent import Command, Do, Expecting, Pick, Say, Unclear, Utterance
from guide.core.jobs.questions import check_expecting
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange, Source
from guide.core.words import phrases
from guide.core.words.hearing import hear_words
from guide.core.words.understanding import understand
from tests.worlds import shipped, shipped_tree

LOOK = Expecting(
    answers={"fitted": ("fitted", "it is there"), "torn off": ("torn off", "ragged"), "can't see": ("can't see",)}
)
ASK = Expecting(answers={"back": ("yes", "it comes back"), "still-low": ("no", "still low")})
CAUTION = Expecting(answers={"unplugged": ("unplugged",)})
DIODE = Expecting(Measure.DIODE, answers={"OL": ("OL",), "open": ("open",), "short": ("short",)})
VOLTS = Expecting(Measure.VOLTS_DC)
EVERY = (LOOK, ASK, CAUTION, DIODE, VOLTS, Expecting())


def meant(text, expecting=DIODE, **kinds):
    return understand(Utterance(text, **kinds), expecting)


def value(text, expecting=DIODE, **kinds):
    said = meant(text, expecting, **kinds)
    assert isinstance(said, Say), said
    assert isinstance(said.reading, Measured)
    return said.reading.quantity.value


@pytest.mark.parametrize("words", ["torn off", "Torn off.", "it's torn off", "um, torn off please", "TORN-OFF"])
def test_an_answer_is_picked_whatever_its_case_and_fillers(words):
    assert meant(words, LOOK) == Pick("torn off", words)


@pytest.mark.parametrize("words", ["not torn off", "torn", "off", "fitted or torn off", "torn off fitted"])
def test_a_part_or_a_denial_of_an_answer_is_not_the_answer(words):
    assert isinstance(meant(words, LOOK), Unclear)


@pytest.mark.parametrize("words", ["can't see", "cannot see it", "cant see", "Can\u2019t tell", "not sure"])
def test_not_seeing_is_an_answer_in_many_words(words):
    assert meant(words, LOOK) == Pick("can't see", words)


@pytest.mark.parametrize("words", ["it comes back", "comes back", "yes", "Yes, please", "so it comes back now"])
def test_an_answer_is_picked_without_the_little_words_of_either_side(words):
    assert meant(words, ASK) == Pick("back", words)


def test_yes_and_no_are_the_answers_where_the_question_takes_them():
    assert meant("yep", ASK) == Pick("back", "yep")
    assert meant("nope", ASK) == Pick("still-low", "nope")
    assert meant("yep", DIODE) == Do(Command.YES)


def test_a_caution_is_acknowledged_only_by_its_own_word():
    assert meant("it's unplugged", CAUTION) == Pick("unplugged", "it's unplugged")
    assert meant("yes", CAUTION) == Do(Command.YES)
    assert isinstance(meant("not unplugged", CAUTION), Unclear)


@pytest.mark.parametrize(("command", "words"), [(c, w) for c, said in phrases.COMMAND_WORDS.items() for w in said])
def test_each_phrase_of_a_command_is_that_command_at_every_question(command, words):
    for expecting in (DIODE, LOOK, Expecting()):
        assert meant(words, expecting) == Do(command)
        assert meant(f"um, {words}!", expecting) == Do(command)


def test_no_two_commands_share_a_phrase():
    said = [w for words in phrases.COMMAND_WORDS.values() for w in words]
    assert len(said) == len(set(said))


@pytest.mark.parametrize(
    ("words", "command", "text"),
    [
        ("note smells burnt, near J4", Command.NOTE, "smells burnt, near J4"),
        ("Take a note: pad 3 lifted", Command.NOTE, "pad 3 lifted"),
        ("what is 4 7 2", Command.WHAT_IS, "4 7 2"),
        ("what's 01C", Command.WHAT_IS, "01C"),
        ("what if O L", Command.WHAT_IF, "O L"),
        ("hold, waiting for a part", Command.HOLD, "waiting for a part"),
        ("please note it hums", Command.NOTE, "it hums"),
        ("note", Command.NOTE, ""),
    ],
)
def test_a_command_with_text_keeps_the_text_as_written(words, command, text):
    assert meant(words) == Do(command, text)


@pytest.mark.parametrize("words", ["hold on", "hold on let me find the other probe", "wait", "just a second"])
def test_asking_for_time_leaves_the_question_standing(words):
    for expecting in EVERY:
        assert isinstance(meant(words, expecting), Unclear)


@pytest.mark.parametrize(
    ("words", "volts"),
    [
        ("four fifty no four sixty", 0.46),
        ("four fifty, sorry, four sixty", 0.46),
        ("four fifty no four sixty no four seventy", 0.47),
        ("scratch that, five ten", 0.51),
        ("no, four sixty", 0.46),
        ("no it's four sixty", 0.46),
        ("four fifty I mean four sixty", 0.46),
        ("O L no four fifty", 0.45),
        ("wait, four fifty", 0.45),
        ("yes four fifty", 0.45),
        ("climbing, settled at four fifty", 0.45),
    ],
)
def test_the_last_correction_in_a_line_counts(words, volts):
    assert value(words) == volts


@pytest.mark.parametrize(
    "words",
    ["four fifty two no three", "four fifty no", "four fifty scratch that", "four fifty or four sixty",
     "over two volts", "not four fifty", "four fifty to four sixty", "four, it's fifty two", "climbing", "drifting",
     "four fifty and climbing",
     "beeps no beep", "four fifty no reading", "about to skip", "1.", "", "   ", "pass me the flux please"],
)  # fmt: skip
def test_a_line_that_holds_no_single_settled_value_is_asked_again(words):
    said = meant(words)
    assert isinstance(said, Unclear)
    assert said.reason


def test_a_correction_that_drops_the_unit_is_asked():
    said = meant("four point seven k no five point seven", Expecting(Measure.OHMS))
    assert isinstance(said, Unclear)
    assert [m.quantity.value for m in said.candidates] == [5700.0, 5.7]
    assert value("twelve volts no thirteen", VOLTS) == 13.0


def test_the_words_for_over_range_and_short_are_readings_even_where_they_are_listed_as_answers():
    assert meant("open") == Say(OverRange(Measure.DIODE.unit), "open")
    assert value("short") == 0.0


def test_words_a_general_recogniser_mishears_count_for_speech_only():
    assert value("for fifty two millivolts", source=Source.SPOKEN) == 0.452
    assert isinstance(meant("for fifty two millivolts"), Unclear)


def test_agreement_and_source_travel_with_the_reading():
    said = meant("four fifty", source=Source.SPOKEN, agreed=True)
    assert isinstance(said, Say)
    assert (said.source, said.agreed, said.words) == (Source.SPOKEN, True, "four fifty")


FILLED = st.tuples(
    st.sampled_from(("", "um ", "it's ", "reads ", "I get ", "okay, ", "the meter says ", "uh it reads ")),
    st.sampled_from(("", " please", " thanks", " um", " on the meter")),
)


LINES = ("point four five two", "four fifty two", "452 mV", "O L", "short", "about 400", "12 ohms", "five", "four five",
         "half a volt", "climbing", "three point five")  # fmt: skip


@settings(max_examples=400)
@given(st.sampled_from(LINES), FILLED)
def test_a_filler_does_not_change_what_is_meant(words, fillers):
    plain, filled = meant(words), meant(fillers[0] + words + fillers[1])
    assert type(filled) is type(plain)
    if isinstance(plain, Say):
        assert filled.reading == plain.reading
    else:
        assert (filled.candidates, filled.reason) == (plain.candidates, plain.reason)


@settings(max_examples=1500)
@given(st.text(max_size=80), st.sampled_from(EVERY), st.sampled_from(Source))
def test_no_line_raises_at_any_question(text, expecting, source):
    said = understand(Utterance(text, source), expecting)
    assert isinstance(said, Say | Pick | Do | Unclear)


def test_heard_words_are_the_object_of_the_contract():
    assert hear_words("four fifty two", Measure.DIODE) == {
        "file": None, "heard": "four fifty two", "kind": "reading", "value": 0.452, "unit": "V", "over_range": False,
        "command": None, "sure": True,
    }  # fmt: skip
    assert hear_words("undo")["command"] == "go back"
    assert hear_words("OL", Measure.OHMS)["over_range"] is True
    assert hear_words("four fifty two", Measure.DIODE, source=Source.SPOKEN)["sure"] is False
    assert hear_words("four fifty two", Measure.DIODE, source=Source.SPOKEN, agreed=True)["sure"] is True


@pytest.mark.parametrize(
    ("words", "kind", "meant_value", "unit"),
    [
        ("452 mV", "reading", 0.452, "V"),
        ("4k7", "reading", 4700.0, "ohm"),
        ("one point five meg", "reading", 1.5e6, "ohm"),
        ("beeps", "reading", 0.0, "ohm"),
        ("OL", "reading", None, None),
        ("four fifty two", "unclear", None, None),
        ("point four five two", "unclear", None, None),
        ("four fifty two volts", "unclear", None, None),
        ("ready", "command", None, None),
        ("unplugged", "command", None, None),
    ],
)
def test_without_a_measurement_a_unit_decides_and_a_bare_number_is_unclear(words, kind, meant_value, unit):
    found = hear_words(words)
    assert (found["kind"], found["value"], found["unit"]) == (kind, meant_value, unit)


@pytest.mark.parametrize("tree_id", shipped())
def test_every_answer_a_prompt_offers_behind_its_colon_is_taken_as_it_is_said(tree_id):
    """`... burnt, parts missing, or clean?`: whoever repeats the prompt's own words has answered."""
    for check in (c for c in shipped_tree(tree_id)[0].asked() if not c.measure.takes_a_reading and ": " in c.ask):
        offered = re.split(r", or |, | or ", check.ask.rsplit(": ", 1)[1].rstrip("?."))
        expecting = check_expecting(check, HANDHELD)
        lost = [words for words in offered if not isinstance(understand(Utterance(words), expecting), Pick)]
        assert not lost, f"{check.id}: {check.ask}"


def test_who_does_not_know_passes_a_question_over_where_not_knowing_is_none_of_its_answers():
    plain = Expecting(answers={"none": ("none",), "link": ("link",)})
    told = Expecting(answers={"unknown": ("not known", "do not know"), "wet": ("wet",)})
    look = Expecting(answers={"clean": ("clean",), "can't see": ("can't see",)})
    for words in ("don't know", "I don't know", "no idea"):
        assert understand(Utterance(words), plain) == Do(Command.SKIP)
        assert understand(Utterance(words), told) == Pick("unknown", words)
        assert understand(Utterance(words), look) == Pick("can't see", words)
