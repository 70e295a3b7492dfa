"""What happens next: an intent becomes events, and the job moves on to the next thing to say.

`decide` never raises on speech. Every answer is followed by `advance`, so that the events of one answer end where
the technician is waited for.
"""

from __future__ import annotations

from guide.core import belief, planner
from guide.core import events as ev
from guide.core.intent import Command, Do, Intent, Pick, Say, Unclear
from guide.core.job import Job, evidence, evolve, fold
from guide.core.phases import Phase
from guide.core.quantity import Measure
from guide.core.reading import (
    BORDERLINE,
    Answered,
    Measured,
    NoBand,
    Reading,
    Source,
    band_weights,
    borderline,
    combined,
    likeliest,
)
from guide.core.tree import AS_FOUND, CANT_SEE, NO_HAZARD, Check, Power, Repair

FUNCTION_TEST = "function-test"
WORKS, STILL_FAULTY = "works", "still faulty"
CLOSE = "close"
DONE = "done"
STEP_BACK = "back-to-as-found"
# A spoken band less likely than this under the present odds is asked about, however clearly it was heard.
IMPROBABLE = 0.02

Decision = tuple[ev.Event, ...] | Unclear


def decide(job: Job, intent: Intent) -> Decision:
    """Return the events that `intent` brings about, up to the next question; empty for a mere request (`why`)."""
    if job.phase is Phase.CLOSED:
        return Unclear("This job is closed.", _words(intent))
    first = _first(job, intent)
    if isinstance(first, Unclear) or not first:
        return first
    after = fold(job, first)
    return (*first, *advance(after))


def advance(job: Job) -> tuple[ev.Event, ...]:
    """Return the events that lead from between two questions to the next thing that waits for an answer."""
    made: list[ev.Event] = []
    while (event := _next_event(job)) is not None:
        made.append(event)
        job = evolve(job, event)
    return tuple(made)


def _words(intent: Intent) -> str:
    match intent:
        case Do(command, text):
            return f"{command.value} {text}".strip()
        case Say(_, words) | Pick(_, words):
            return words


def _first(job: Job, intent: Intent) -> Decision:
    match intent:
        case Do(Command.NOTE, text):
            return (ev.NoteAdded(text),) if text else Unclear("Say note, and then what to note.", "note")
        case Do(Command.HOLD, text):
            return (ev.Held(text),)
        case Do(Command.GO_BACK):
            return _go_back(job)
        case Do(Command.SCRATCH_THAT):
            return _scratch(job)
    if job.told:
        return _told(job, intent)
    match job.phase:
        case Phase.ASKING:
            return _asking(job, intent)
        case Phase.CONFIRMING:
            return _confirming(job, intent)
        case Phase.CONCLUDED:
            return _concluded(job, intent)
        case Phase.REPAIRING:
            return _repairing(job, intent)
        case Phase.VERIFYING:
            return _verifying(job, intent)
    return _request(intent)


def _request(intent: Intent) -> Decision:
    match intent:
        case Do(Command.YES | Command.NO | Command.ENOUGH | Command.TAKE_IT | Command.OVERRIDE):
            return Unclear("That answers nothing that was asked.", _words(intent))
        case Do(Command.SKIP | Command.CANT_REACH):
            return Unclear("This step cannot be skipped.", _words(intent))
        case Do():
            return ()
    return Unclear("That answers nothing that was asked.", _words(intent))


def _go_back(job: Job) -> Decision:
    if job.phase is Phase.CONFIRMING:
        return (ev.ReadingRefused(job.chosen),)
    if not job.order or job.phase is Phase.VERIFYING:
        return Unclear("There is no answer to take back.", Command.GO_BACK.value)
    return (ev.ReadingWithdrawn(job.order[-1]),)


def _scratch(job: Job) -> Decision:
    return (ev.ReadingRefused(job.chosen),) if job.phase is Phase.CONFIRMING else _go_back(job)


