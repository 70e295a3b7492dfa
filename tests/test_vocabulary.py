"""What a recogniser listens for: all of it is understood, and nothing the mode cannot show is in it."""

import re

import pytest
from hypothesis import given, settings, strategies as st

from guide.core.intent import Command, Do, Expecting, Pick, Say, Unclear, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, Source
from guide.core.words import forms, phrases
from guide.core.words.aloud import aloud
from guide.core.words.spoken import parse
from guide.core.words.templates import Breadth, branches
from guide.core.words.understanding import understand
from guide.core.words.vocabulary import commands, vocabulary, yes_or_no

READINGS = [m for m in Measure if m.takes_a_reading]
LOOK = Expecting(answers={"torn off": ("torn off",), "can't see": ("can't see",), "unplugged": ("unplugged",)})


def rules(jsgf):
    """The rules of a JSGF grammar: name -> text. Any line of another shape fails."""
    header, name, *lines = jsgf.strip().splitlines()
    assert header == "#JSGF V1.0;"
    assert re.fullmatch(r"grammar \w+;", name)
    found = [re.fullmatch(r"(?:public )?<(\w+)> = (.+);", line) for line in lines]
    assert all(found), lines
    return {m[1]: m[2] for m in found}


def sentence(grammar, draw, rule="line"):
    """One sentence of the grammar, its choices drawn."""
    chosen = draw(st.sampled_from(branches(grammar[rule])))
    return " ".join(sentence(grammar, draw, w[1:-1]) if w[0] == "<" else w for w in chosen)


@settings(max_examples=600)
@given(
    st.data(),
    st.sampled_from([*(Expecting(m) for m in READINGS), LOOK]),
    st.sampled_from((Breadth.NARROW, Breadth.BROAD)),
)
def test_whatever_the_recogniser_may_hear_is_understood(data, expecting, breadth):
    heard = sentence(rules(vocabulary(expecting, breadth=breadth).jsgf), data.draw)
    meant = understand(Utterance(heard, Source.SPOKEN), expecting)
    assert isinstance(meant, Say | Pick | Do | Unclear)
    sighs = set(heard.split()) <= {"oh", "zero", "about", "minus"} | forms.HEARD_UNITS  # `oh oh` is no reading
    if breadth is Breadth.NARROW and isinstance(meant, Unclear) and not sighs:
        assert "understand" not in meant.reason, heard


@pytest.mark.parametrize("measure", READINGS)
def test_every_rule_used_is_defined_before_it_is_used(measure):
    seen = set()
    for name, text in rules(vocabulary(Expecting(measure)).jsgf).items():
        assert set(re.findall(r"<(\w+)>", text)) <= seen
        seen.add(name)


@pytest.mark.parametrize("measure", READINGS)
def test_a_reading_read_aloud_is_in_the_vocabulary_of_its_mode(measure):
    spec = HANDHELD.modes[measure]
    known = set(vocabulary(Expecting(measure)).words)
    for top in spec.tops:
        for share in (0.003, 0.1, 0.452, 0.999):
            step = spec.resolution_at(top * share)
            digits = Measured(Quantity(top * share, measure.unit), float(f"{step:.0e}"))
            assert set(aloud(digits).split()) <= known


def takes(grammar, said):
    """Whether `said` is a sentence of the grammar; its rules repeat nothing without end, so it is a regular one."""

    def written(rule):
        marks = re.findall(r"<\w+>|[\[\]()|]|[^\s\[\]()|<>]+", grammar[rule])
        plain = {"[": "(?:", "(": "(?:", "]": ")?", ")": ")", "|": "|"}
        rules_in = {m: f"(?:{written(m[1:-1])})" for m in marks if m[0] == "<"}
        return "".join(plain.get(m) or rules_in.get(m) or f"{re.escape(m)} " for m in marks)

    return re.fullmatch(written("line"), f"{said} ") is not None


