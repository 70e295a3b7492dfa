"""What is known of a job now, as a fold over its events. `evolve` never refuses history."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field
from functools import reduce
from math import sqrt
from types import MappingProxyType
from typing import Any

from guide.core.jobs import events as ev
from guide.core.jobs.phases import Phase, next_phase
from guide.core.meter import HANDHELD, MeterProfile
from guide.core.odds.belief import Evidence
from guide.core.odds.costs import Bench
from guide.core.quantity import Quantity
from guide.core.reading import Measured, Reading, band_weights, standard_uncertainty
from guide.core.tree import AS_FOUND, PLAN, STOP, Check, Power, Tree

EVERY_READING = "every-reading"  # the sweep over a known-good board that a shop learns a model from


def _nothing() -> Mapping[str, str]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Taken:
    """A check's answer as it counts now: every repeat, the band weights and the likeliest band."""

    check: str
    readings: tuple[Reading, ...]
    band: str
    weights: Mapping[str, float]
    words: str
    source: str
    seq: int


@dataclass(frozen=True)  # no slots: `_with` copies the dictionary, five times faster than replace on this many fields
class Job:
    """One device on the bench. Everything here follows from the events; nothing else is kept."""

    tree: Tree
    meter: MeterProfile = HANDHELD
    id: str = ""
    seq: int = 0  # number of events so far
    phase: Phase = Phase.NEW
    symptom: str = ""
    device: str = ""
    facts: Mapping[str, str] = field(default_factory=_nothing)
    shop: ev.ShopKnown | None = None
    # the bench
    power: Power = Power.UNKNOWN
    cleared: frozenset[str] = frozenset()
    setup: str = ""  # empty: not known
    opened: frozenset[str] = frozenset()
    told: str = ""  # hazard or step that waits for its word
    # the check in hand
    chosen: str = ""
    chosen_by: str = ""
    chosen_why: str = ""
    pending: ev.ReadingHeard | None = None
    route: str = ""  # where the author's route leads next; empty: the planner's choice
    sweep: str = ""  # the sweep being walked
    again: str = ""  # a check whose reading straddles an edge and is taken once more
    # what is known
    taken: Mapping[str, Taken] = field(default_factory=lambda: MappingProxyType({}))
    passed: Mapping[str, str] = field(default_factory=_nothing)
    order: tuple[str, ...] = ()
    stale: frozenset[str] = frozenset()  # answers too old to rest a verdict on
    verdict: ev.VerdictGiven | None = None
    aside_at: int = -1  # how many answers there were when the verdict was set aside
    # after the verdict
    repair: ev.RepairChosen | None = None
    epoch: int = 0
    proof: tuple[str, ...] = ()
    overridden: bool = False
    shown: str = ""
    closed: ev.Closed | None = None
    outcome: str = ""
    held: ev.Held | None = None

    @property
    def check(self) -> Check | None:
        """The check in hand: being asked, confirmed or briefed."""
        return self.tree.checks.get(self.chosen)

    @property
    def bench(self) -> Bench:
        return Bench(self.power, self.cleared, self.setup or AS_FOUND, self.opened)

    def sweep_left(self) -> tuple[str, ...]:
        """Checks of the sweep being walked that have no answer yet, in the order of the part."""
        return tuple(c for c in self.sweep_checks() if c not in self.taken and c not in self.passed)

    def sweep_checks(self) -> tuple[str, ...]:
        """Checks of the sweep being walked; every metered one, unpowered before powered, for `EVERY_READING`."""
        if self.sweep == EVERY_READING:
            metered = [c for c in self.tree.asked() if c.measure.takes_a_reading]
            return tuple(c.id for c in sorted(metered, key=lambda c: self.tree.needs(c) is Power.ON))
        return self.tree.sweeps[self.sweep].checks if self.sweep in self.tree.sweeps else ()

    def left(self) -> tuple[Check, ...]:
        """Checks that were neither taken nor passed over since the bench last changed."""
        return tuple(c for c in self.tree.asked() if c.id not in self.taken and c.id not in self.passed)


def opened(tree: Tree, *, meter: MeterProfile = HANDHELD) -> Job:
    """Return the job before its first event."""
    return Job(tree, meter)


def fold(job: Job, events: Iterable[ev.Event]) -> Job:
    """Return the job after `events`."""
    return reduce(evolve, events, job)


def evolve(job: Job, event: ev.Event) -> Job:
    """Return the job after `event`; an event the table does not expect leaves the phase as it is."""
    changes = _changes(job, event)
    return _with(job, changes, seq=job.seq + 1, phase=next_phase(job.phase, event.kind) or job.phase)


