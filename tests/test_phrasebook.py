"""The tables and the help come from the forms, so they cannot fall behind."""

import pytest

from guide.core.intent import Command, Do, Expecting, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.words import forms, phrases
from guide.core.words.phrasebook import forms_table, help_text, phrases_table
from guide.core.words.templates import branches
from guide.core.words.understanding import understand


def examples():
    for rules in (forms.NUMBER_RULES, forms.QUANTITY_RULES):
        yield from (f.example for r in rules.values() if isinstance(r, tuple) for f in r if f.example)


def test_every_example_of_a_form_is_in_the_table_and_is_a_number():
    rows = {row.split(" | ")[1]: row for row in forms_table().splitlines()[2:]}
    for example in examples():
        assert example in rows
    assert len(rows) > 30
    assert "| `<nz> <two>` | four fifty two | 452 mV in diode mode |" in forms_table()


def test_every_template_is_balanced_and_stands_for_something():
    for rules in (forms.NUMBER_RULES, forms.QUANTITY_RULES):
        for rule in rules.values():
            for form in rule if isinstance(rule, tuple) else ():
                assert branches(form.template)


def test_every_command_is_in_the_table_by_its_own_name():
    for command in Command:
        assert f"| `{command.value}` |" in phrases_table()


@pytest.mark.parametrize("name", ["OVER_WORDS", "OPEN_WORDS", "SHORT_WORDS", "BEEP_WORDS", "NO_BEEP_WORDS"])
def test_every_listed_answer_is_in_the_table(name):
    assert ", ".join(getattr(phrases, name)) in phrases_table()


def test_what_help_offers_is_understood():
    for measure in HANDHELD.modes:
        expecting = Expecting(measure)
        said = help_text(expecting)
        always = said.partition("At any time: ")[2].rstrip(".").split(", ")
        assert len(always) == 10
        for word in always:
            assert understand(Utterance(word), expecting) == Do(Command(word))
        for example in said.partition("Say the reading: ")[2].partition(".")[0].split(", or "):
            assert not isinstance(understand(Utterance(example), expecting), Do)


def test_help_names_the_answers_of_a_look():
    said = help_text(Expecting(answers={"torn off": ("torn off",), "can't see": ("can't see",)}))
    assert said.startswith("Say torn off, or can't see.")


def test_help_at_a_reading_gives_an_example_of_it():
    assert help_text(Expecting(Measure.DIODE)).startswith("Say the reading: point four five two, or O L.")
