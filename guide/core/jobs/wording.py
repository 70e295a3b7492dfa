"""Readings and causes in words and on screen; shared by everything that is said."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

from guide.core.jobs.comparing import good_boards, told_weights
from guide.core.jobs.job import Job, Taken
from guide.core.quantity import Measure, shown
from guide.core.reading import Answered, Measured, OverRange, Reading, as_normal, placed
from guide.core.tree import NO_HAZARD, NONE, OTHER, Check, in_words
from guide.core.words.aloud import aloud

LEAST_SHOWN_BITS = 0.05  # less than this is shown as nothing: it would read +0.0
SUPPLY = "supply"  # the point of a reading taken off the bench supply's own display

# Controls, format and direction marks, lone surrogates, private and unassigned characters, line separators.
_DRIVING = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})

# How a prompt begins that names the mode of the meter; alone, before a comma, or with how the leads go.
_MODE = re.compile(r"(?:Diode(?: mode)?|Ohms|Volts [AD] C|Hertz|Degrees(?: C)?)(?:, |$)")

# What is written instead on a terminal that has no more than ASCII: a reading must keep its unit there.
IN_ASCII = str.maketrans({
    "Ω": "ohm", "µ": "u", "°": "deg ", "±": "+/-", "→": "->", "·": "-", "–": "-", "—": "-", "×": "x", "…": "...",
    "≥": ">=", "≤": "<=", "’": "'", "‘": "'", "“": '"', "”": '"', "\u00a0": " ", "\u202f": " ", "−": "-",
})  # fmt: skip


def clean(text: str) -> str:
    """Return `text` without control characters, so that no name or note can drive the terminal."""
    return "".join(c if c == "\n" or unicodedata.category(c) not in _DRIVING else "\ufffd" for c in text)


def ask_of(job: Job, check: str) -> str:
    """Return what `check` asks; of a pair, which is not asked, what it compares."""
    known = job.tree.checks.get(check)
    return (known.ask or pair_named(job, known)) if known else check


def pair_named(job: Job, pair: Check) -> str:
    """Return a pair by its two points: `Bus A against bus B`."""
    named = " against ".join(half_named(job, half, pair) for half in pair.twin or ())
    return f"{named[:1].upper()}{named[1:]}"


def half_named(job: Job, half: str, pair: Check) -> str:
    """Return the point a half of `pair` is read at, the check's name where the tree gives none."""
    checks, points = job.tree.checks, job.tree.points
    shared = [set(points) & {checks[h].red or "", checks[h].black or ""} for h in pair.twin or ()]
    moving = [p for p in (checks[half].red, checks[half].black) if p in points and not all(p in s for s in shared)]
    return points[moving[0]] if moving and moving[0] else in_words(half)


