"""The phrase list of `said/phrases.txt`: each line means what a technician would mean, or is asked again."""

from pathlib import Path

import pytest

from guide.core.intent import Do, Expecting, Say, Unclear, Utterance
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange, Source
from guide.core.words.aloud import speakable
from guide.core.words.understanding import understand

LINES = [
    tuple(part.strip(" ") for part in line.split(" | "))
    for line in (Path(__file__).parent / "said" / "phrases.txt").read_text(encoding="utf-8").splitlines()
    if line and line[0] != "#"
]


def told(phrase, measure, source=Source.TYPED):
    """What is understood, in the notation of the list."""
    match understand(Utterance(phrase, source), Expecting(Measure(measure))):
        case Unclear(reason):
            assert reason
            return "ask"
        case Do(command):
            return f'"{command.value}"'
        case Say(OverRange()):
            return "OL"
        case Say(Measured(quantity, _, margin)):
            return ("~" if margin and quantity.value else "") + repr(quantity.value)
        case other:
            return repr(other)


def same(got, wanted):
    if got == wanted or "ask" in (got, wanted) or "OL" in (got, wanted) or got[0] == '"' or wanted[0] == '"':
        return got == wanted
    return (got[0] == "~") == (wanted[0] == "~") and float(got.strip("~")) == float(wanted.strip("~"))


def test_the_list_is_long_and_of_every_mode():
    assert len(LINES) > 1000
    assert {measure for measure, _, _ in LINES} == {m.value for m in Measure if m.takes_a_reading}


@pytest.mark.parametrize("measure", [m.value for m in Measure if m.takes_a_reading])
def test_each_phrase_means_what_a_technician_means(measure):
    got = {phrase: (told(phrase, measure), wanted) for m, phrase, wanted in LINES if m == measure}
    assert {p: pair for p, pair in got.items() if not same(*pair)} == {}


@pytest.mark.parametrize("measure", [m.value for m in Measure if m.takes_a_reading])
def test_a_filler_or_a_case_never_makes_another_value_of_a_phrase(measure):
    """A lone m is the exception to case: there it may only be asked instead."""
    wrong = {}
    for _, phrase, wanted in (line for line in LINES if line[0] == measure):
        if phrase == "?":
            continue
        filled = (f"um {phrase}", f"it's {phrase}", f"{phrase} please", f"okay {phrase}", f"so {phrase} now")
        for other in (*filled, phrase.upper(), phrase.lower()):
            got = told(other, measure)
            if not same(got, wanted) and got != "ask" and wanted != "ask":
                wrong[other] = (got, wanted)
    assert wrong == {}


@pytest.mark.parametrize("measure", [m.value for m in Measure if m.takes_a_reading])
def test_heard_instead_of_typed_a_phrase_never_becomes_another_value(measure):
    wrong = {}
    for _, phrase, wanted in (line for line in LINES if line[0] == measure):
        got = told(phrase, measure, Source.SPOKEN)
        if got != "ask" and wanted != "ask" and not same(got, wanted):
            wrong[phrase] = (got, wanted)
    assert wrong == {}


@pytest.mark.parametrize(
    ("shown", "said"),
    [
        ("3 Ω, short", "3 ohms, short"), ("1 Ω", "1 ohm"), ("4.7 kΩ apart", "4.7 kilohms apart"), ("2 MΩ", "2 megohms"),
        ("512 mV; OL", "512 millivolts; O L"), ("-0.2 V", "minus 0.2 volts"), ("32 uA", "32 microamps"),
        ("1 Hz", "1 hertz"), ("25 °C", "25 degrees"), ("GH-2 V3, 5 Volts", "GH-2 V3, 5 Volts"),
    ],
)  # fmt: skip
def test_a_voice_is_given_the_words_of_units_and_not_their_symbols(shown, said):
    assert speakable(shown) == said
