"""The fold: what each event changes of a job. `evolve` never refuses history."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import reduce
from types import MappingProxyType
from typing import Any, TypeVar

from guide.core.jobs import events as ev
from guide.core.jobs.job import EVERY_READING, Job, Proved, Taken
from guide.core.jobs.phases import Phase, next_phase
from guide.core.reading import landed
from guide.core.tree import PLAN, STOP, UNSEEN, Power

T = TypeVar("T")


# The steps after the verdict that are taken back as a whole.
_STEPS = (ev.RepairDone, ev.ProofOverridden, ev.FunctionFailed, ev.CauseShown)
# What taking such a step back leaves as it is now: the bench is not what it was, and what was told stays told.
_STAYS = frozenset((
    "power", "cleared", "setup", "opened", "meter", "metered", "facts", "device", "shop", "held", "outcome",
    "outcome_note", "stale",
))  # fmt: skip


def fold(job: Job, events: Iterable[ev.Event]) -> Job:
    """Return the job after `events`."""
    return reduce(evolve, events, job)


def evolve(job: Job, event: ev.Event) -> Job:
    """Return the job after `event`; an event the table does not expect leaves the phase as it is."""
    changes = _changes(job, event)
    if isinstance(event, _STEPS):
        changes = {**changes, "before": job, "order_then": changes.get("order", job.order)}
    return _with(job, changes, seq=job.seq + 1, phase=next_phase(job.phase, event.kind) or job.phase)


def _with(job: Job, changes: Mapping[str, Any], *, seq: int, phase: Phase) -> Job:
    changed = object.__new__(Job)
    # The dataclass stays frozen for everyone else; a fold of ten thousand events is why this does not use replace.
    object.__setattr__(changed, "__dict__", {**job.__dict__, **changes, "seq": seq, "phase": phase})
    return changed


def _changes(job: Job, event: ev.Event) -> Mapping[str, Any]:
    match event:
        case ev.ReadingTaken():
            return _take(job, event)
        case ev.CheckChosen():
            return _choose(job, event)
        case ev.SweepBegun(sweep):
            return dict(sweep=sweep, route="", chosen="", known_good=job.known_good or sweep == EVERY_READING)
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
            route = _route(job, check, UNSEEN)
            return dict(passed=passed, order=_last(job.order, check), pending=None, chosen="", told="", route=route)
        case ev.ReadingWithdrawn(check):
            return _withdraw(job, check)
        case ev.ReadingPlaced():
            return _place(job, event)
        case _:
            return _onward(job, event)


def _onward(job: Job, event: ev.Event) -> Mapping[str, Any]:
    match event:
        case ev.Opened():
            return dict(id=event.job, symptom=event.symptom, device=event.device, route=job.tree.start)
        case ev.ShopKnown():
            return dict(shop=event)
        case ev.MeterUsed(meter):
            return dict(meter=meter, metered=True)
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
                closing=None,
                held=None,
                chosen=chosen,
                stale=stale,
            )
        case ev.IntakeBegun(question):
            # What was skipped at the counter is asked again; what was answered stands.
            kept = {k: v for k, v in job.facts.items() if (k != question if question else v)}
            return dict(facts=MappingProxyType(kept), told="", pending=None)
        case ev.FactsNoted(facts):
            return dict(facts=MappingProxyType({**job.facts, **facts}))
        case ev.Held():
            return dict(held=event)
        case _:
            return _since_verdict(job, event)


def _since_verdict(job: Job, event: ev.Event) -> Mapping[str, Any]:
    match event:
        case ev.VerdictGiven():
            return dict(verdict=event, chosen="", told="", route="", sweep="")
        case ev.VerdictSetAside(check):
            order = tuple([c for c in job.order if c != check])  # it may be one that was passed over
            passed = _but(job.passed, check)
            return dict(verdict=None, order=order, passed=passed, aside_at=len(order), route=check, repair=None)
        case ev.VerdictAccepted():
            return dict(repair=None, told="")  # the options stand, also again after one was put back
        case ev.RepairChosen():
            return dict(repair=event, told="")
        case ev.RepairDone(proof):
            return _new_epoch(job, proof)
        case ev.ProofFailed(_, onward):
            return dict(
                proof=(), proved=_proved(job), route=onward, chosen="", verdict=None, aside_at=-1, repair=None,
                tried=job.repair,
            )  # fmt: skip
        case ev.ProofPassed():
            return dict(proof=(), proved=_proved(job), chosen="", **_put_together())
        case ev.ProofOverridden():
            return dict(proof=(), chosen="", pending=None, overridden=True, **_put_together())
        case ev.FunctionFailed():
            return dict(verdict=None, repair=None, tried=job.repair, proved=None, route="", aside_at=len(job.order))
        case ev.CauseShown(cause):
            return dict(shown=cause, repair=None)
        case ev.RepairWithdrawn() | ev.ProofReopened() | ev.TestWithdrawn() if job.before is not None:
            return _as_before(job, job.before)
        case ev.ClosingHeard():
            return dict(closing=event)
        case ev.ClosingRefused():
            return dict(closing=None)
        case ev.Closed():
            return dict(closed=event, closing=None, outcome=event.cause, outcome_note=event.note, told="", chosen="")
        case ev.OutcomeSet(cause, note):
            return dict(outcome=cause, outcome_note=note)
        case _:  # note_added, tree_adopted: the record is all they change
            return {}


def _choose(job: Job, event: ev.CheckChosen) -> Mapping[str, Any]:
    chosen = {"chosen": event.check, "chosen_by": event.by, "chosen_why": event.why, "route": ""}
    return {**_without(job, event.check), **chosen} if event.by == "stale" else {**chosen, "again": ""}


def _take(job: Job, event: ev.ReadingTaken) -> Mapping[str, Any]:
    before = job.taken.get(event.check)
    repeats = before.readings if before else ()
    taken = Taken(
        event.check, (*repeats, event.reading), event.band, event.weights, event.words, event.source, job.seq + 1,
        job.meter,
    )  # fmt: skip
    return dict(
        taken=MappingProxyType({**job.taken, event.check: taken}),
        order=_last(job.order, event.check),
        pending=None,
        chosen="",
        again=event.check if event.again else "",
        route="" if event.again else _route(job, event.check, *landed(event.weights, event.band)),
    )


def _route(job: Job, check: str, *bands: str) -> str:
    """Return the check the author leads to from `bands`, empty where they part or the planner takes over."""
    targets = {job.tree.checks[check].led(band) for band in bands} if check in job.tree.checks else {PLAN}
    target = targets.pop() if len(targets) == 1 else PLAN
    fresh = target in job.tree.checks and target not in job.taken and target not in job.passed
    if target in job.tree.sweeps and not job.proof:
        return target
    return target if fresh and target not in (PLAN, STOP) and not job.proof else ""


def _as_before(job: Job, before: Job) -> Mapping[str, Any]:
    was = {name: value for name, value in before.__dict__.items() if name not in _STAYS}
    return {**was, "stale": job.stale | before.stale, "told": "", "pending": None, "closing": None}


def _put_together() -> Mapping[str, Any]:
    """What is known of the bench once the device goes together for its function test: nothing of power or steps."""
    return dict(power=Power.UNKNOWN, cleared=frozenset(), setup="", opened=frozenset(), told="")


def _withdraw(job: Job, check: str) -> Mapping[str, Any]:
    proved = _proved(job) if job.proof else job.proved
    whole: dict[str, Any] = {"verdict": None, "repair": None}
    if proved is not None and all(c in proved.proof for c in job.order):
        # A reading of the proof leads back into the proof: the repair stays done, whatever it seemed to prove.
        whole = {
            "verdict": proved.verdict, "repair": proved.repair, "proof": proved.proof, "shown": proved.shown,
            "proved": None,
        }  # fmt: skip
    return {
        **_without(job, check), **whole, "pending": None, "aside_at": -1, "told": "",
        "chosen": check, "chosen_by": "back", "again": "", "route": "",
    }  # fmt: skip


def _proved(job: Job) -> Proved:
    return Proved(job.proof, job.repair, job.verdict, job.shown)


def _place(job: Job, event: ev.ReadingPlaced) -> Mapping[str, Any]:
    """Return what another band of a reading that stands changes: a verdict that rested on the old one falls."""
    if event.check not in job.taken:
        return {}
    placed = replace(job.taken[event.check], band=event.band, weights=event.weights)
    taken = dict(taken=MappingProxyType({**job.taken, event.check: placed}))
    if job.proof or job.phase is Phase.VERIFYING:
        return taken
    last = job.order[-1] == event.check
    route = _route(job, event.check, *landed(event.weights, event.band)) if last else job.route
    chosen = "" if last else job.chosen
    return dict(**taken, verdict=None, repair=None, aside_at=-1, told="", pending=None, chosen=chosen, route=route)


def _without(job: Job, check: str) -> dict[str, Any]:
    """Return what is left when the answer to `check` no longer counts."""
    return {
        "taken": _but(job.taken, check), "passed": _but(job.passed, check),
        "order": tuple([c for c in job.order if c != check]), "stale": job.stale - {check},
    }  # fmt: skip


def _but(known: Mapping[str, T], check: str) -> Mapping[str, T]:
    return MappingProxyType({k: v for k, v in known.items() if k != check}) if check in known else known


def _clear(job: Job, hazard: str) -> Mapping[str, Any]:
    needed = job.tree.hazards[hazard].power if hazard in job.tree.hazards else Power.UNKNOWN
    if needed is Power.UNKNOWN or needed is job.power:
        return dict(told="", cleared=job.cleared | {hazard})
    # What was made safe for one power state says nothing about the other.
    return dict(told="", power=needed, cleared=frozenset({hazard}))


def _new_epoch(job: Job, proof: tuple[str, ...]) -> Mapping[str, Any]:
    return dict(
        epoch=job.epoch + 1,
        earlier=job.answers,
        taken=MappingProxyType({}),
        passed=MappingProxyType({}),
        order=(),
        proof=proof,
        proved=None,
        overridden=False,
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
