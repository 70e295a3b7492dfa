"""Readings and causes in words and on screen; shared by everything that is said."""

from __future__ import annotations

import unicodedata

from guide.core.aloud import aloud
from guide.core.job import Job
from guide.core.quantity import shown
from guide.core.reading import Answered, Measured, OverRange, Reading

# Controls, format and direction marks, lone surrogates, private and unassigned characters, line separators.
_DRIVING = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})

# What is written instead on a terminal that has no more than ASCII: a reading must keep its unit there.
IN_ASCII = str.maketrans({
    "Ω": "ohm", "µ": "u", "°": "deg ", "±": "+/-", "→": "->", "·": "-", "–": "-", "—": "-", "×": "x", "…": "...",
    "≥": ">=", "≤": "<=", "’": "'", "‘": "'", "“": '"', "”": '"', "\u00a0": " ", "\u202f": " ", "−": "-",
})  # fmt: skip


def clean(text: str) -> str:
    """Return `text` without control characters, so that no name or note can drive the terminal."""
    return "".join(c if c == "\n" or unicodedata.category(c) not in _DRIVING else "\ufffd" for c in text)


def ask_of(job: Job, check: str) -> str:
    return job.tree.checks[check].ask if check in job.tree.checks else check


def plain(reading: Reading) -> tuple[float | str | None, str | None, bool]:
    """Return (value, unit, over range) of `reading` as the contract gives them."""
    match reading:
        case Measured(quantity):
            return quantity.value, quantity.unit.value, False
        case OverRange(unit):
            return None, unit.value, True
        case Answered(word):
            return word, None, False


def shown_reading(reading: Reading) -> str:
    """Return `reading` as a screen shows it: `512 mV`, `OL`, a word."""
    match reading:
        case Measured(quantity, resolution, margin):
            return ("about " if margin else "") + shown(quantity, resolution=resolution)
        case OverRange():
            return "OL"
        case Answered(word):
            return word


def spoken_reading(reading: Reading) -> str:
    """Return `reading` in words a synthesiser can say."""
    said = reading.word if isinstance(reading, Answered) else aloud(reading)
    return said[:1].upper() + said[1:]


def cause_say(job: Job, cause: str) -> str:
    """Return the tree's sentence for `cause`."""
    return job.tree.causes[cause].say.rstrip(". ") if cause in job.tree.causes else cause
