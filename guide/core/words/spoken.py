"""Words -> readings: what a line can mean for one kind of measurement, and its inverse `aloud`.

`parse` never guesses. Where the words can stand for several values it gives them all, and the mode of the meter
decides only by what its display can show: its range, its decimals, its sign. Expected values play no part.

A number without a unit is in the base unit of the measurement; in diode mode a bare whole number is millivolts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from guide.core.meter import HANDHELD, ModeSpec
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, OverRange, measure_unit
from guide.core.words import forms, phrases
from guide.core.words.aloud import Verbosity, aloud
from guide.core.words.amounts import MEANINGS, Amount
from guide.core.words.choices import options_of, possible, rests_on_a_guess
from guide.core.words.limits import cannot_show, mode_name
from guide.core.words.templates import Grammar, Token
from guide.core.words.tokens import tokens as words_of

Words = tuple[str, ...]

MOST_WORDS = 24  # no reading is longer; keeps a parse of any input short
MOST_NAMED = 4  # more candidates than this are no question one can answer
ROUGH_SHARE = 0.1  # `about four hundred` is four hundred give or take a tenth

_SHOWS_OPEN = frozenset({Measure.DIODE, Measure.OHMS, Measure.CONTINUITY})
_UNIT_NAMES = {"V": "volts", "ohm": "ohms", "A": "amps", "Hz": "hertz", "degC": "degrees Celsius",
               "degF": "degrees Fahrenheit", "K": "kelvins"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heard:
    """What a line can mean. One candidate is a reading; none, or several, come with the `reason` to ask again."""

    candidates: tuple[Measured | OverRange, ...] = ()
    reason: str = ""

    @property
    def reading(self) -> Measured | OverRange | None:
        return self.candidates[0] if len(self.candidates) == 1 and not self.reason else None


OTHER_UNIT = "That is"  # how a reason begins where a unit of another measurement was said
NOTHING = Heard()  # the words are no reading at all


@cache
def grammar() -> Grammar:
    """The quantity rules, compiled once."""
    rules = {**forms.NUMBER_RULES, **forms.QUANTITY_RULES}
    return Grammar(rules, MEANINGS, greedy=frozenset({"two", "hundreds", "count"}))


@cache
def known(name: str) -> frozenset[Words]:
    """The whole answers of `phrases.NAME`, as word keys."""
    return frozenset(keys(phrase) for phrase in getattr(phrases, name))


@lru_cache(maxsize=4096)
def keys(text: str) -> Words:
    """Return the words of `text` as the forms spell them."""
    return spelled(words_of(text))


def spelled(words: Sequence[Token]) -> Words:
    """Return the keys of `words`."""
    return tuple(w.key for w in words)


def parse(text: str, measure: Measure, *, spec: ModeSpec | None = None) -> Heard:
    """Return what `text` can mean in `measure`, without fillers and corrections (`understanding` takes those off).

    `spec` is the mode of the meter in use, by default that of the 6000-count handheld. Never raises.
    """
    return heard_in(words_of(text), measure, spec or HANDHELD.modes[measure])


def heard_in(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard:
    """`parse` for words already split."""
    if not words or len(words) > MOST_WORDS:
        return NOTHING
    whole = _whole_answer(spelled(words), measure, spec)
    if whole is not None:
        return whole
    amount = amount_in(words)
    return of_amount(amount, measure, spec) if amount is not None else _with_beep(words, measure, spec)


def amount_in(words: Sequence[Token]) -> Amount | None:
    """Return the amount these words are, by the first form that fits: the forms stand with the surest first."""
    found = grammar().match("quantity", words) if len(words) <= MOST_WORDS else []
    return found[0] if found else None


def _whole_answer(said: Words, measure: Measure, spec: ModeSpec) -> Heard | None:
    """OL, open, short, a beep or its absence; None where the words are none of them."""
    unit = measure_unit(measure)
    if said in known("OVER_WORDS"):
        return Heard((OverRange(unit),))
    if said in known("OPEN_WORDS"):
        if measure in _SHOWS_OPEN:
            return Heard((OverRange(unit),))
        return Heard(reason=f"Open is no reading in {mode_name(measure)}. Say what the display shows, or O L.")
    if said in known("SHORT_WORDS"):
        if measure in _SHOWS_OPEN:
            return Heard((Measured(Quantity(0.0, unit), spec.resolution_at(0.0)),))
        return Heard(reason=f"Short is no reading in {mode_name(measure)}. Say what the display shows.")
    beeps, silent = said in known("BEEP_WORDS"), said in known("NO_BEEP_WORDS")
    if not beeps and not silent:
        return None
    if measure is not Measure.CONTINUITY:
        return Heard(reason=f"A beep is no reading in {mode_name(measure)}. Say what the display shows.")
    if silent:
        return Heard((OverRange(unit),))
    return Heard((Measured(Quantity(0.0, unit), spec.resolution_at(0.0), spec.beep_below_ohm or 0.0),))


def _with_beep(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard:
    """`beeps, two ohms`, `no beep, eighty ohms`: the number says more than the beep."""
    if measure is not Measure.CONTINUITY:
        return NOTHING
    for n in (3, 2, 1):
        first = spelled(words[:n])
        if len(words) <= n or first not in known("BEEP_WORDS") | known("NO_BEEP_WORDS"):
            continue
        rest = words[n + 1 :] if words[n].key in ("at", "and") else words[n:]
        heard = heard_in(rest, measure, spec)
        if heard.reading is None:
            return heard
        if first in known("BEEP_WORDS") and isinstance(heard.reading, OverRange):
            return Heard(reason="The beep and the number do not agree. Say what the display shows.")
        return heard
    return NOTHING


def of_amount(amount: Amount, measure: Measure, spec: ModeSpec) -> Heard:
    """Return the readings `amount` may be in `measure`."""
    wrong = _wrong_unit(amount, measure)
    if wrong:
        return Heard(reason=wrong)
    options = options_of(amount, spec)
    left = possible(amount, options, spec)
    if not left:
        return Heard(reason=cannot_show(options[0].reading, spec))
    if len(left) == 1 and not rests_on_a_guess(amount, left[0], spec):
        return Heard((_settled(amount, left[0].reading, spec),))
    named = tuple(option.reading for option in left[:MOST_NAMED])
    return Heard(named, which(named))


def _settled(amount: Amount, reading: Measured, spec: ModeSpec) -> Measured:
    """Add the margin of `about`; a bare `zero` has the digits of a display at rest, on the range for one unit."""
    value, resolution = reading.quantity.value, reading.resolution
    if value == 0 and amount.number.exp == 0 and amount.prefix == "":
        resolution = min(resolution, spec.resolution_at(1.0))
    margin = max(abs(value) * ROUGH_SHARE, resolution) if amount.rough else reading.margin
    return Measured(reading.quantity, resolution, margin)


def which(named: Sequence[Measured | OverRange]) -> str:
    """Return the question that names each candidate."""
    said = [aloud(m, verbosity=Verbosity.FULL) for m in named]
    if len(said) == 1:
        return f"Did you mean {said[0]}? Say it with its point and unit."
    question = f"{', '.join(said[:-1])}, or {said[-1]}?"
    return question[0].upper() + question[1:]


def _wrong_unit(amount: Amount, measure: Measure) -> str:
    unit = measure_unit(measure)
    if amount.unit and amount.unit != unit.value:
        return f"{OTHER_UNIT} in {_UNIT_NAMES[amount.unit]}; this check is read in {_UNIT_NAMES[unit.value]}."
    if amount.kind and measure is not Measure.HERTZ and (amount.kind == "ac") != (measure is Measure.VOLTS_AC):
        return f"{OTHER_UNIT} {amount.kind.upper()}; this check is read in {mode_name(measure)}."
    return ""
