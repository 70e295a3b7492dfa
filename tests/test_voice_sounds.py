"""Sounds: the cost of mishearing as a distance, and transcripts read anew with the words of the question."""

import pytest
from hypothesis import given, strategies as st

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.core.words.forms import ONES
from guide.core.words.vocabulary import vocabulary
from guide.edge.voice.agreement import meaning
from guide.edge.voice.mending import Mender, plain_words
from guide.edge.voice.sounds import VOWELS, distance, lost, phones_with, spelled_out, swapped

PHONES = sorted(VOWELS | {"B", "D", "F", "HH", "K", "L", "M", "N", "P", "R", "S", "T", "TH", "V", "W", "Z"})
SOUND = st.lists(st.sampled_from(PHONES), max_size=6)


@given(SOUND, SOUND)
def test_distance_is_symmetric_and_zero_only_for_the_same_sounds(a, b):
    assert distance(a, b) == pytest.approx(distance(b, a))
    assert (distance(a, b) == 0) == (a == b)


@given(SOUND, SOUND)
def test_distance_is_no_more_than_losing_all_and_saying_all(a, b):
    assert distance(a, b) <= sum(map(lost, a)) + sum(map(lost, b)) + 1e-9


@given(SOUND, st.sampled_from(PHONES))
def test_one_sound_more_costs_no_more_than_that_sound(a, phone):
    assert distance(a, [*a, phone]) <= lost(phone) + 1e-9


def test_voicing_costs_less_than_place_and_place_less_than_a_vowel_for_a_consonant():
    assert swapped("P", "B") < swapped("P", "T") < swapped("P", "AA")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3.8 amps", "three point eight amps"),
        ("395 millivolts", "three hundred ninety five millivolts"),
        ("Point 452.", "point four five two"),
        ("Three-point-eight", "three point eight"),
        ("1,200 ohms", "one thousand two hundred ohms"),
    ],
)
def test_numerals_are_read_as_they_are_said(text, words):
    assert " ".join(plain_words(text)) == words


@pytest.fixture(scope="module")
def mender():
    pocketsphinx = pytest.importorskip("pocketsphinx")
    decoder = pocketsphinx.Decoder(loglevel="FATAL")
    return Mender(phones_with(decoder.lookup_word))


@pytest.mark.parametrize(
    ("written", "measure", "value"),
    [
        ("For point to amps,", Measure.AMPS_DC, 4.2),
        ("Four point two emps.", Measure.AMPS_DC, 4.2),
        ("There are point seven, six, seven volts.", Measure.DIODE, 0.767),
        ("Three ninety five millibalds.", Measure.DIODE, 0.395),
        ("Five point two valts.", Measure.VOLTS_DC, 5.2),
        ("Free thirty one.", Measure.OHMS, 331.0),
    ],
)
def test_what_a_general_recogniser_wrote_is_read_with_the_words_of_the_question(mender, written, measure, value):
    """The transcripts are ones the neural ear wrote of synthetic voices saying these values."""
    expecting = Expecting(measure)
    best = next(w for w in mender.ways(written, vocabulary(expecting)) if meaning(w.text, expecting))
    assert meaning(best.text, expecting) == ("reading", value)
    assert best.bent < 0.2


def test_a_figure_made_of_bent_sounds_is_marked_and_a_bent_unit_is_not(mender):
    volts = vocabulary(Expecting(Measure.VOLTS_DC))
    ways = {w.text: w for w in mender.ways("Five point two valts.", volts)}
    assert not ways["five point two volts"].guessed
    assert all(w.guessed for text, w in ways.items() if text.split()[-1] in ONES[3:])
    assert any(w.guessed for w in mender.ways("Five point two aides.", volts))


def test_a_plain_answer_is_not_bent(mender):
    best = mender.ways("Point four five two.", vocabulary(Expecting(Measure.DIODE)))[0]
    assert (best.text, best.bent) == ("point four five two", 0.0)


def test_a_line_is_likened_to_what_was_written_by_its_sound(mender):
    written = "Five point to take."
    near, far = mender.likeness(written, "five point two k"), mender.likeness(written, "five point two three eight")
    assert 0 < near < far
    assert mender.likeness("Point four.", "point four") == 0.0
    assert mender.likeness("...", "point four") == 1.0


def test_every_way_of_sounding_that_is_listed_counts():
    listed = {"zero": "Z IH R OW", "zero(2)": "Z IY R OW", "zero(3)": "Z IY AH R OW", "zero(4)": "Z IH R AH UH"}
    assert [" ".join(way) for way in phones_with(listed.get)("zero")] == list(listed.values())


@pytest.mark.parametrize(
    "talk", ["Where did that screw go?", "Did you see the game last night?", "This board is filthy."]
)
def test_talk_has_to_be_bent_far(mender, talk):
    expecting = Expecting(Measure.DIODE)
    ways = [w for w in mender.ways(talk, vocabulary(expecting)) if meaning(w.text, expecting)]
    assert all(w.bent > 0.2 for w in ways)


@given(st.text(max_size=60))
def test_no_text_whatever_breaks_the_mending(text):
    ways = Mender(lambda word: [spelled_out(word)]).ways(text, vocabulary(Expecting(Measure.DIODE)))
    assert all(w.bent >= 0 for w in ways)
