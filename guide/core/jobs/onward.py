"""What comes next: from between two questions to the next thing that waits for an answer."""

from __future__ import annotations

from guide.core.jobs import events as ev
from guide.core.jobs.folding import evolve
from guide.core.jobs.intake import ANY, INTAKE, band_told
from guide.core.jobs.job import Job
from guide.core.jobs.mending import chosen_repair, proof_result
from guide.core.jobs.phases import Phase
from guide.core.jobs.weighing import beliefs_of, due_verdict, final_verdict, next_best, stale_that_matters
from guide.core.jobs.wording import is_a_reference
from guide.core.odds import planner
from guide.core.reading import Answered
from guide.core.tree import AS_FOUND, NO_HAZARD, Check, Power

STEP_BACK = "back-to-as-found"


def advance(job: Job) -> tuple[ev.Event, ...]:
    """Return the events that lead from between two questions to the next thing that waits for an answer."""
    made: list[ev.Event] = []
    while (event := _next_event(job)) is not None:
        made.append(event)
        job = evolve(job, event)
    return tuple(made)


def _next_event(job: Job) -> ev.Event | None:
    if job.told:
        return None
    if job.phase is Phase.REPAIRING:
        repair = chosen_repair(job)
        return _caution_for(job, repair.hazard) if repair else None
    if job.phase is not Phase.BRIEFING:
        return None
    if (told := _told_at_the_counter(job)) is not None:
        return told
    if job.chosen:
        return _briefing(job) or ev.CheckAsked(job.chosen)
    if job.proof:
        return _next_proof(job)
    return _choose(job)


def _told_at_the_counter(job: Job) -> ev.ReadingTaken | None:
    """Return the answer to a question about the past that the intake has given already."""
    if job.epoch or not job.facts.get(ANY):
        return None
    for check in job.left():
        if check.id == job.chosen and job.chosen_by == "back":
            continue  # it was taken back, so it is asked by itself
        band = band_told(check.fact, [b.name for b in check.bands], job.facts) if check.fact else None
        if band is not None:
            return ev.ReadingTaken(check.id, Answered(band), job.facts[ANY], INTAKE, band, {band: 1.0})
    return None


def _next_proof(job: Job) -> ev.Event:
    if job.again:
        return ev.CheckChosen(job.again, "retake")
    waiting = [c for c in job.proof if c not in job.taken]
    return ev.CheckChosen(waiting[0], "proof") if waiting else proof_result(job)


def _choose(job: Job) -> ev.Event:
    if job.again:
        return ev.CheckChosen(job.again, "retake", "the reading straddles an edge")
    if job.route in job.tree.sweeps:
        return ev.SweepBegun(job.route)
    if waiting := job.sweep_left():
        return ev.CheckChosen(waiting[0], "sweep")
    if is_a_reference(job):
        return final_verdict(job)  # there is no fault to look for
    if job.order and (due := due_verdict(job)) is not None:
        old = stale_that_matters(job)
        return ev.CheckChosen(old, "stale", "the reading it rests on is old") if old else due
    if job.route and job.route not in job.taken and job.route not in job.passed and _sensible(job, job.route):
        by = "start" if not job.order else "offer" if job.aside_at == len(job.order) else "route"
        return ev.CheckChosen(job.route, by)
    choice = next_best(job)
    if choice is None:
        return final_verdict(job)
    return ev.CheckChosen(choice.check, "plan", planner.why(job.tree, beliefs_of(job), choice))


def _sensible(job: Job, route: str) -> bool:
    return route not in job.tree.checks or job.may_ask(job.tree.checks[route])


def _briefing(job: Job) -> ev.Event | None:
    """Return the next caution or step that must be behind the technician before the chosen check.

    What hands do to the board is done with power off, before the power a check needs goes on; what must run for the
    check is started after.
    """
    check = job.tree.checks[job.chosen]
    steps = [*(a for a in check.access if a not in job.opened), *_setup_steps(job, check)]
    by_hand = [s for s in steps if _made_by_hand(job, s)]
    hazard = None if check.hazard == NO_HAZARD else _caution_for(job, check.hazard)
    if by_hand and job.power is not Power.OFF and (off := _off_hazard(job)):
        return ev.CautionGiven(off)  # no lid is opened and nothing connected over a board that may be live
    if by_hand and job.tree.needs(check) is Power.ON:
        return ev.StepTold(by_hand[0])
    return hazard or (ev.StepTold(steps[0]) if steps else None)


def _made_by_hand(job: Job, step: str) -> bool:
    """Tell whether hands go to the board for `step`; going back undoes the set-up that stands."""
    tree = job.tree
    made = tree.access.get(step) or tree.setups.get(job.setup if step == STEP_BACK else step)
    return made is None or made.power is Power.OFF


def _setup_steps(job: Job, check: Check) -> list[str]:
    if check.hazard == NO_HAZARD or check.setup == job.setup:
        return []
    if check.setup in job.tree.setups:
        return [check.setup]
    return [] if job.setup in ("", AS_FOUND) else [STEP_BACK]


def _caution_for(job: Job, hazard: str) -> ev.CautionGiven | None:
    if hazard == NO_HAZARD or hazard not in job.tree.hazards:
        return None
    needed = job.tree.hazards[hazard].power
    fits = needed is Power.UNKNOWN or needed is job.power
    return None if fits and hazard in job.cleared else ev.CautionGiven(hazard)


def _off_hazard(job: Job) -> str | None:
    return next((h.id for h in job.tree.hazards.values() if h.power is Power.OFF), None)
