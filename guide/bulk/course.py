"""The course a job takes: after these answers, which check is asked or which verdict given. Decided once a state."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

from guide.core.odds.belief import Evidence, posterior
from guide.core.odds.costs import Bench, after, minutes
from guide.core.odds.planner import Choice, next_check
from guide.core.odds.verdicts import Verdict, verdict_of
from guide.core.tree import UNSEEN, Check, Tree


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
    """What decides what comes next: the answers, the checks passed over, the bench, the author's route and what is
    left of the sweep being walked."""

    answers: tuple[tuple[str, str], ...] = ()
    passed: frozenset[str] = frozenset()
    route: str = ""
    sweep: tuple[str, ...] = ()
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
        return self._led(Standing(), self.tree.start)

    def _led(self, standing: Standing, target: str) -> Standing:
        """Return `standing` with the author's lead: a sweep is walked whole, anything but a check is the planner's."""
        if target in self.tree.sweeps:
            return replace(standing, route="", sweep=self.tree.sweeps[target].checks)
        return replace(standing, route=target if target in self.tree.checks else "")

    def next(self, standing: Standing, *, choose: Chooser = next_check) -> Check | Verdict:
        """Return the check that is asked now, or the verdict that ends the asking. `choose` is the planner."""
        done = {check for check, _ in standing.answers} | standing.passed
        waiting = [c for c in standing.sweep if c not in done]
        if waiting:
            return self.tree.checks[waiting[0]]
        came = {**dict.fromkeys(standing.passed, UNSEEN), **dict(standing.answers)}.get
        left = self.tree.sensible([c for c in self.tree.asked() if c.id not in done], came)
        evidence = standing.evidence()
        beliefs = posterior(self.tree, evidence, priors=self._priors, reliability=self._reliability)
        due = self._verdict(beliefs, evidence, left) if done else None
        if due is not None:
            return due
        led = self.tree.checks.get(standing.route)
        if led is not None and led.id not in done and led.follows(came):
            return led
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
        answers = tuple(sorted((*standing.answers, (check.id, band))))
        after_it = replace(standing, answers=answers, bench=after(self.tree, check, standing.bench))
        return self._led(after_it, check.led(band))

    def passed(self, standing: Standing, check: Check) -> Standing:
        """Return where a check that cannot be taken leads."""
        bench = after(self.tree, check, standing.bench)
        passed = replace(standing, passed=standing.passed | {check.id}, bench=bench)
        return self._led(passed, check.led(UNSEEN))

    def minutes(self, standing: Standing, check: Check) -> float:
        return minutes(self.tree, check, standing.bench)
