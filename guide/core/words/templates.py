"""Sentence templates as data: one notation, compiled once, that parses words and can be listed or written as a grammar.

A rule is either `Words` (each word with the value it stands for) or a tuple of `Form`s. A form's template holds words,
`<rule>` references, `[optional]` parts and `(a | b)` choices, the same marks as JSGF. `Grammar.match` returns every
meaning of a stretch of words; nothing here knows what a volt is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import product
from typing import Any, NamedTuple


class Breadth(IntEnum):
    """How widely the recogniser listens for a form. A narrow grammar hears better, so rare forms stay out of it."""

    NARROW = 0
    BROAD = 1
    TYPED = 2  # understood, never listened for


@dataclass(frozen=True, slots=True)
class Form:
    """One way of saying something: its template, the name of its meaning, and an example for people."""

    template: str
    meaning: str = "same"
    example: str = ""
    breadth: Breadth = Breadth.NARROW
    only: frozenset[str] = frozenset()  # the measures it is listened for narrowly; empty for all


Words = Mapping[str, str | None]
Rule = Words | tuple[Form, ...]


class Token(NamedTuple):
    """A word as the rules see it (`key`) and as it stood in the line (`text`)."""

    key: str
    text: str


Match = tuple[int, Any]
_Memo = dict[tuple[str, int], list[Match]]
Meaning = Callable[[Sequence[Any]], Any]
_Sequence = tuple[tuple[str, ...], Meaning]

_MARKS = re.compile(r"<[a-z0-9_]+>|[\[\]()|]|[^\s\[\]()|<>]+")


def branches(template: str) -> list[tuple[str, ...]]:
    """Return every plain sequence a template stands for: optional parts and choices multiplied out."""
    marks = _MARKS.findall(template)
    found, rest = _choice(marks, 0)
    if rest != len(marks):
        raise ValueError(f"unbalanced template: {template}")
    return [s for s in dict.fromkeys(found) if s]


def _choice(marks: list[str], i: int) -> tuple[list[tuple[str, ...]], int]:
    """Read alternatives up to a closing mark."""
    options: list[tuple[str, ...]] = []
    parts: list[list[tuple[str, ...]]] = []
    while i < len(marks) and marks[i] not in ")]":
        if marks[i] == "|":
            options += _joined(parts)
            parts = []
            i += 1
        elif marks[i] in "([":
            inner, close = _choice(marks, i + 1)
            parts.append([(), *inner] if marks[i] == "[" else inner)
            i = close + 1
        else:
            parts.append([(marks[i],)])
            i += 1
    return options + _joined(parts), i


def _joined(parts: list[list[tuple[str, ...]]]) -> list[tuple[str, ...]]:
    return [tuple(w for part in combination for w in part) for combination in product(*parts)]


def pruned(template: str, keep: Callable[[str], bool]) -> str:
    """Return `template` without the words and rules that `keep` refuses, empty where nothing is left of it.

    A sequence falls with any of its needed parts, a choice only with all of its alternatives.
    """
    text, rest = _pruned(_MARKS.findall(template), 0, keep)
    assert rest == len(_MARKS.findall(template)), template
    return text


def _pruned(marks: list[str], i: int, keep: Callable[[str], bool]) -> tuple[str, int]:
    options: list[str] = []
    parts: list[str] = []
    whole = True
    while i < len(marks) and marks[i] not in ")]":
        if marks[i] == "|":
            options += [" ".join(parts)] if whole else []
            parts, whole = [], True
            i += 1
        elif marks[i] in "([":
            inner, close = _pruned(marks, i + 1, keep)
            parts += [f"{marks[i]}{inner}{marks[close]}"] if inner else []
            whole = whole and (inner != "" or marks[i] == "[")
            i = close + 1
        else:
            parts.append(marks[i])
            whole = whole and keep(marks[i])
            i += 1
    options += [" ".join(parts)] if whole else []
    return " | ".join(o for o in options if o), i


class Grammar:
    """Rules compiled for matching. `greedy` rules keep only their longest matches (`fifty two` is never 50 then 2)."""

    def __init__(self, rules: Mapping[str, Rule], meanings: Mapping[str, Meaning], greedy: frozenset[str]) -> None:
        self._words: dict[str, Words] = {f"<{n}>": r for n, r in rules.items() if not isinstance(r, tuple)}
        self._greedy = frozenset(f"<{n}>" for n in greedy)
        sequences = {
            f"<{name}>": [(b, meanings[form.meaning]) for form in rule for b in branches(form.template)]
            for name, rule in rules.items()
            if isinstance(rule, tuple)
        }
        firsts = self._first_words(sequences)
        self._by_word: dict[str, dict[str, list[_Sequence]]] = {}
        for name, options in sequences.items():
            index: dict[str, list[_Sequence]] = {}
            for sequence in options:
                for word in self._first(sequence[0][0], firsts):
                    index.setdefault(word, []).append(sequence)
            self._by_word[name] = index

    def _first(self, item: str, firsts: Mapping[str, set[str]]) -> set[str]:
        if item[0] != "<" or item == "<":
            return {item}
        return set(self._words[item]) if item in self._words else firsts[item]

    def _first_words(self, sequences: Mapping[str, list[_Sequence]]) -> dict[str, set[str]]:
        """Return the words each rule may begin with, by iterating to the fixed point."""
        firsts: dict[str, set[str]] = {name: set() for name in sequences}
        changed = True
        while changed:
            changed = False
            for name, options in sequences.items():
                before = len(firsts[name])
                for sequence, _ in options:
                    firsts[name] |= self._first(sequence[0], firsts)
                changed = changed or len(firsts[name]) > before
        return firsts

    def match(self, rule: str, tokens: Sequence[Token]) -> list[Any]:
        """Return each meaning of the whole of `tokens` under `rule`, in the order the forms are declared."""
        found = self._match(f"<{rule}>", 0, tokens, {})
        return [value for end, value in found if end == len(tokens)]

    def _match(self, rule: str, at: int, tokens: Sequence[Token], memo: _Memo) -> list[Match]:
        known = memo.get((rule, at))
        if known is not None:
            return known
        if at >= len(tokens):
            return []
        found: list[Match] = []
        left = len(tokens) - at
        for sequence, meaning in self._by_word[rule].get(tokens[at].key, ()):
            if len(sequence) > left:
                continue  # every item takes a word at least
            found += [(end, meaning(values)) for end, values in self._follow(sequence, at, tokens, memo)]
        found = [m for m in found if m[1] is not None]
        if rule in self._greedy and len(found) > 1:
            longest = max(end for end, _ in found)
            found = [m for m in found if m[0] == longest]
        memo[rule, at] = found
        return found

    def _follow(
        self, sequence: tuple[str, ...], at: int, tokens: Sequence[Token], memo: _Memo
    ) -> list[tuple[int, tuple[Any, ...]]]:
        """Return the ends and captured values of every way `sequence` matches from `at`."""
        states: list[tuple[int, tuple[Any, ...]]] = [(at, ())]
        for item in sequence:
            after: list[tuple[int, tuple[Any, ...]]] = []
            for i, values in states:
                if i >= len(tokens):
                    continue
                words = self._words.get(item)
                if words is not None:
                    if tokens[i].key in words:
                        value = words[tokens[i].key]
                        after.append((i + 1, (*values, tokens[i].text if value is None else value)))
                elif item in self._by_word:
                    after += [(end, (*values, v)) for end, v in self._match(item, i, tokens, memo)]
                elif tokens[i].key == item:
                    after.append((i + 1, values))
            if not after:
                return []
            states = after
        return states
