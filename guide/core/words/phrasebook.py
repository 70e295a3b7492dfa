"""What can be said, for people: the tables of the documentation and the words of `help`, out of the same forms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from guide.core.intent import Command, Expecting
from guide.core.quantity import Measure, shown
from guide.core.reading import Measured, OverRange, Reading
from guide.core.words import forms, phrases
from guide.core.words.aloud import aloud
from guide.core.words.limits import mode_name
from guide.core.words.spoken import parse
from guide.core.words.understanding import EXAMPLES, READING_ANSWERS

# The measure whose reading stands beside an example; the first that understands it.
_SHOWN_IN = (Measure.DIODE, Measure.OHMS, Measure.VOLTS_DC, Measure.HERTZ, Measure.CELSIUS, Measure.AMPS_DC)
_ANSWERS = {
    "over range": phrases.OVER_WORDS,
    "open": phrases.OPEN_WORDS,
    "short": phrases.SHORT_WORDS,
    "beeps": phrases.BEEP_WORDS,
    "no beep": phrases.NO_BEEP_WORDS,
    "not settled, asked again": phrases.UNSTABLE_WORDS,
    "a correction": phrases.CORRECTIONS,
    "asked again, as it is no reading": phrases.BOUND_WORDS,
}


def forms_table() -> str:
    """Return the forms of a reading as a Markdown table: how it is built, an example, and what that example means."""
    rows = [f"| `{form}` | {example} | {meaning} |" for form, example, meaning in forms_rows()]
    return "\n".join(("| form | for example | is |", "|---|---|---|", *rows))


def forms_rows() -> tuple[tuple[str, str, str], ...]:
    """Return (form, example, what the example means) of every form of a reading."""
    return tuple((form, example, _meaning(example)) for form, example in _examples())


def answers_said() -> Mapping[str, tuple[str, ...]]:
    """Return the answers without a number, each with the phrases for it."""
    return {name: tuple(words) for name, words in _ANSWERS.items()}


def _examples() -> Iterator[tuple[str, str]]:
    for rules in (forms.NUMBER_RULES, forms.QUANTITY_RULES):
        for rule in rules.values():
            if isinstance(rule, tuple):
                yield from ((f.template.replace("|", "\\|"), f.example) for f in rule if f.example)


def _meaning(example: str) -> str:
    for measure in _SHOWN_IN:
        heard = parse(example, measure)
        if heard.reading is not None:
            return f"{shown_reading(heard.reading)} in {mode_name(measure)}"
    asked = next((h for h in (parse(example, m) for m in _SHOWN_IN) if h.candidates), None)
    return " or ".join(shown_reading(c) for c in asked.candidates) + ", asked" if asked else "a part of a number"


def shown_reading(reading: Reading) -> str:
    """Return a reading as a screen shows it, with `OL` and `±`."""
    match reading:
        case Measured(quantity, resolution, margin):
            rough = "about " if margin else ""
            return rough + shown(quantity, resolution=resolution)
        case OverRange():
            return "OL"
        case _:
            return aloud(reading)


def phrases_table() -> str:
    """Return the phrases without a number, and the commands with their synonyms, as a Markdown table."""
    rows = [f"| {name} | {', '.join(words)} |" for name, words in _ANSWERS.items()]
    rows += [f"| `{c.value}` | {', '.join(w for w in words if w != c.value)} |" for c, words in commands().items()]
    return "\n".join(("| meaning | said as |", "|---|---|", *rows))


def commands() -> dict[Command, tuple[str, ...]]:
    """Return every command with the phrases for it, `…` where words follow."""
    said = {c: (*phrases.COMMAND_WORDS.get(c, ()),) for c in Command}
    said[Command.SKIP] = (*said[Command.SKIP], *phrases.UNKNOWN_WORDS)  # but where they are an answer
    for command, words in phrases.TEXT_COMMANDS.items():
        said[command] = (*said[command], *(f"{w} …" for w in words))
    return said


def help_text(expecting: Expecting) -> str:
    """Return what can be said at this question, in a few short sentences fit to be spoken."""
    first = []
    if expecting.measure in EXAMPLES:
        first.append(f"Say the reading: {EXAMPLES[expecting.measure]}.")
    answers = [a for a in expecting.answers if a not in READING_ANSWERS or expecting.measure is None]
    if answers:
        first.append(f"Say {', or '.join(answers)}.")
    always = ", ".join(c.value for c in _OFTEN)
    return " ".join((*first, f"At any time: {always}."))


_OFTEN = (Command.REPEAT, Command.SKIP, Command.CANT_REACH, Command.GO_BACK, Command.SCRATCH_THAT, Command.WHY,
          Command.WHERE_ARE_WE, Command.NOTE, Command.HOLD, Command.ENOUGH)  # fmt: skip
