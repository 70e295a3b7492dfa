"""What a recogniser listens for at a question: a JSGF grammar, the words in it, and its whole phrases.

All of it is written out of `forms` and `phrases`. A narrow grammar holds what the mode of the meter can show (its
units, its decimals, its sign) and never what the check expects; a broad one holds every kind of reading, to dissent.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from math import floor, log10

from guide.core.intent import Command, Expecting
from guide.core.meter import HANDHELD, ModeSpec
from guide.core.quantity import Measure
from guide.core.words import forms, phrases
from guide.core.words.choices import POWERS
from guide.core.words.limits import display_digit, greatest
from guide.core.words.templates import Breadth, Form, Rule, pruned
from guide.core.words.understanding import READING_ANSWERS

_MOST_DIGITS = 4
# Of what says that an answer is not known, at a choice of words. Not listened for, `don't know` is heard as `undo`,
# `no` or `opened` by both recognisers, and acted on.
LISTENED_UNKNOWN = 2
# Rules that repeat, what they repeat, and how much less often than the mode has decimals.
_BOUNDED = {"chunks": ("chunk", 0), "figures": ("figure", 0), "rest": ("figure", 1)}


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """`jsgf` is a whole grammar; `words` its words; `phrases` its fixed phrases, then its other words one by one, for
    recognisers that take a list."""

    jsgf: str
    words: tuple[str, ...]
    phrases: tuple[str, ...]


def vocabulary(expecting: Expecting, *, breadth: Breadth = Breadth.NARROW) -> Vocabulary:
    """Return what may be said at a question: its answers, the reading it wants and the commands.

    `Breadth.BROAD` adds the readings of every other kind and the rarer forms.
    """
    read = expecting.measure is not None and expecting.measure.takes_a_reading
    unknown = phrases.UNKNOWN_WORDS[:LISTENED_UNKNOWN] if len(expecting.answers) > 1 and not read else ()
    fixed = dict.fromkeys((*_answers(expecting), *unknown, *_commands(breadth)))
    reading: Mapping[str, str] = {}
    if breadth is not Breadth.NARROW or read:
        reading = _reading_rules(expecting.measure, expecting.spec, breadth)
    return _written({**reading, "fixed": " | ".join(fixed)}, ("reading", "fixed") if reading else ("fixed",))


@cache
def commands() -> Vocabulary:
    """Return the commands alone."""
    said = dict.fromkeys((*_commands(Breadth.NARROW), *_text_commands()))
    return _written({"fixed": " | ".join(said)}, ("fixed",))


@cache
def yes_or_no() -> Vocabulary:
    """Return the answers to a read-back, alone: a wider grammar can hear a no as `undo`."""
    said = (w for c in (Command.YES, Command.NO) for w in phrases.COMMAND_WORDS[c][: phrases.LISTENED[c]])
    return _written({"fixed": " | ".join(said)}, ("fixed",))


def _answers(expecting: Expecting) -> Iterable[str]:
    """The words of each expected answer as a voice would say them, readings apart."""
    for name, words in expecting.answers.items():
        if name in READING_ANSWERS and expecting.measure is not None:
            continue
        for word in (name, *words, *phrases.ACKNOWLEDGED.get(name, ())[: phrases.LISTENED_ANSWERS]):
            # A figure is typed; its number word stands beside it, and a grammar takes no figures.
            spoken = "" if re.search(r"\d", word) else " ".join(re.findall(r"[a-z']+", word.lower()))
            if spoken:
                yield spoken


def _commands(breadth: Breadth) -> Iterable[str]:
    for command, words in phrases.COMMAND_WORDS.items():
        yield from words[: phrases.LISTENED[command]] if breadth is Breadth.NARROW else words[:4]
    if breadth is not Breadth.NARROW:
        yield from _text_commands()


def _text_commands() -> Iterable[str]:
    """Commands that take the words after them: a grammar cannot hold those, and `note` is easily heard for `no`."""
    return (words[0] for words in phrases.TEXT_COMMANDS.values())


def _written(rules: Mapping[str, str], roots: tuple[str, ...]) -> Vocabulary:
    body = "".join(f"<{name}> = {text};\n" for name, text in rules.items())
    jsgf = f"#JSGF V1.0;\ngrammar guide;\n{body}public <line> = {' | '.join(f'<{r}>' for r in roots)};\n"
    fixed = [p for name in ("fixed", "over") for p in rules.get(name, "").split(" | ") if p]
    plain = re.sub(r"<\w+>|[\[\]()|]", " ", " ".join(rules.values()))
    words = tuple(dict.fromkeys(plain.split()))
    return Vocabulary(jsgf, words, tuple(dict.fromkeys((*fixed, *words))))


@lru_cache(maxsize=64)
def _reading_rules(measure: Measure | None, spec: ModeSpec | None, breadth: Breadth) -> Mapping[str, str]:
    if breadth is not Breadth.NARROW or measure is None:
        return _Writer(None, breadth).rules
    return _Writer(spec or HANDHELD.modes[measure], breadth).rules


class _Writer:
    """Writes the rules reachable from a reading, with what this mode cannot show left out. `spec` None: every mode."""

    def __init__(self, spec: ModeSpec | None, breadth: Breadth) -> None:
        self._spec, self._breadth = spec, breadth
        self._depth = min(_decimals(spec), _MOST_DIGITS) if spec else _MOST_DIGITS
        self._source: dict[str, Rule] = {**forms.NUMBER_RULES, **forms.QUANTITY_RULES}
        if spec is not None and breadth is Breadth.NARROW:
            self._source |= _by_decimals(spec, self._depth)
        self.rules: dict[str, str] = {}
        self._known: dict[str, bool] = {}
        self._has("quantity")
        self.rules["over"] = " | ".join(_whole_answers(spec.measure if spec else None, breadth))
        self.rules["reading"] = "<quantity> | <over>"

    def _has(self, name: str) -> bool:
        """Write rule `name` and tell whether anything is left of it."""
        if name not in self._known:
            self._known[name] = False
            text = self._text(name)
            self._known[name] = text != ""
            if text:
                self.rules[name] = text
        return self._known[name]

    def _text(self, name: str) -> str:
        if name in _BOUNDED:
            return self._repeated(*_BOUNDED[name])
        rule = self._source[name]
        if not isinstance(rule, tuple):
            return " | ".join(w for w, value in rule.items() if self._hears(w, value or ""))
        if name == "sign" and self._spec is not None and not self._spec.signed:
            return ""
        if name == "whole" and self._spec is not None and _one_before_the_point(self._spec):
            return " | ".join(("zero", "oh", *forms.ONES[1 : floor(greatest(self._spec)) + 1]))
        kept = [pruned(f.template, self._keeps) for f in rule if self._listens(f.breadth, f.only)]
        return " | ".join(k for k in kept if k)

    def _listens(self, of_form: Breadth, only: frozenset[str]) -> bool:
        if self._spec is not None and self._breadth is Breadth.NARROW and only and self._spec.measure.value not in only:
            return False
        return of_form <= self._breadth

    def _keeps(self, mark: str) -> bool:
        return self._has(mark[1:-1]) if mark[0] == "<" else mark not in forms.UNHEARD and mark not in "½-+~"

    def _hears(self, word: str, value: str) -> bool:
        if ":" in value:
            return word in forms.HEARD_UNITS and self._spec_has(value)
        return word[0] != "#" and word not in forms.UNHEARD

    def _spec_has(self, unit: str) -> bool:
        """Tell whether the mode can show a number with this unit and prefix."""
        prefix, base, _ = unit.split(":")
        if self._spec is None:
            return True
        of_measure = self._spec.measure.unit
        if base and (of_measure is None or base != of_measure.value):
            return False
        if not base and prefix not in _LONE_PREFIXES.get(self._spec.measure, ""):
            return False
        factor = float(f"1e{POWERS[prefix]}")
        return factor <= greatest(self._spec) and 999 * factor >= self._spec.resolution_at(0.0)

    def _repeated(self, name: str, less: int) -> str:
        if not self._has(name):
            return ""
        text = f"<{name}>"
        for _ in range(self._depth - less - 1):
            text = f"<{name}> [{text}]"
        return text


def _one_before_the_point(spec: ModeSpec) -> bool:
    """Tell whether no range shows more than one digit before a point, with a prefix or without: diode mode."""
    return greatest(spec) < 10 and spec.resolution_at(0.0) >= 1e-3


# Where a prefix is said without its unit: `four point seven k`.
_LONE_PREFIXES = {Measure.OHMS: "kM", Measure.HERTZ: "kM", Measure.CONTINUITY: "k"}


def _decimals(spec: ModeSpec) -> int:
    """Return the most decimals any range of the mode shows, with the prefix it shows them in."""
    return max(_decimals_by_prefix(spec).values())


def _decimals_by_prefix(spec: ModeSpec) -> dict[int, int]:
    """Return the most decimals shown with each prefix the mode's ranges use, by its power of ten."""
    most: dict[int, int] = {}
    for top in spec.tops:
        prefix = 0 if spec.measure is Measure.CELSIUS else 3 * floor(log10(top) / 3 + 1e-9)
        digit = floor(log10(display_digit(top / spec.display_counts)) + 0.5)
        most[prefix] = max(most.get(prefix, 0), prefix - digit)
    return most