def _told(job: Job, intent: Intent) -> Decision:
    """A caution or step stands: only its own word clears it."""
    match intent:
        case Pick(answer, words) if answer == until_of(job, job.told):
            if job.told in job.tree.hazards:
                return (ev.HazardCleared(job.told, words),)
            return (ev.StepMade(AS_FOUND if job.told == STEP_BACK else job.told, words),)
        case Do(Command.SKIP | Command.CANT_REACH):
            return Unclear(f"A caution is not skipped. Say {until_of(job, job.told)} when it is done.", _words(intent))
        case Do(Command.ENOUGH) if job.phase is Phase.BRIEFING and job.order:
            return (_verdict(job, ()),)
    return _request(intent)


def until_of(job: Job, told: str) -> str:
    """Return the word that clears the caution or step `told`."""
    tree = job.tree
    item = tree.hazards.get(told) or tree.setups.get(told) or tree.access.get(told)
    return item.until if item else "ready"


# --- a check stands -------------------------------------------------------------------------------------------


def _asking(job: Job, intent: Intent) -> Decision:
    check = job.check
    assert check is not None, "the asking phase has a check"
    match intent:
        case Say(reading, words, source, agreed):
            return _reading(
                job, check, ev.ReadingHeard(check.id, reading, words, source.value), _Ear.of(source, agreed)
            )
        case Pick(answer, words):
            return _picked(job, check, answer, words)
        case Do(Command.SKIP | Command.CANT_REACH as command):
            if job.proof:
                return Unclear("This reading proves the repair. Take it, or say override.", command.value)
            return (ev.CheckPassed(check.id, command.value),)
        case Do(Command.OVERRIDE):
            if job.proof:
                return (ev.ProofOverridden(Command.OVERRIDE.value),)
            return Unclear("There is no proof to override.", Command.OVERRIDE.value)
        case Do(Command.ENOUGH):
            return (_verdict(job, ()),)
    return _request(intent)


class _Ear:
    """How a reading has to be treated before it counts."""

    COUNTS, WAITS, AGREED = "counts", "waits", "agreed"

    @staticmethod
    def of(source: Source, agreed: object) -> str:
        if source is not Source.SPOKEN:
            return _Ear.COUNTS
        return _Ear.AGREED if agreed else _Ear.WAITS


def _picked(job: Job, check: Check, answer: str, words: str) -> Decision:
    if answer == CANT_SEE:
        if job.proof:
            return Unclear("This look proves the repair. Look again, or say override.", words)
        return (ev.CheckPassed(check.id, CANT_SEE),)
    heard = ev.ReadingHeard(check.id, Answered(answer), words, Source.TYPED.value)
    return _reading(job, check, heard, _Ear.COUNTS)


def _reading(job: Job, check: Check, heard: ev.ReadingHeard, ear: str) -> Decision:
    try:
        taken = _taking(job, check, heard)
    except NoBand as gap:
        return Unclear(f"No band of this check fits: {gap}. Take it again.", heard.words)
    if ear == _Ear.WAITS or (ear == _Ear.AGREED and (borderline(taken.weights) or _improbable(job, check, taken.band))):
        return (heard,)
    return (taken,)


def _taking(job: Job, check: Check, heard: ev.ReadingHeard) -> ev.ReadingTaken:
    before = job.taken.get(check.id)
    reading: Reading = heard.reading
    repeats = before.readings if before else ()
    measured = [r for r in (*repeats, reading) if isinstance(r, Measured)]
    if isinstance(reading, Measured) and len(measured) > 1:
        reading = combined(measured)
    weights = band_weights(reading, check.bands, job.meter.spec(check.measure))
    again = not repeats and borderline(weights) and _routes_differ(job, check, weights)
    return ev.ReadingTaken(check.id, heard.reading, heard.words, heard.source, likeliest(weights), weights, again=again)


def _routes_differ(job: Job, check: Check, weights: dict[str, float]) -> bool:
    """Tell whether the bands in question lead to different checks, or to different leading causes."""
    rivals = [band for band, w in weights.items() if w > BORDERLINE]
    if len({check.then.get(band, "") for band in rivals}) > 1:
        return True
    known = evidence(job)
    leaders = set()
    for band in rivals:
        beliefs = belief.posterior(job.tree, (*known, belief.Evidence(check.id, {band: 1.0})))
        leaders.add(max(beliefs, key=lambda cause: beliefs[cause]))
    return len(leaders) > 1


