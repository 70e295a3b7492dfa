"""The course a job takes: after these answers, which check is asked or which verdict given. Decided once a state."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from guide.core.belief import Evidence, Verdict, posterior, verdict_of
from guide.core.costs import Bench, after, minutes
from guide.core.planner import Choice, next_check
from guide.core.tree import PLAN, Check, Tree


class Chooser(Protocol):
    """A planner: `next_check`, or one as quick as `most_bits_a_minute`."""

    def __call__(
        self,
        tree: Tree,
        beliefs: Mapping[str, float],
        left: Iterable[Check],
        bench: Bench,
        *,
        reliability: Mapping[str, float] | None = None,
    ) -> Choice | None: ...


@dataclass(frozen=True, slots=True)
class Standing:
    """What decides what comes next: the answers, the checks passed over, the author's route and the bench."""

    answers: tuple[tuple[str, str], ...] = ()
    passed: frozenset[str] = frozenset()
    route: str = ""
    bench: Bench = field(default_factory=Bench)

    def evidence(self) -> tuple[Evidence, ...]:
        return tuple(Evidence(check, {band: 1.0}) for check, band in self.answers)


class Course:
    """The rules of a job (verdict when due, else the author's route, else the planner) over one tree."""

    def __init__(
        self,
        tree: Tree,
        *,
        priors: Mapping[str, float] | None = None,
        reliability: Mapping[str, float] | None = None,
    ) -> None:
        self.tree = tree
        self._priors = priors
        self._reliability = reliability

    def start(self) -> Standing:
        return Standing(route=self.tree.start)

    def next(self, standing: Standing, *, choose: Chooser = next_check) -> Check | Verdict:
        """Return the check that is asked now, or the verdict that ends the asking. `choose` is the planner."""
        done = {check for check, _ in standing.answers} | standing.passed
        left = tuple(c for c in self.tree.asked() if c.id not in done)
        evidence = standing.evidence()
        beliefs = posterior(self.tree, evidence, priors=self._priors, reliability=self._reliability)
        due = self._verdict(beliefs, evidence, left) if done else None
        if due is not None:
            return due
        if standing.route in self.tree.checks and standing.route not in done:
            return self.tree.checks[standing.route]
        choice = choose(self.tree, beliefs, left, standing.bench, reliability=self._reliability)
        if choice is not None:
            return self.tree.checks[choice.check]
        final = self._verdict(beliefs, evidence, ())
        assert final is not None, "with nothing left to ask there is always a verdict"
        return final

    def _verdict(
        self, beliefs: Mapping[str, float], evidence: tuple[Evidence, ...], left: Collection[Check]
    ) -> Verdict | None:
        return verdict_of(
            self.tree, beliefs, evidence, left=left, priors=self._priors, reliability=self._reliability
        )

    def answered(self, standing: Standing, check: Check, band: str) -> Standing:
        """Return where `band` leads. Answers are kept sorted: their order does not matter to what comes next."""
        target = check.then.get(band, PLAN)
        answers = tuple(sorted((*standing.answers, (check.id, band))))
        done = {c for c, _ in answers} | standing.passed
        route = target if target in self.tree.checks and target not in done else ""
        return Standing(answers, standing.passed, route, after(self.tree, check, standing.bench))

    def passed(self, standing: Standing, check: Check) -> Standing:
        """Return where a check that cannot be taken leads: to the planner."""
        bench = after(self.tree, check, standing.bench)
        return Standing(standing.answers, standing.passed | {check.id}, "", bench)

    def minutes(self, standing: Standing, check: Check) -> float:
        return minutes(self.tree, check, standing.bench)
