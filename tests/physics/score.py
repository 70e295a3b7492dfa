"""What a verdict was worth, and the tables of many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from guide.core.tree import NONE, OTHER
from tests.physics.maps import Map


class Score(StrEnum):
    """RIGHT names the cause, or one no reading separates from it. GROUP names several, all of them inseparable from
    the true one or not on the board at all. UNSURE is `other`, or a list that holds the true cause among causes that
    could have been told from it. WRONG names only other causes, or calls a faulty board good."""

    RIGHT = "right"
    GROUP = "group"
    UNSURE = "cannot tell"
    WRONG = "wrong"


@dataclass(frozen=True)
class Outcome:
    """One run: who was asked what, and what came of it. `checks` counts answers, `history` those about the past."""

    fault: str
    unit: int
    named: tuple[str, ...]
    score: Score
    checks: int
    history: int
    route: tuple[tuple[str, str], ...]
    p: float


def named(verdict: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(verdict["causes"]) if not verdict["separable"] else (verdict["cause"],)


def score(tied: Map, fault: str, causes: Iterable[str]) -> Score:
    """Score the causes a verdict names for a board with `fault`."""
    said, true = set(causes), tied.causes_of(fault)
    if len(said) == 1 and said <= true:
        return Score.RIGHT
    if said & true:
        beside = {c for c in said - true if tied.simulated(c) or c in (OTHER, NONE)}
        return Score.UNSURE if beside else Score.GROUP
    return Score.UNSURE if said == {OTHER} else Score.WRONG


def outcome(tied: Map, bench: Any) -> Outcome:
    """Return what the finished `driver.Bench` came to."""
    verdict, board = bench.verdict, bench.board
    assert verdict is not None, "the job ended without a verdict"
    causes = named(verdict)
    route = tuple((m["check"], m["band"]) for m in bench.told if m["type"] == "read")
    asked = {check for check, _ in route}
    past = sum(check in tied.history for check in asked)
    assert verdict["checks"] == len(asked), "the verdict counts other checks than were answered"
    graded = score(tied, board.fault, causes)
    return Outcome(board.fault, board.unit, causes, graded, len(asked), past, route, verdict["p"])


def shares(outcomes: Iterable[Outcome]) -> dict[str, float]:
    """Return the share of each score; `right` and `group` together are what counts as right."""
    counted = Counter(o.score for o in outcomes)
    total = counted.total()
    return {s.value: counted[s] / total for s in Score}


def confusion(outcomes: Iterable[Outcome]) -> list[tuple[str, str, int, str]]:
    """Return rows of fault, causes named, how often, and the score."""
    counted = Counter((o.fault, " or ".join(o.named), o.score) for o in outcomes)
    return [(fault, said, n, s.value) for (fault, said, s), n in counted.items()]