def _improbable(job: Job, check: Check, band: str) -> bool:
    beliefs = beliefs_of(job)
    p = sum(beliefs[c] * belief.likelihood(job.tree, check, c).get(band, 0.0) for c in beliefs)
    return p < IMPROBABLE


def beliefs_of(job: Job) -> dict[str, float]:
    """Return P(cause | every answer that counts)."""
    return dict(belief.posterior(job.tree, evidence(job)))


def _confirming(job: Job, intent: Intent) -> Decision:
    check, pending = job.check, job.pending
    assert check is not None, "the confirming phase has a check"
    assert pending is not None, "the confirming phase has a pending reading"
    match intent:
        case Do(Command.YES):
            return (_taking(job, check, pending),)
        case Do(Command.NO):
            return (ev.ReadingRefused(check.id),)
        case Say() | Pick():
            return _asking(job, intent)
        case Do(Command.SKIP | Command.CANT_REACH):
            return _asking(job, intent)
    return _request(intent)


# --- a verdict stands -------------------------------------------------------------------------------------------


def _verdict(job: Job, left: tuple[Check, ...]) -> ev.VerdictGiven:
    """Return the verdict on what is known, as if only `left` could still be asked."""
    known = evidence(job)
    beliefs = belief.posterior(job.tree, known)
    given = belief.verdict_of(job.tree, beliefs, known, left=left)
    assert given is not None or left, "with nothing left to ask there is always a verdict"
    assert given is not None, "called only where a verdict is due"
    return ev.VerdictGiven(given.cause, given.p, given.causes, given.rivals, given.separable)


def _concluded(job: Job, intent: Intent) -> Decision:
    match intent:
        case Do(Command.TAKE_IT):
            offer = next_best(job)
            if offer is None:
                return Unclear("No check is left that would tell more. Say enough.", Command.TAKE_IT.value)
            return (ev.VerdictSetAside(offer.check),)
        case Do(Command.ENOUGH | Command.YES):
            return (ev.VerdictAccepted(),)
    return _request(intent)


def next_best(job: Job) -> planner.Choice | None:
    """Return the untaken check that would separate best what still stands."""
    return planner.next_check(job.tree, beliefs_of(job), job.left(), job.bench)


def options(job: Job) -> tuple[tuple[str, str, int, Repair], ...]:
    """Return the repairs offered for the verdict: (option name, cause, index, repair)."""
    verdict = job.verdict
    if verdict is None:
        return ()
    causes = verdict.causes or (verdict.cause,)
    found = [(c, i, r) for c in causes if c in job.tree.causes for i, r in enumerate(job.tree.causes[c].repairs)]
    lasting = [f for f in found if not (job.shown and f[2].proof)]
    return tuple((str(n), c, i, r) for n, (c, i, r) in enumerate(lasting, 1))


def chosen_repair(job: Job) -> Repair | None:
    """Return the repair in hand."""
    if job.repair is None:
        return None
    return job.tree.causes[job.repair.cause].repairs[job.repair.option]


def _repairing(job: Job, intent: Intent) -> Decision:
    match intent:
        case Pick(answer) if answer == CLOSE:
            cause = job.verdict.cause if job.verdict else ""
            return (ev.Closed(cause),)
        case Pick(answer) if answer == DONE and job.repair is not None:
            return (ev.RepairDone(_proof_list(job)),)
        case Pick(answer) if job.repair is None:
            for name, cause, index, _ in options(job):
                if name == answer:
                    return (ev.RepairChosen(cause, index),)
            return Unclear("There is no such option.", answer)
        case Do(Command.TAKE_IT):
            offer = next_best(job)
            return (ev.VerdictSetAside(offer.check if offer else ""),) if offer else _request(intent)
    return _request(intent)


def _proof_list(job: Job) -> tuple[str, ...]:
    """The cause's own proof first, then every reading that was bad, unpowered before powered."""
    assert job.repair is not None, "a repair is in hand"
    verify = job.tree.causes[job.repair.cause].verify
    bad = [c for c, t in job.taken.items() if _was_bad(job.tree.checks[c], t.band)]
    wanted = dict.fromkeys((*([verify.check] if verify else ()), *bad))
    return tuple(sorted(wanted, key=lambda c: job.tree.needs(job.tree.checks[c]) is Power.ON))


