"""What a technician may say once the options stand: choose, put back, done, it works, close, it was something else."""

from __future__ import annotations

from guide.core.intent import Command, Do, Intent, Pick, Unclear
from guide.core.jobs import events as ev
from guide.core.jobs.job import Job
from guide.core.jobs.mending import chosen_repair, options, proof_list
from guide.core.jobs.phases import Phase
from guide.core.jobs.weighing import offered
from guide.core.jobs.wording import is_a_reference
from guide.core.reading import Source
from guide.core.tree import NONE, OTHER

FUNCTION_TEST = "function-test"
WORKS, STILL_FAULTY = "works", "still faulty"
CLOSE = "close"
DONE = "done"

Decision = tuple[ev.Event, ...] | Unclear


def repairing(job: Job, intent: Intent) -> Decision | None:
    """Return what `intent` brings about where the options or a repair stand; None where it is a mere request."""
    match intent:
        case Pick(answer, _, source) if answer == CLOSE:
            return _ending(_unproven(job, _known_cause(job)), source)
        case Do(Command.SOMETHING_ELSE):
            return something_else(intent)
        case Pick(answer) if answer == DONE and job.repair is not None and job.handed_over_for:
            return (ev.Closed(job.repair.cause),)  # nothing is proved, put together or switched on any more
        case Pick(answer) if answer == DONE and job.repair is not None:
            return (ev.RepairDone(proof_list(job)),)
        case Pick(answer) if job.repair is None:
            return _chosen(job, answer)
        case Do(Command.GO_BACK | Command.SCRATCH_THAT) if job.repair is not None:
            return (ev.VerdictAccepted(),)
        case Do(Command.SKIP | Command.CANT_REACH as command) if job.repair is not None:
            return Unclear("Say done when it is done, or go back to choose another.", command.value)
        case Do(Command.TAKE_IT) if (offer := offered(job)) is not None:
            return (ev.VerdictSetAside(offer.check),)
    return None


def _chosen(job: Job, answer: str) -> Decision:
    for name, cause, index, _ in options(job):
        if name == answer:
            return (ev.RepairChosen(cause, index),)
    return Unclear("There is no such option.", answer)


def verifying(job: Job, intent: Intent) -> Decision | None:
    """Return what `intent` brings about at the function test; None where it is a mere request."""
    bypassed = bypass_in_hand(job)
    match intent:
        case Pick(answer) if answer == WORKS:
            cause = _repaired(job)
            return (ev.CauseShown(cause) if bypassed else ev.Closed(cause, proven=not job.overridden, works=True),)
        case Pick(answer, words) if answer == STILL_FAULTY:
            return (ev.FunctionFailed(words),)
        case Pick(answer, _, source) if answer == CLOSE and not bypassed:
            return _ending(_unproven(job, _repaired(job)), source)
        case Do(Command.SOMETHING_ELSE):
            return something_else(intent)
    return None


def taken_back(before: Job) -> tuple[ev.Event, ...]:
    """Return the taking back of the newest step after the verdict; `before` is the job as it was then."""
    match before.phase:
        case Phase.REPAIRING:
            return (ev.RepairWithdrawn(),)
        case Phase.VERIFYING:
            return (ev.TestWithdrawn(),)
    return (ev.ProofReopened(),)


def bypass_in_hand(job: Job) -> bool:
    """Tell whether the repair in hand is a proof only: it shows the cause and never closes a job."""
    repair = chosen_repair(job)
    return repair is not None and repair.proof


def something_else(said: Do) -> Decision:
    """Return the closing of a job whose cause the tree does not have."""
    if not said.text:
        return Unclear("Say something else, and then what it was.", Command.SOMETHING_ELSE.value)
    return _ending(ev.Closed(OTHER, said.text), said.source)


def _ending(closed: ev.Closed, source: Source) -> Decision:
    """Return the closing of a job without its proof. A closed job is not opened again, so what was only heard is read
    back first; what was typed is meant."""
    return (ev.ClosingHeard(closed.cause, closed.note),) if source is Source.SPOKEN else (closed,)


def closing(closed: ev.ClosingHeard, intent: Intent) -> Decision | None:
    """Return what comes of a closing that was read back; None where `intent` answers nothing."""
    match intent:
        case Do(Command.YES):
            return (ev.Closed(closed.cause, closed.note),)
        case Do(Command.NO | Command.GO_BACK | Command.SCRATCH_THAT):
            return (ev.ClosingRefused(),)
        case Do(Command.SOMETHING_ELSE, text) if text:
            return (ev.ClosingHeard(OTHER, text),)  # said again, since it was misheard
    return None


def _repaired(job: Job) -> str:
    return job.repair.cause if job.repair else ""


def _unproven(job: Job, cause: str) -> ev.Closed:
    """Return the closing with `cause`; what the technician has said it was before stands over it."""
    return ev.Closed(job.outcome, job.outcome_note) if job.outcome else ev.Closed(cause)


def _known_cause(job: Job) -> str:
    """Return the cause a job is closed with before anything was repaired: what the work was handed over for, what a
    bypass has shown, else the one cause that is settled. A leading cause that is not, or one of several, is not what it
    was: empty."""
    if ended := job.handed_over_for:
        return ended
    given = job.verdict
    if job.shown or given is None:
        return job.shown
    if given.separable and job.tree.settles(given.p):
        return given.cause
    return NONE if is_a_reference(job) else ""