@pytest.mark.parametrize("measure", READINGS)
def test_a_reading_read_aloud_is_a_sentence_of_its_modes_grammar(measure):
    spec, grammar = HANDHELD.modes[measure], rules(vocabulary(Expecting(measure)).jsgf)
    for top in spec.tops:
        for share in (0.1, 0.452, 0.999):
            value = float(f"{top * share:.3g}")
            said = aloud(Measured(Quantity(value, measure.unit), float(f"{spec.resolution_at(value):.0e}")))
            assert takes(grammar, said) or "thousand" in said, said


@pytest.mark.parametrize(
    ("measure", "said", "taken"),
    [
        (Measure.DIODE, "point zero five millivolts", False),
        (Measure.DIODE, "fifty millivolts", True),
        (Measure.DIODE, "point zero five zero volts", True),
        (Measure.OHMS, "forty point one one ohms", False),
        (Measure.OHMS, "forty point one ohms", True),
        (Measure.OHMS, "four point one one k", True),
        (Measure.VOLTS_DC, "minus point eight millivolts", False),
        (Measure.VOLTS_DC, "minus zero point eight millivolts", True),
        (Measure.VOLTS_DC, "minus point eight volts", True),
        (Measure.AMPS_DC, "point three microamps", False),
        (Measure.AMPS_DC, "point three eight amps", True),
    ],
)
def test_decimals_are_those_the_mode_shows_with_that_unit(measure, said, taken):
    assert takes(rules(vocabulary(Expecting(measure)).jsgf), said) is taken


@pytest.mark.parametrize(
    ("measure", "absent"),
    [
        (Measure.DIODE, ("minus", "kilohms", "k", "amps", "hertz", "beeps")),
        (Measure.OHMS, ("minus", "volts", "millivolts", "beeps")),
        (Measure.VOLTS_DC, ("ohms", "k", "open", "short", "beeps")),
        (Measure.VOLTS_AC, ("minus",)),
        (Measure.CELSIUS, ("volts", "milli")),
    ],
)
def test_what_a_mode_cannot_show_is_not_listened_for(measure, absent):
    assert not set(absent) & set(vocabulary(Expecting(measure)).words)


def test_a_mode_with_fewer_decimals_takes_fewer_digits_after_the_point():
    assert rules(vocabulary(Expecting(Measure.DIODE)).jsgf)["figures"].count("<figure>") == 3
    assert rules(vocabulary(Expecting(Measure.CELSIUS)).jsgf)["figures"].count("<figure>") == 1


def test_what_is_expected_does_not_change_what_is_heard():
    """Two checks of one mode with other bands share their vocabulary: only the meter decides."""
    plain = vocabulary(Expecting(Measure.DIODE))
    banded = vocabulary(Expecting(Measure.DIODE, answers={"OL": ("OL",), "open": ("open",), "short": ("short",)}))
    assert plain == banded


def test_yes_or_no_hears_nothing_else():
    for said in yes_or_no().phrases:
        assert understand(Utterance(said), Expecting()) in (Do(Command.YES), Do(Command.NO))
    assert not {"undo", "go", "back"} & set(yes_or_no().words)


def test_every_command_is_listened_for_by_its_own_name():
    assert {c.value for c in Command} <= set(commands().phrases)


def test_answers_are_listened_for_as_they_are_spoken():
    assert {"torn off", "can't see", "unplugged"} <= set(vocabulary(LOOK).phrases)


@pytest.mark.parametrize("phrase", [*phrases.OVER_WORDS, *phrases.OPEN_WORDS, *phrases.SHORT_WORDS])
def test_each_listed_phrase_of_no_number_is_a_reading_on_ohms(phrase):
    assert parse(phrase, Measure.OHMS).reading is not None


def test_where_words_are_chosen_from_not_to_know_is_listened_for():
    """By both recognisers it was heard as `undo`, `no` or another of the answers, and acted on."""
    asked = vocabulary(Expecting(answers={"yes": ("yes", "a surge"), "no": ("no",)}))
    assert {"don't know", "do not know"} <= set(asked.phrases)
    acknowledged = vocabulary(Expecting(answers={"unplugged": ("unplugged",)}))
    assert "don't know" not in acknowledged.phrases
