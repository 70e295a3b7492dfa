"""What `guide hear` makes of words, as the JSON object of the contract."""

from __future__ import annotations

from collections.abc import Mapping

from guide.core.intent import Do, Expecting, Intent, Pick, Say, Unclear, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Answered, Measured, OverRange, Source
from guide.core.words.lines import without_fillers
from guide.core.words.spoken import OTHER_UNIT, amount_in
from guide.core.words.tokens import tokens
from guide.core.words.understanding import understand

# Words that acknowledge a caution count as commands where no job is open.
_ACKNOWLEDGEMENTS = {word: (word,) for word in ("ready", "unplugged", "powered")}
_NO_UNIT = "Say the unit too, or give the kind of measurement."


def without_job(measure: Measure | None = None) -> Expecting:
    """Return what is expected where no job is open: a reading of `measure`, a command, an acknowledgement."""
    return Expecting(measure, None, _ACKNOWLEDGEMENTS)


def hear_words(
    words: str,
    measure: Measure | None = None,
    *,
    expecting: Expecting | None = None,
    source: Source = Source.TYPED,
    agreed: bool = False,
) -> dict[str, object]:
    """Return the object of `hear --json` for `words`; `file` is null, for the caller to fill in.

    With `expecting` the answers of that question count, with `measure` a reading of that kind, without either a
    reading of any kind (see `heard_anywhere`). `sure` is true only where a job would go on without a yes: typed words,
    or two recognisers that agree, with one meaning.
    """
    utterance = Utterance(words, source, agreed=agreed)
    anywhere = expecting is None and measure is None
    meant = heard_anywhere(utterance) if anywhere else understand(utterance, expecting or without_job(measure))
    found = {"file": None, "heard": words, **_meaning(meant)}
    if anywhere and found["over_range"]:
        found["unit"] = None  # the display of any mode may show it
    waits = source is Source.SPOKEN and not agreed
    return {**found, "sure": not (waits or isinstance(meant, Unclear))}


def _meaning(meant: Intent | Unclear) -> Mapping[str, object]:
    nothing: dict[str, object] = {"kind": "unclear", "value": None, "unit": None, "over_range": False, "command": None}
    match meant:
        case Say(Measured(quantity)):
            return {**nothing, "kind": "reading", "value": quantity.value, "unit": quantity.unit.value}
        case Say(OverRange(unit)):
            return {**nothing, "kind": "reading", "unit": unit.value, "over_range": True}
        case Say(Answered(word)) | Pick(word):
            return {**nothing, "kind": "command", "command": word}
        case Do(command):
            return {**nothing, "kind": "command", "command": command.value}
        case _:
            return nothing


def heard_anywhere(utterance: Utterance) -> Intent | Unclear:
    """Return what words mean where the kind of measurement is not known.

    A unit that was said settles it, as far as every mode of that unit agrees on the value; a lone `k` or `meg` is
    ohms, as at any bench; OL is over range whatever the mode. A bare number, an open or a short is `Unclear`, naming
    what it would be.
    """
    plain = understand(utterance, without_job())
    if not isinstance(plain, Unclear):
        return plain
    amount = amount_in(without_fillers(tokens(utterance.text)))
    only_ohms = amount is not None and not amount.unit and amount.prefix.rstrip("~") in ("k", "M")
    modes = (Measure.OHMS,) if only_ohms else tuple(HANDHELD.modes)
    meanings = [understand(utterance, Expecting(measure)) for measure in modes]
    readings = dict.fromkeys(m.reading for m in meanings if isinstance(m, Say))
    asked = dict.fromkeys(c for m in meanings if isinstance(m, Unclear) for c in m.candidates)
    same = {(r.quantity if isinstance(r, Measured) else OverRange) for r in readings}
    if len(same) == 1 and not asked:
        return next(m for m in meanings if isinstance(m, Say))
    named = tuple(r for r in (*readings, *asked) if not isinstance(r, Answered))
    if named:
        return Unclear(_NO_UNIT, utterance.text, named)
    refused = [m for m in meanings if isinstance(m, Unclear) and not m.reason.startswith(OTHER_UNIT)]
    return refused[-1] if refused else plain