def _with(job: Job, changes: Mapping[str, Any], *, seq: int, phase: Phase) -> Job:
    changed = object.__new__(Job)
    # The dataclass stays frozen for everyone else; a fold of ten thousand events is why this does not use replace.
    changed.__dict__.update(job.__dict__, seq=seq, phase=phase, **changes)
    return changed


def _changes(job: Job, event: ev.Event) -> Mapping[str, Any]:
    match event:
        case ev.ReadingTaken():
            return _take(job, event)
        case ev.CheckChosen(check, "stale", why):
            return {**_without(job, check), "chosen": check, "chosen_by": "stale", "chosen_why": why, "route": ""}
        case ev.CheckChosen(check, by, why):
            return dict(chosen=check, chosen_by=by, chosen_why=why, again="", route="")
        case ev.SweepBegun(sweep):
            return dict(sweep=sweep, route="", chosen="")
        case ev.CheckAsked():
            return dict(told="", held=None)
        case ev.CautionGiven(hazard):
            return dict(told=hazard)
        case ev.HazardCleared(hazard):
            return _clear(job, hazard)
        case ev.StepTold(step):
            return dict(told=step)
        case ev.StepMade(step):
            if step in job.tree.access:
                return dict(told="", opened=job.opened | {step})
            return dict(told="", setup=step)
        case ev.ReadingHeard():
            return dict(pending=event)
        case ev.ReadingRefused():
            return dict(pending=None)
        case ev.CheckPassed(check, reason):
            passed = MappingProxyType({**job.passed, check: reason})
            route = _one_way_on(job, check)
            return dict(passed=passed, order=_last(job.order, check), pending=None, chosen="", told="", route=route)
        case ev.ReadingWithdrawn(check):
            return _withdraw(job, check)
        case _:
            return _onward(job, event)


def _onward(job: Job, event: ev.Event) -> Mapping[str, Any]:
    match event:
        case ev.Opened():
            return dict(id=event.job, symptom=event.symptom, device=event.device, route=job.tree.start)
        case ev.ShopKnown():
            return dict(shop=event)
        case ev.Resumed():
            # A tree adopted in between may have lost the check that stood.
            chosen = job.chosen if job.chosen in job.tree.checks else ""
            stale = job.stale.union(event.stale)
            return dict(
                power=Power.UNKNOWN,
                cleared=frozenset(),
                setup="",
                told="",
                pending=None,
                held=None,
                chosen=chosen,
                stale=stale,
            )
        case ev.VerdictGiven():
            return dict(verdict=event, chosen="", told="", route="", sweep="")
        case ev.VerdictSetAside(check):
            return dict(verdict=None, aside_at=len(job.order), route=check, repair=None)
        case ev.VerdictAccepted():
            return dict(repair=None, told="")  # the options stand, also again after one was put back
        case ev.RepairChosen():
            return dict(repair=event, told="")
        case ev.RepairDone(proof):
            return _new_epoch(job, proof)
        case ev.ProofFailed(_, onward):
            return dict(proof=(), route=onward, chosen="", verdict=None, aside_at=-1, repair=None)
        case ev.ProofPassed():
            return dict(proof=(), chosen="", **_put_together())
        case ev.ProofOverridden():
            return dict(proof=(), chosen="", pending=None, overridden=True, **_put_together())
        case ev.FunctionFailed():
            return dict(verdict=None, repair=None, route="", aside_at=len(job.order))
        case ev.CauseShown(cause):
            return dict(shown=cause, repair=None)
        case ev.Closed():
            return dict(closed=event, outcome=event.cause, told="", chosen="")
        case ev.OutcomeSet(cause):
            return dict(outcome=cause)
        case ev.IntakeBegun():
            # What was skipped at the counter is asked again; what was answered stands.
            return dict(facts=MappingProxyType({k: v for k, v in job.facts.items() if v}), told="", pending=None)
        case ev.FactsNoted(facts):
            return dict(facts=MappingProxyType({**job.facts, **facts}))
        case ev.Held():
            return dict(held=event)
        case _:  # note_added, tree_adopted: the record is all they change
            return {}


def _take(job: Job, event: ev.ReadingTaken) -> Mapping[str, Any]:
    before = job.taken.get(event.check)
    repeats = before.readings if before else ()
    taken = Taken(
        event.check, (*repeats, event.reading), event.band, event.weights, event.words, event.source, job.seq + 1
    )
    return dict(
        taken=MappingProxyType({**job.taken, event.check: taken}),
        order=_last(job.order, event.check),
        pending=None,
        chosen="",
        again=event.check if event.again else "",
        route="" if event.again else _route(job, event.check, event.band),
    )