def _was_bad(check: Check, band: str) -> bool:
    # A question about the past reads the same after the repair; only what is measured or seen can change.
    return check.measure is not Measure.ASK and bool(check.normal) and band not in check.normal


def _proof_result(job: Job) -> ev.Event:
    assert job.repair is not None, "a proof follows a repair"
    verify = job.tree.causes[job.repair.cause].verify
    failed = []
    for name in job.proof:
        band = job.taken[name].band
        good = {verify.band} if verify and verify.check == name else set(job.tree.checks[name].normal)
        if good and band not in good:
            failed.append(name)
    if not failed:
        return ev.ProofPassed()
    onward = verify.otherwise if verify and verify.otherwise in job.tree.checks else ""
    return ev.ProofFailed(tuple(failed), onward if onward not in job.taken else "")


def _verifying(job: Job, intent: Intent) -> Decision:
    repair = chosen_repair(job)
    cause = job.repair.cause if job.repair else (job.verdict.cause if job.verdict else "")
    match intent:
        case Pick(answer, words) if answer == WORKS:
            if repair is not None and repair.proof:
                return (ev.CauseShown(cause),)
            return (ev.Closed(cause, proven=not job.overridden),)
        case Pick(answer, words) if answer == STILL_FAULTY:
            return (ev.FunctionFailed(words),)
    return _request(intent)


# --- what comes next ------------------------------------------------------------------------------------------


def _next_event(job: Job) -> ev.Event | None:
    if job.told:
        return None
    if job.phase is Phase.REPAIRING:
        repair = chosen_repair(job)
        return _caution_for(job, repair.hazard) if repair else None
    if job.phase is not Phase.BRIEFING:
        return None
    if job.chosen:
        return _briefing(job) or ev.CheckAsked(job.chosen)
    if job.proof:
        return _next_proof(job)
    return _choose(job)


def _next_proof(job: Job) -> ev.Event:
    if job.again:
        return ev.CheckChosen(job.again, "retake")
    waiting = [c for c in job.proof if c not in job.taken]
    return ev.CheckChosen(waiting[0], "proof") if waiting else _proof_result(job)


def _choose(job: Job) -> ev.Event:
    if job.again:
        return ev.CheckChosen(job.again, "retake", "the reading straddles an edge")
    if job.order and (due := _due(job)) is not None:
        return due
    if job.route and job.route not in job.taken and job.route not in job.passed:
        by = "start" if not job.order else "offer" if job.aside_at == len(job.order) else "route"
        return ev.CheckChosen(job.route, by)
    choice = next_best(job)
    if choice is None:
        return _verdict(job, ())
    return ev.CheckChosen(choice.check, "plan", planner.why(job.tree, beliefs_of(job), choice))


def _due(job: Job) -> ev.VerdictGiven | None:
    """Return the verdict if one may be spoken now; one set aside waits for a further answer."""
    if job.aside_at == len(job.order):
        return None
    known = evidence(job)
    beliefs = belief.posterior(job.tree, known)
    given = belief.verdict_of(job.tree, beliefs, known, left=job.left())
    if given is None:
        return None
    return ev.VerdictGiven(given.cause, given.p, given.causes, given.rivals, given.separable)


def _briefing(job: Job) -> ev.Event | None:
    """Return the next caution or step that must be behind the technician before the chosen check."""
    check = job.tree.checks[job.chosen]
    closed = [a for a in check.access if a not in job.opened]
    if closed and job.power is not Power.OFF and (off := _off_hazard(job)):
        return ev.CautionGiven(off)  # a lid is never opened over a board that may be live
    steps = [*closed, *_setup_steps(job, check)]
    hazard = None if check.hazard == NO_HAZARD else _caution_for(job, check.hazard)
    if job.tree.needs(check) is Power.ON:
        # Connections are made before the power goes on, never the other way round.
        return ev.StepTold(steps[0]) if steps else hazard
    return hazard or (ev.StepTold(steps[0]) if steps else None)


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