def _by_decimals(spec: ModeSpec, depth: int) -> dict[str, Rule]:
    """Return the rules of an amount whose decimals are those the mode shows with the prefix of its unit.

    In diode mode no point goes before millivolts, one figure follows it before ohms, and a fraction of a millivolt has
    its zero said. Else the noise about `volts` makes `minus point eight` into less than a millivolt, in every pass.
    """
    if depth < 2:
        return {}
    shown = _decimals_by_prefix(spec)
    words: dict[str, dict[str, str | None]] = {"tenth_word": {}, "fine_word": {}, "small_tenth": {}, "small_fine": {}}
    for word in (w for w in forms.UNIT_WORDS if w in forms.HEARD_UNITS):
        power = POWERS[(forms.UNIT_WORDS[word] or "").partition(":")[0]]
        decimals = shown.get(power, 0 if power < min(shown) else depth)
        for name, least in (("tenth", 1), ("fine", 2)):
            if decimals >= least:
                words[f"small_{name}" if power < 0 else f"{name}_word"][word] = forms.UNIT_WORDS[word]
    # One copy of what goes before a point and few of what follows: every copy costs as much time as it has words.
    after = "<point> <digit> [<{0}tenths> | <rest> [<{0}fine>]]"
    others = [form for form in forms.QUANTITY_RULES["amount"] if isinstance(form, Form)][1:]
    return {
        **words,
        "exact": (Form("<count>"), Form("<pair>"), Form("<figure> <figures>", only=frozenset({"diode"}))),
        "tenths": (Form("<tenth_word>"), Form("<prefix> <base>")),
        "fine": (Form("<fine_word>"), Form("<prefix> <base>")),
        "led_tenths": (Form("<tenths>"), Form("<small_tenth>")),
        "led_fine": (Form("<fine>"), Form("<small_fine>")),
        "amount": (
            Form("<exact> [<unit>]"),
            Form(after.format("")),
            Form(f"<whole> {after.format('led_')}"),
            *others,
        ),
    }


def _whole_answers(measure: Measure | None, breadth: Breadth) -> Iterable[str]:
    """The phrases without a number that a mode takes, and those that ask for a settled value."""
    names = ["OVER_WORDS", "UNSTABLE_WORDS"]
    if measure in (None, Measure.DIODE, Measure.OHMS, Measure.CONTINUITY):
        names += ["OPEN_WORDS", "SHORT_WORDS"]
    if measure in (None, Measure.CONTINUITY):
        names += ["BEEP_WORDS", "NO_BEEP_WORDS"]
    return dict.fromkeys(w for name in names for w in getattr(phrases, name)[: phrases.LISTENED_ANSWERS])
