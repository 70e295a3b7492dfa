"""What is said and shown: a job and what just happened become messages in the words of the JSON-lines contract.

A message is a plain dictionary with `type`, `job` and `say`; one that waits for an answer has `answers`. The line
mode, the voice and the bench screen render the same messages, so that no mode knows more than another.
"""

from __future__ import annotations

from collections.abc import Iterable

from guide.core.jobs import events as ev
from guide.core.jobs.comparing import good_boards, told_weights
from guide.core.jobs.folding import fold
from guide.core.jobs.intake import INTAKE, read_back
from guide.core.jobs.job import Job
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import Message, question
from guide.core.jobs.refusals import refused
from guide.core.jobs.repairing import STILL_FAULTY, WORKS
from guide.core.jobs.touch import warning
from guide.core.jobs.weighing import beliefs_of
from guide.core.jobs.wording import (
    answered,
    is_a_reference,
    placed_in,
    plain,
    shown_reading,
    spoken_reading,
    waiting,
    what_it_was,
)
from guide.core.reading import Answered, borderline, landed, placed
from guide.core.tree import NONE, Power, in_words

NOTE_WORDS = 20  # of a note are said again
PASSED = {"skip": "Skipped", "can't reach": "Out of reach, noted", "can't see": "Not to be seen, noted"}


# Said whenever a repair is chosen before any was made. Extraction at the joint: occupational-health guidance, from
# memory; what hot air stays off, and eyes: common practice, no source.
BEFORE_HEAT = (
    "If it needs heat: extraction at the joint, eyes covered, hot air off cells, electrolytics and plastic."
    " Local rules on solder and fumes hold."
)


def messages(before: Job, events: Iterable[ev.Event], after: Job) -> list[Message]:
    """Return what to say about `events`, then the question that stands, if any."""
    events = tuple(events)
    told = [m for at, e in enumerate(events, 1) for m in _report(before, e, after, so_far=events[:at])]
    standing = None if any(isinstance(e, ev.Held) for e in events) else question(after)
    return [*told, standing] if standing else told


def _report(before: Job, event: ev.Event, after: Job, *, so_far: tuple[ev.Event, ...]) -> list[Message]:
    """Return what to say about `event`, the last of `so_far`. What it tells of may count no longer `after` all events:
    the next check may be one of those readings again, where it has grown old."""
    match event:
        case ev.ReadingTaken():
            # After a repair the readings prove it; odds of what was wrong would mislead until one fails.
            moved = [] if before.proof or is_a_reference(after) else [odds(after)]
            return [_read(after, event), *_touch(after, event), *moved, *_swept(before, after)]
        case ev.ReadingWithdrawn(check):
            return [_taken_back(before, check), *([] if after.proof else [odds(after)])]
        case ev.ReadingPlaced(check):
            was = in_words(fold(before, so_far[:-1]).taken[check].band)
            return [_told(after, f"Placed anew: {answered(fold(before, so_far), check)}; it was {was}.")]
        case ev.ReadingRefused():
            return [_told(after, "Scratched.")]
        case ev.CheckPassed(_, reason):
            return [_told(after, f"{PASSED.get(reason, reason)}. It says nothing either way."), *_swept(before, after)]
        case ev.FactsNoted(facts) if any(facts.values()):
            return [_told(after, f"Noted, {read_back(facts)}.")]
        case ev.IntakeBegun(question) if before.facts.get(question):
            return [_told(after, f"Taken back: {before.facts[question]}.")]
        case ev.NoteAdded(text):
            return [_noted(after, text)]
        case ev.Held(reason, until):
            say = f"Job {after.id} put aside{waiting(reason, until)}."
            return [{"type": "held", "job": after.id, "say": say, "reason": reason, "until": until}]
    return _report_ending(before, event, after, so_far=so_far)


def _report_ending(before: Job, event: ev.Event, after: Job, *, so_far: tuple[ev.Event, ...]) -> list[Message]:
    """Return what to say about what happens once the verdict is accepted."""
    match event:
        case ev.RepairChosen() if before.tried is None and not before.epoch and not before.handed_over_for:
            return [_told(after, BEFORE_HEAT)]
        case ev.RepairDone(proof):
            return [_prove_start(after, proof)]
        case ev.ProofPassed():
            good = "Every reading is good." if after.taken else "Then there is no reading to prove it."
            return [_prove(after, f"{good} {_reassemble(before)}", passed=True)]
        case ev.ProofFailed(checks):
            still = "; ".join(answered(fold(before, so_far), c) for c in checks)
            return [_prove(after, f"Not proven. Still wrong: {still}.", passed=False, checks=checks)]
        case ev.ProofOverridden():
            say = f"Going on without the proof. It is recorded. {_reassemble(before)}"
            return [_prove(after, say, passed=False)]
        case ev.FunctionFailed():
            return [_told(after, "Still faulty, then. Back to the odds.")]
        case ev.CauseShown():
            return [_told(after, "The bypass shows the cause. It is no repair: choose a lasting one.")]
        case ev.RepairWithdrawn():
            return [_told(after, "Taken back: done.")]
        case ev.ProofReopened():
            return [_told(after, "Taken back: override.")]
        case ev.TestWithdrawn():
            return [_told(after, f"Taken back: {WORKS if before.shown and not after.shown else STILL_FAULTY}.")]
        case ev.ClosingRefused():
            return [_told(after, "Not closed.")]
        case ev.Closed(cause):
            return [{"type": "closed", "job": after.id, "cause": cause, "proven": event.proven,
                     "say": _closed_say(before, after, event)}]  # fmt: skip
    return []


