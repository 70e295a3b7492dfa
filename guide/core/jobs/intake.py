"""The counter: what is on the bench, what happened to it, what came in missing. Free words, every question optional."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Question:
    """One intake question; its answer is kept as the fact `id`. `label` is what it is called when it is read back."""

    id: str
    say: str
    label: str


QUESTIONS = (
    Question("device", "Which device and model?", "device"),
    Question("marking", "What is printed on the board?", "on the board"),
    Question("history", "What happened? Dropped, liquid, surge, opened before, repaired before?", "what happened"),
    Question("missing", "Did anything come in missing?", "missing"),
    Question("reference", "Your label for the customer, no name?", "your label"),
    Question("photos", "Photo files, if any?", "photos"),
)

# Said of what has a name, these are no name: `device: none` on the customer's page would be one.
_NO_NAME = frozenset(("none", "nothing", "unknown", "not known", "n/a", "-"))
_NAMED = frozenset(("device", "marking", "reference", "photos"))

# What counts as each thing that may have happened. Names are what a tree's `fact` key refers to.
HISTORY: Mapping[str, tuple[str, ...]] = {
    "dropped": ("dropped", "drop", "fell", "fallen", "impact"),
    "liquid": ("liquid", "water", "wet", "spill", "spilled", "coffee", "rain", "moisture"),
    "surge": ("surge", "lightning", "overvoltage", "wrong adapter", "wrong supply", "spike", "reversed"),
    "opened": ("opened", "open before", "tampered", "someone tried"),
    "repaired": ("repaired", "repair", "fixed", "soldered", "reworked", "worked on"),
}
INTAKE = "intake"  # where an answer came from that was given at the counter
YES = "yes"  # the band of a question about one thing that may have happened
# A question that asks for all of it at once is answered too, where one of its bands alone is what happened.
ANY = "history"
_BANDS = {"wet": ("liquid",), "liquid": ("liquid",), "surge": ("surge",), "dropped": ("dropped",),
          "opened": ("opened", "repaired")}  # fmt: skip
_DENIED = re.compile(r"\b(no|not|never|without|isn't|wasn't|hasn't)\b")


def next_question(facts: Mapping[str, str]) -> Question | None:
    """Return the first question without an answer, None when all have one."""
    return next((q for q in QUESTIONS if q.id not in facts), None)


def answer_of(question: str, said: str) -> str:
    """Return what is kept as the answer to `question`; empty, as if skipped, where a name is asked for and none is."""
    return "" if question in _NAMED and said.lower().rstrip(".! ") in _NO_NAME else said


def read_back(facts: Mapping[str, str]) -> str:
    """Return what was answered, each under what was asked; empty where all of it was skipped."""
    labels = {q.id: q.label for q in QUESTIONS}
    return "; ".join(f"{labels.get(name, name)}: {said}" for name, said in facts.items() if said)


def band_told(fact: str, bands: Iterable[str], facts: Mapping[str, str]) -> str | None:
    """Return the band of a question about `fact` that the intake has answered; None where it has to be asked."""
    past = set(happened(facts))
    if fact != ANY:
        return YES if fact in past else None
    told = [band for band in bands if past.intersection(_BANDS.get(band, ()))]
    unplaced = past.difference(*(_BANDS.get(band, ()) for band in bands))
    return told[0] if len(told) == 1 and not unplaced else None


def takes_the_past(bands: Iterable[str]) -> bool:
    """Tell whether a question with these bands can be answered by what happened."""
    return any(band in _BANDS for band in bands)


def last_answered(facts: Mapping[str, str]) -> str | None:
    """Return the id of the newest question that was answered or skipped, None before the first."""
    return next((q.id for q in reversed(QUESTIONS) if q.id in facts), None)


def happened(facts: Mapping[str, str]) -> tuple[str, ...]:
    """Return which things of HISTORY the technician's own words name."""
    clauses = [f" {c} " for c in re.split(r"[,.;]| but ", facts.get("history", "").lower())]
    # `never opened` and `no water` name what did not happen.
    said = [c for c in clauses if not _DENIED.search(c)]
    return tuple(name for name, words in HISTORY.items() if any(f" {w}" in c for c in said for w in words))