def _route(job: Job, check: str, band: str) -> str:
    """Return the check the author leads to from `band`, empty where the planner takes over."""
    target = job.tree.checks[check].then.get(band, PLAN) if check in job.tree.checks else PLAN
    fresh = target in job.tree.checks and target not in job.taken and target not in job.passed
    if target in job.tree.sweeps and not job.proof:
        return target
    return target if fresh and target not in (PLAN, STOP) and not job.proof else ""


def _one_way_on(job: Job, check: str) -> str:
    """Return where the author leads from `check` whatever its answer; empty where the answer decides.

    A question passed over must not cost the looks and the unpowered checks the author put behind it.
    """
    then = job.tree.checks[check].then if check in job.tree.checks else {}
    return _route(job, check, next(iter(then))) if len(set(then.values())) == 1 else ""


def _put_together() -> Mapping[str, Any]:
    """What is known of the bench once the device goes together for its function test: nothing of power or steps."""
    return dict(power=Power.UNKNOWN, cleared=frozenset(), setup="", opened=frozenset(), told="")


def _withdraw(job: Job, check: str) -> Mapping[str, Any]:
    return dict(
        **_without(job, check),
        pending=None,
        verdict=None,
        repair=None,
        aside_at=-1,
        told="",
        chosen=check,
        chosen_by="back",
        again="",
        route="",
    )


def _without(job: Job, check: str) -> dict[str, Any]:
    """Return what is left when the answer to `check` no longer counts."""
    return dict(
        taken=MappingProxyType({k: v for k, v in job.taken.items() if k != check}),
        passed=MappingProxyType({k: v for k, v in job.passed.items() if k != check}),
        order=tuple(c for c in job.order if c != check),
        stale=job.stale - {check},
    )


def _clear(job: Job, hazard: str) -> Mapping[str, Any]:
    needed = job.tree.hazards[hazard].power if hazard in job.tree.hazards else Power.UNKNOWN
    if needed is Power.UNKNOWN or needed is job.power:
        return dict(told="", cleared=job.cleared | {hazard})
    # What was made safe for one power state says nothing about the other.
    return dict(told="", power=needed, cleared=frozenset({hazard}))


def _new_epoch(job: Job, proof: tuple[str, ...]) -> Mapping[str, Any]:
    return dict(
        epoch=job.epoch + 1,
        taken=MappingProxyType({}),
        passed=_nothing(),
        order=(),
        proof=proof,
        stale=frozenset(),
        sweep="",
        power=Power.UNKNOWN,
        cleared=frozenset(),
        told="",
        chosen="",
        route="",
        again="",
        aside_at=-1,
    )


def _last(order: tuple[str, ...], check: str) -> tuple[str, ...]:
    return (*order, check) if check not in order else (*(c for c in order if c != check), check)


def evidence(job: Job, *, leaving_out: Container[str] = ()) -> tuple[Evidence, ...]:
    """Return what the answers say, in the order they were given, twins last."""
    counted = (c for c in job.order if c in job.taken and job.taken[c].weights and c not in leaving_out)
    own = tuple(Evidence(c, job.taken[c].weights) for c in counted)
    return (*own, *(t for t in _twins(job) if not any(c in leaving_out for c in job.tree.checks[t.check].twin or ())))


def _twins(job: Job) -> Iterable[Evidence]:
    for check in job.tree.checks.values():
        if check.twin is None:
            continue
        pair = tuple(job.taken.get(c) for c in check.twin)
        apart = twin_reading(job, check, pair) if pair[0] and pair[1] else None
        if apart is not None:
            yield Evidence(check.id, band_weights(apart, check.bands, None))


def twin_reading(job: Job, check: Check, pair: tuple[Taken | None, ...]) -> Measured | None:
    """Return the absolute difference of two readings with both errors in its margin.

    None where it would say nothing new: a word or OL, or two different own bands, which have spoken already.
    """
    first, second = pair[0], pair[1]
    if first is None or second is None or first.band != second.band:
        return None
    a, b = first.readings[-1], second.readings[-1]
    if not isinstance(a, Measured) or not isinstance(b, Measured):
        return None
    spec = job.meter.spec(job.tree.checks[first.check].measure)
    u = sqrt(standard_uncertainty(a, spec) ** 2 + standard_uncertainty(b, spec) ** 2)
    apart = Quantity(abs(a.quantity.value - b.quantity.value), a.quantity.unit)
    return Measured(apart, 0.0, sqrt(3) * u)