def _told(job: Job, say: str) -> Message:
    return {"type": "told", "job": job.id, "say": say}


def _noted(job: Job, text: str) -> Message:
    """Say a note again, for ears: free words are heard wrong more often than any other; a screen has them before it."""
    why, words = refused(text) or "", text.split()
    short = " ".join(words[:NOTE_WORDS]) + (", and so on" if len(words) > NOTE_WORDS else "")
    said = _told(job, f"Noted: {short.rstrip('.')}. {why}".strip())
    return {**said, "show": f"Noted. {why}".strip()}


def _taken_back(before: Job, check: str) -> Message:
    """Name the answer that no longer counts; the question itself comes again right after."""
    taken = before.taken.get(check)
    if taken is None:
        return _told(before, f"Taken back: {before.passed.get(check, '')}.")
    reading = taken.readings[-1]
    shown = f"Taken back: {shown_reading(reading)}."
    return {**_told(before, f"Taken back: {spoken_reading(reading)}."), "show": shown}


def _reassemble(before: Job) -> str:
    """Nobody puts a board together that may be live."""
    return "Reassemble now." if before.power is Power.OFF else "Switch it off and unplug it, then reassemble."


def _closed_say(before: Job, job: Job, closed: ev.Closed) -> str:
    what = what_it_was(job, closed.cause, closed.note)
    untested = before.phase is Phase.VERIFYING and not closed.works and not before.overridden
    how = "Its readings are good, its function was not tested." if untested else "Not proven by readings."
    how = "Proven by its readings." if closed.proven else how
    if job.known_good and closed.cause == NONE:
        return f"Job {job.id} is closed. Its readings count as those of a good board."
    if before.handed_over_for:
        return f"Job {job.id} is closed{', handed over' if before.repair else ''}{f': {what}' if what else ''}."
    if not what:
        return f"Job {job.id} is closed. What it was is not known."
    return f"Job {job.id} is closed: {what}. {how}"


def _touch(job: Job, event: ev.ReadingTaken) -> list[Message]:
    check = job.tree.checks.get(event.check)
    said = warning(check.measure, event.reading) if check else ""
    return [_told(job, said)] if said else []


def _swept(before: Job, after: Job) -> list[Message]:
    """Return the table of a sweep whose last point has just been answered."""
    if not before.sweep or len(before.sweep_left()) != 1 or before.sweep_left()[0] != before.chosen:
        return []
    return [sweep_table(after, before.sweep, before.sweep_checks())]


def sweep_table(job: Job, sweep: str, checks: Iterable[str]) -> Message:
    """Return every point of `sweep` with its reading and band."""
    rows = []
    for name in checks:
        taken, check = job.taken.get(name), job.tree.checks[name]
        reading = shown_reading(taken.readings[-1]) if taken else job.passed.get(name, "-")
        rows.append({"check": name, "red": check.red, "black": check.black, "show": reading,
                     "band": placed_in(job, taken) if taken else None})  # fmt: skip
    return {"type": "sweep", "job": job.id, "sweep": sweep, "say": "", "rows": rows}


def _prove_start(job: Job, proof: tuple[str, ...]) -> Message:
    count = len(proof)
    say = (
        f"Prove it before reassembly: {count} reading{'s' if count != 1 else ''}." if count else "No reading to prove."
    )
    return {"type": "prove", "job": job.id, "say": say, "checks": list(proof)}


def _prove(job: Job, say: str, *, passed: bool, checks: tuple[str, ...] = ()) -> Message:
    return {"type": "prove", "job": job.id, "say": say, "passed": passed, "checks": list(checks)}


def _read(job: Job, event: ev.ReadingTaken) -> Message:
    value, unit, over = plain(event.reading)
    unlike = bool(good_boards(job, event.check, event.reading))
    weights = told_weights(job, event.check, event.reading, event.band, event.weights)
    near, worded = borderline(weights), isinstance(event.reading, Answered)
    bands, where = landed(weights, event.band), in_words(placed(weights, event.band))
    say = f"{spoken_reading(event.reading)}{'' if worded else ', ' + where}."
    if event.source == INTAKE:
        say = f"From the counter: {say[:1].lower()}{say[1:]}"
    if event.again and len(bands) == 1:
        say += " That is on an edge."
    if unlike:
        say += " Good boards of this model read otherwise."
    return {
        "type": "read", "job": job.id, "check": event.check, "say": say, "value": value, "unit": unit,
        "over_range": over, "band": event.band, "borderline": near, "unlike": unlike, "source": event.source,
        "between": list(bands) if len(bands) > 1 else [],
        "show": say.rstrip(".") if event.source == INTAKE else in_words(event.band) if worded
        else f"{shown_reading(event.reading)} → {where}",
    }  # fmt: skip


def odds(job: Job) -> Message:
    """Return the probability of every cause, most likely first."""
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    return {"type": "odds", "job": job.id, "causes": [{"id": c, "p": p} for c, p in ranked],
            "say": ""}  # fmt: skip
