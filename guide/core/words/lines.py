"""A whole line about one reading: fillers off, corrections applied, unsettled values and bounds refused."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from guide.core.meter import ModeSpec
from guide.core.quantity import Measure
from guide.core.reading import OverRange, measure_unit
from guide.core.words import forms, phrases
from guide.core.words.amounts import Amount
from guide.core.words.spoken import MOST_NAMED, NOTHING, Heard, amount_in, heard_in, known, of_amount, spelled, which
from guide.core.words.templates import Token

LONGEST_PHRASE = 5
_NEVER_SETTLED = frozenset({"not", "never", "wont", "hasnt", "isnt", "until", "hasn't", "doesnt"})
_AGREEING = frozenset({"yes", "yeah", "yep", "yup"})
UNSETTLED = Heard(reason="Wait until the display settles, then say the settled value.")
BOUNDED = Heard(reason="Say the number the display shows.")
WITHDRAWN = Heard(reason="Taken back. Say the reading again.")
TWO_THINGS = Heard(reason="I heard more than one thing. Say the whole reading again.")
_LONE_ONE = "Does the display show a reading of one, or the lone one of over range? Say it with its unit, or O L."


def strippings(words: Sequence[Token]) -> Iterator[list[Token]]:
    """Yield `words` with ever fewer fillers: without hesitations, then without the introducing words before and the
    polite ones after. The last is the barest; none is empty."""
    left = [w for w in words if w.key not in phrases.HESITATIONS] or list(words)
    yield from _without_trails(left)
    while (n := phrase_at(left, 0, "LEADS")) and n < len(left):
        left = left[n:]
        yield from _without_trails(left)


def _without_trails(words: list[Token]) -> Iterator[list[Token]]:
    yield words
    while (n := _phrase_before(words, "TRAILS")) and n < len(words):
        words = words[:-n]
        yield words


def without_fillers(words: Sequence[Token]) -> list[Token]:
    """Return the barest of the `strippings`."""
    return list(strippings(words))[-1]


def phrase_at(words: Sequence[Token], at: int, name: str) -> int:
    """Return how many words from `at` make the longest phrase of `phrases.NAME`, 0 for none."""
    longest = min(LONGEST_PHRASE, len(words) - at)
    return next((n for n in range(longest, 0, -1) if spelled(words[at : at + n]) in known(name)), 0)


def _phrase_before(words: Sequence[Token], name: str) -> int:
    longest = min(LONGEST_PHRASE, len(words))
    return next((n for n in range(longest, 0, -1) if spelled(words[-n:]) in known(name)), 0)


def reading_in(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard:
    """Return the reading in a whole line, or why there is none."""
    bare = without_fillers(words)
    while len(bare) > 1 and bare[0].key in _AGREEING:
        words = bare[1:]
        bare = without_fillers(words)
    for said in strippings(words):
        heard = heard_in(said, measure, spec)
        if heard != NOTHING:
            return heard
    return _settled(bare, measure, spec) or _corrected(bare, measure, spec) or _refused(bare, measure, spec)


def lone_one(text: str, measure: Measure, spec: ModeSpec) -> Heard | None:
    """Older displays show a lone `1.` for over range, so those two characters are asked."""
    if "".join(text.split()) not in ("1.", "1,", "1 ."):
        return None
    one = heard_in([Token("one", "1")], measure, spec)
    return Heard((*one.candidates[:1], OverRange(measure_unit(measure))), _LONE_ONE)


def _settled(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard | None:
    """`climbing, settled at four fifty`: what follows is the reading."""
    for at in range(len(words) - 1, -1, -1):
        n = phrase_at(words, at, "SETTLED_WORDS")
        if n and at + n < len(words) and not (at and words[at - 1].key in _NEVER_SETTLED):
            heard = heard_in(without_fillers(words[at + n :]), measure, spec)
            return heard if heard != NOTHING else None
    return None


def _corrected(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard | None:
    """`four fifty no four sixty`: the last correction counts. None where nothing is corrected."""
    for at in range(len(words) - 1, -1, -1):
        n = phrase_at(words, at, "CORRECTIONS")
        if not n or heard_in(words[at:], measure, spec) != NOTHING:  # the `no` of `no beep` corrects nothing
            continue
        before, after = _before(words[:at]), without_fillers(words[at + n :])
        if at + n == len(words):
            return WITHDRAWN if before and reading_in(before, measure, spec) != NOTHING else None
        heard = heard_in(after, measure, spec)
        if heard == NOTHING:
            continue
        if not before:
            return heard
        return _replacing(before, after, heard, measure, spec)
    return None


def _before(words: Sequence[Token]) -> list[Token]:
    """Return what was said before a correction, without another correction at its end."""
    left = list(words)
    while left and (n := _phrase_before(left, "CORRECTIONS")):
        left = left[:-n]
    return without_fillers(left) if left else left


def _replacing(
    before: Sequence[Token], after: Sequence[Token], heard: Heard, measure: Measure, spec: ModeSpec
) -> Heard:
    """Accept the correction where it is as complete as what it replaces; else ask for the whole reading."""
    if reading_in(before, measure, spec) == NOTHING:
        return TWO_THINGS
    old, new = amount_in(before), amount_in(after)
    if old is None or new is None:
        return heard
    if len(new.number.digits) < len(old.number.digits):
        return Heard(heard.candidates, TWO_THINGS.reason)
    if (old.unit or old.prefix) and not new.unit and not new.prefix:
        return _with_old_unit(old, new, heard, measure, spec)
    return heard


def _with_old_unit(old: Amount, new: Amount, heard: Heard, measure: Measure, spec: ModeSpec) -> Heard:
    """A correction without the unit of what it corrects: `four point seven k, no, five point seven` is asked."""
    same_unit = of_amount(new._replace(prefix=old.prefix, unit=old.unit), measure, spec)
    if same_unit.reading is not None and same_unit.reading == heard.reading:
        return heard
    named = tuple(dict.fromkeys((*same_unit.candidates, *heard.candidates)))[:MOST_NAMED]
    return Heard(named, which(named)) if named else heard


def _refused(words: Sequence[Token], measure: Measure, spec: ModeSpec) -> Heard:
    """Say what is wrong with a line that holds no single settled value."""
    said = [w.key for w in words]
    if any(phrase_at(words, at, "UNSTABLE_WORDS") for at in range(len(words))):
        return UNSETTLED
    if "or" in said:
        at = said.index("or")
        sides = [heard_in(without_fillers(side), measure, spec) for side in (words[:at], words[at + 1 :]) if side]
        named = tuple(dict.fromkeys(m for side in sides for m in side.candidates))[:MOST_NAMED]
        if len(sides) == 2 and NOTHING not in sides and len(named) > 1:
            return Heard(named, which(named))
    if any(phrase_at(words, at, "BOUND_WORDS") for at in range(len(words))) and amount_like(words):
        return BOUNDED
    return NOTHING


def amount_like(words: Sequence[Token]) -> bool:
    """Tell whether any word of the line is part of a number."""
    numbers = forms.NUMBER_WORDS
    return any(w.key in numbers or w.key.startswith("#") for w in words)
