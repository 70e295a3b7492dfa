"""Rehearsal: thousands of simulated jobs on one tree, to see how often it is right and what it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from guide.bulk.course import Course, Standing
from guide.bulk.weakness import Ending, Weakness, weaknesses
from guide.core.odds.belief import prior
from guide.core.odds.planner import most_bits_a_minute, next_check
from guide.core.odds.table import table_of
from guide.core.odds.verdicts import Verdict
from guide.core.tree import OTHER, Check, Tree

RIGHT, TOGETHER, CANNOT_TELL, WRONG = "right", "together", "cannot_tell", "wrong"
RARE = 3e-3  # places reached by a smaller share of the runs are planned without looking ahead
_QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Spread:
    """A quantity over all runs."""

    mean: float
    sd: float
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """Shares of runs: `right` named the cause alone; `together` named it among causes no check parts;
    `cannot_tell` said that nothing listed fits, or gave a suspicion only; `wrong` named something else.

    `confusion` maps the true cause to what was said (causes named together joined by +) and its share of that
    cause's runs. `standard_error` is that of `right`.
    """

    tree: str
    runs: int
    seed: int
    right: float
    together: float
    cannot_tell: float
    wrong: float
    standard_error: float
    checks: Spread
    minutes: Spread
    confusion: Mapping[str, Mapping[str, float]]
    weak: tuple[Weakness, ...]


def rehearse(
    tree: Tree,
    *,
    runs: int = 10_000,
    seed: int = 0,
    unseen: Collection[str] = (),
    surprise: float = 0.0,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> Rehearsal:
    """Return what `runs` simulated jobs come to: faults drawn from the weights, answers from the table's rows.

    Checks in `unseen` are answered "can't see". `surprise` makes the world noisier than the tree believes: the chance
    that an answer is drawn from all bands alike. The same seed gives the same result. The course is decided once for
    all runs that gave the same answers.
    """
    world = _World(tree, runs, seed, surprise, priors)
    course = Course(tree, priors=priors, reliability=reliability)
    ended: list[_Ended] = []
    waiting = [_Group(course.start(), np.arange(runs), 0.0, 0)]
    while waiting:
        group = waiting.pop()
        choose = next_check if len(group.runs) >= RARE * runs else most_bits_a_minute
        onward = course.next(group.standing, choose=choose)
        if isinstance(onward, Verdict):
            ended.append(_Ended(onward, group))
        else:
            waiting.extend(_after(world, course, group, onward, unseen))
    return _summed(world, ended)


@dataclass(frozen=True, slots=True)
class _Group:
    """Runs that stand at the same place: their numbers, and the minutes and checks each has spent."""

    standing: Standing
    runs: NDArray[np.int64]
    minutes: float
    checks: int


@dataclass(frozen=True, slots=True)
class _Ended:
    verdict: Verdict
    group: _Group


class _World:
    """The simulated shop: the true cause of each run and the band each check shows."""

    def __init__(
        self, tree: Tree, runs: int, seed: int, surprise: float, priors: Mapping[str, float] | None
    ) -> None:
        self.tree, self.runs, self.seed = tree, runs, seed
        self.table = table_of(tree)
        self._surprise = surprise
        self._draw = np.random.default_rng(seed)
        weights = prior(tree, priors=priors)
        self.causes = list(weights)
        self.truth = self._draw.choice(len(self.causes), size=runs, p=np.array(list(weights.values())))
        self._steps: dict[str, NDArray[np.float64]] = {}

    def bands(self, check: Check, runs: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return the number of the band `check` shows in each of `runs`."""
        steps = self._steps.get(check.id)
        if steps is None:
            rows = np.array([self.table[check.id].of(cause) for cause in self.causes])
            rows = (1 - self._surprise) * rows + self._surprise / rows.shape[1]
            steps = self._steps[check.id] = rows.cumsum(axis=1)[:, :-1]
        drawn = self._draw.random(len(runs))
        shown: NDArray[np.int64] = (drawn[:, None] >= steps[self.truth[runs]]).sum(axis=1)
        return shown

    def counts(self, runs: NDArray[np.int64]) -> dict[str, int]:
        """Return how many of `runs` have each true cause."""
        found = np.bincount(self.truth[runs], minlength=len(self.causes))
        return {self.causes[i]: int(found[i]) for i in np.flatnonzero(found)}


def _after(
    world: _World, course: Course, group: _Group, check: Check, unseen: Collection[str]
) -> Iterator[_Group]:
    minutes = group.minutes + course.minutes(group.standing, check)
    if check.id in unseen:
        yield _Group(course.passed(group.standing, check), group.runs, minutes, group.checks + 1)
        return
    shown = world.bands(check, group.runs)
    for number in np.unique(shown):
        standing = course.answered(group.standing, check, check.bands[number].name)
        yield _Group(standing, group.runs[shown == number], minutes, group.checks + 1)


def _outcome(truth: str, verdict: Verdict) -> str:
    if truth in verdict.causes:
        return RIGHT if verdict.separable else TOGETHER
    return CANNOT_TELL if verdict.cause == OTHER or not verdict.grounded else WRONG


def _summed(world: _World, ended: list[_Ended]) -> Rehearsal:
    outcomes: Counter[str] = Counter()
    confusion: dict[str, Counter[str]] = {cause: Counter() for cause in world.causes}
    endings = []
    for end in ended:
        counts = world.counts(end.group.runs)
        for truth, count in counts.items():
            outcomes[_outcome(truth, end.verdict)] += count
            confusion[truth]["+".join(end.verdict.causes)] += count
        endings.append(Ending(end.verdict.causes, frozenset(c for c, _ in end.group.standing.answers), counts))
    share = {name: outcomes[name] / world.runs for name in (RIGHT, TOGETHER, CANNOT_TELL, WRONG)}
    return Rehearsal(
        world.tree.id,
        world.runs,
        world.seed,
        **share,
        standard_error=sqrt(share[RIGHT] * (1 - share[RIGHT]) / world.runs),
        checks=_spread([(e.group.checks, len(e.group.runs)) for e in ended]),
        minutes=_spread([(e.group.minutes, len(e.group.runs)) for e in ended]),
        confusion={truth: _shares(said) for truth, said in confusion.items() if said},
        weak=weaknesses(world.tree, world.table, endings, world.runs),
    )


def _shares(said: Counter[str]) -> dict[str, float]:
    return {name: count / said.total() for name, count in said.most_common()}


def _spread(values: list[tuple[float, int]]) -> Spread:
    all_runs = np.repeat([v for v, _ in values], [n for _, n in values])
    p10, p50, p90 = (float(q) for q in np.quantile(all_runs, _QUANTILES))
    return Spread(float(all_runs.mean()), float(all_runs.std()), p10, p50, p90)