def counted(number: int, noun: str) -> str:
    """Return `1 answer`, `2 answers`."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def device_of(job: Job) -> str:
    """Return what is on the bench, by the name given at the counter, else when the job began, else by the tree; empty
    where that is any device of a kind."""
    named = job.facts.get("device") or job.device or job.tree.device
    return "" if nameless(named) else named


def nameless(device: str) -> bool:
    """Tell whether `device` is any of a kind, as a tree names what it is for."""
    return device.lower().startswith("any ")


def about(job: Job) -> str:
    """Return what the job is about: the device, if it has a name, and the symptom."""
    return ", ".join(part for part in (device_of(job), job.tree.symptom.rstrip(".")) if part)


def waiting(reason: str, until: str) -> str:
    """Return for whom or what a job waits and until when, as said: ` for customer until Friday`."""
    return f"{f' for {reason}' if reason else ''}{f' until {until}' if until else ''}"


def in_a_list(device: str, symptom: str) -> str:
    """Return what a job is about as a list of jobs shows it."""
    return symptom if nameless(device) else f"{device}: {symptom}"


def answered(job: Job, check: str) -> str:
    """Return the answer to `check` that counts, as said: where it was read or what was asked, the answer, its band."""
    taken, asked = job.taken[check], ask_of(job, check)
    reading = taken.readings[-1]
    if isinstance(reading, Answered):
        # The words it could have been are not said again with the one it was.
        return f"{question_alone(asked)}: {in_words(reading.word)}"
    known = ", unlike good boards of this model" if good_boards(job, check, reading) else ""
    return f"{place_alone(asked)}: {shown_reading(reading)}, {in_words(placed_in(job, taken))}{known}"


def placed_in(job: Job, taken: Taken) -> str:
    """Return the band a reading is told in, or the bands it is between."""
    weights = told_weights(job, taken.check, taken.readings[-1], taken.band, taken.weights)
    return placed(weights, taken.band)


def question_alone(ask: str) -> str:
    """Return a question without the answers it names: after a colon, or in a last sentence of its own."""
    asked, _, answers = ask.rpartition(". ")
    alone = asked if asked and answers.endswith("?") and " or " in answers and ": " not in answers else ask
    return re.split(r"[:?] ", alone)[0].rstrip(".?")


def place_alone(ask: str) -> str:
    """Return where a reading is taken, without the mode of the meter: the unit of the reading tells that."""
    first, _, rest = ask.partition(". ")
    where = rest if rest and _MODE.match(first) else _MODE.sub("", ask)
    return f"{where[:1].upper()}{where[1:]}".rstrip(".?")


def only_told(check: Check) -> bool:
    """Tell whether its answer is what somebody knows of the device, not what was found on it: no unit is good or bad
    for that."""
    return check.measure is Measure.ASK and check.hazard == NO_HAZARD


def like_a_good_unit(job: Job, check: str) -> bool | None:
    """Tell whether the answer to `check` is one that a good unit gives; None on the edge of those, and where the tree
    does not say which those are."""
    taken = job.taken[check]
    if good_boards(job, check, taken.readings[-1]):
        return False
    return as_normal(taken.weights, taken.band, job.tree.checks[check].usual)


def is_a_reference(job: Job) -> bool:
    """Tell whether the board was read to learn its model from, and nothing on it reads otherwise than on a good one."""
    return job.known_good and bool(job.taken) and not any(like_a_good_unit(job, c) is False for c in job.taken)


def leads_of(job: Job, check: Check) -> str:
    """Return where both leads go, by the points' names; empty where none is placed by hand."""
    names = job.tree.points
    placed = [(lead, p) for lead, p in (("red", check.red), ("black", check.black)) if p and p != SUPPLY]
    return ", ".join(f"{lead} on {names.get(p, p)}" for lead, p in placed)


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
        case Measured(quantity, resolution):
            return ("about " if reading.rough else "") + shown(quantity, resolution=resolution)
        case OverRange():
            return "OL"
        case Answered(word):
            return in_words(word)


def spoken_reading(reading: Reading) -> str:
    """Return `reading` in words a synthesiser can say."""
    said = in_words(reading.word) if isinstance(reading, Answered) else aloud(reading)
    return said[:1].upper() + said[1:]


def in_brief(cause: str) -> str:
    """Return a cause in a word or two, for where its sentence has no room."""
    return {OTHER: "something else", NONE: "nothing wrong"}.get(cause, in_words(cause))


def cause_say(job: Job, cause: str) -> str:
    """Return the tree's sentence for `cause`."""
    return job.tree.causes[cause].say.rstrip(". ") if cause in job.tree.causes else cause


def rival(job: Job, cause: str) -> str:
    """Return a cause as one of several: what has no sentence of its own is said in brief."""
    return in_brief(cause) if cause in (OTHER, NONE) else cause_say(job, cause)


def loudest(evidence: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Return what `evidence` of a verdict is shown, the loudest first; what would read +0.0 said nothing."""
    return [e for e in sorted(evidence, key=lambda e: -abs(e["bits"])) if abs(e["bits"]) >= LEAST_SHOWN_BITS]


def what_it_was(job: Job, cause: str, note: str) -> str:
    """Return what a job closes with: the tree's sentence, or the technician's words for what the tree does not have."""
    return (note if cause == OTHER and note else cause_say(job, cause)).rstrip(". ")
