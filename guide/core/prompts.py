"""What is said and shown: a job and what just happened become messages in the words of the JSON-lines contract.

A message is a plain dictionary with `type`, `job` and `say`; one that waits for an answer has `answers`. The line
mode, the voice and the bench screen render the same messages, so that no mode knows more than another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from guide.core import belief
from guide.core import events as ev
from guide.core.deciding import CLOSE, DONE, FUNCTION_TEST, STILL_FAULTY, WORKS, until_of
from guide.core.intent import Command, Expecting
from guide.core.job import Job, evidence
from guide.core.mending import chosen_repair, options
from guide.core.onward import STEP_BACK
from guide.core.phases import Phase
from guide.core.planner import Choice
from guide.core.quantity import Measure, shown
from guide.core.reading import Answered, Measured, OverRange, Reading, borderline
from guide.core.spoken import aloud
from guide.core.tree import CANT_SEE, NONE, OTHER, Check, Power
from guide.core.weighing import beliefs_of, known_by, next_best

Message = dict[str, Any]

NUMBER_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
LEADING = 5  # causes shown in the odds of the line mode


def messages(before: Job, events: Iterable[ev.Event], after: Job) -> list[Message]:
    """Return what to say about `events`, then the question that stands, if any."""
    told = [m for e in events for m in _report(before, e, after)]
    standing = question(after)
    return [*told, standing] if standing else told


def _report(before: Job, event: ev.Event, after: Job) -> list[Message]:
    match event:
        case ev.ReadingTaken():
            return [_read(after, event), odds(after)]
        case ev.ReadingWithdrawn(check):
            return [_told(after, f"Taken back: {_ask_of(after, check)}"), odds(after)]
        case ev.ReadingRefused():
            return [_told(after, "Scratched.")]
        case ev.CheckPassed(check, reason):
            return [_told(after, f"Noted: {reason}. It counts for nothing.")]
        case ev.NoteAdded():
            return [_told(after, "Noted.")]
        case ev.Held(reason, until):
            what = f" for {reason}" if reason else ""
            when = f" until {until}" if until else ""
            return [{"type": "held", "job": after.id, "say": f"Job {after.id} put aside{what}{when}.", "reason": reason,
                     "until": until}]  # fmt: skip
        case ev.RepairDone(proof):
            return [_prove_start(after, proof)]
        case ev.ProofPassed():
            return [_prove(after, "Every reading is good. Reassemble now.", passed=True)]
        case ev.ProofFailed(checks):
            names = ", ".join(checks)
            return [_prove(after, f"Not proven. Still wrong: {names}.", passed=False, checks=checks)]
        case ev.ProofOverridden():
            return [_prove(after, "Going on without the proof. It is recorded.", passed=False)]
        case ev.FunctionFailed():
            return [_told(after, "Back to the odds, then.")]
        case ev.CauseShown():
            return [_told(after, "The bypass shows the cause. It is no repair: choose a lasting one.")]
        case ev.Closed(cause):
            return [{"type": "closed", "job": after.id, "cause": cause, "proven": event.proven,
                     "say": f"Job {after.id} is closed."}]  # fmt: skip
    return []


def _told(job: Job, say: str) -> Message:
    return {"type": "told", "job": job.id, "say": say}


def _ask_of(job: Job, check: str) -> str:
    return job.tree.checks[check].ask if check in job.tree.checks else check


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
    near = borderline(event.weights)
    say = f"{spoken_reading(event.reading)}{'' if isinstance(event.reading, Answered) else ', ' + event.band}."
    if event.again:
        say += " That is on an edge."
    return {
        "type": "read", "job": job.id, "check": event.check, "say": say, "value": value, "unit": unit,
        "over_range": over, "band": event.band, "borderline": near, "source": event.source,
        "show": f"{shown_reading(event.reading)} → {event.band}",
    }  # fmt: skip


def plain(reading: Reading) -> tuple[float | str | None, str | None, bool]:
    """Return (value, unit, over range) of `reading` as the contract gives them."""
    match reading:
        case Measured(quantity):
            return quantity.value, quantity.unit.value, False
        case OverRange(unit):
            return None, unit.value, True
        case Answered(word):
            return word, None, False


def shown_reading(reading: Reading) -> str:
    """Return `reading` as a screen shows it: `512 mV`, `OL`, a word."""
    match reading:
        case Measured(quantity, resolution, margin):
            return ("about " if margin else "") + shown(quantity, resolution=resolution)
        case OverRange():
            return "OL"
        case Answered(word):
            return word


def spoken_reading(reading: Reading) -> str:
    """Return `reading` in words a synthesiser can say."""
    said = reading.word if isinstance(reading, Answered) else aloud(reading)
    return said[:1].upper() + said[1:]


def odds(job: Job) -> Message:
    """Return the probability of every cause, most likely first."""
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    return {"type": "odds", "job": job.id, "causes": [{"id": c, "p": p} for c, p in ranked],
            "say": ""}  # fmt: skip


# --- the question that stands ---------------------------------------------------------------------------------


def question(job: Job) -> Message | None:
    """Return the message that waits for an answer now; None for a closed job."""
    if job.told:
        return _caution(job)
    match job.phase:
        case Phase.ASKING:
            return _ask(job)
        case Phase.CONFIRMING:
            return _confirm(job)
        case Phase.CONCLUDED:
            return verdict_message(job)
        case Phase.REPAIRING:
            return _repair_step(job) if job.repair else _repair_options(job)
        case Phase.VERIFYING:
            return _function_test(job)
    return None


def expecting(job: Job) -> Expecting:
    """Return what the standing question takes, for the parser and the recogniser."""
    if job.told:
        word = until_of(job, job.told)
        return Expecting(answers={word: (word,)})
    check = job.check
    match job.phase:
        case Phase.ASKING | Phase.CONFIRMING if check is not None and check.measure.takes_a_reading:
            return Expecting(check.measure, job.meter.spec(check.measure))
        case Phase.ASKING | Phase.CONFIRMING if check is not None:
            return Expecting(answers=_word_answers(check))
        case Phase.REPAIRING if job.repair:
            return Expecting(answers={DONE: (DONE, "finished", "it is done"), CLOSE: (CLOSE, "close the job")})
        case Phase.REPAIRING:
            names = {n: (n, NUMBER_WORDS[int(n)], f"option {NUMBER_WORDS[int(n)]}") for n, *_ in options(job)[:9]}
            return Expecting(answers={**names, CLOSE: (CLOSE, "close the job")})
        case Phase.VERIFYING:
            return Expecting(answers={WORKS: (WORKS, "it works", "yes"), STILL_FAULTY: (STILL_FAULTY, "faulty", "no")})
    return Expecting()


def _word_answers(check: Check) -> Mapping[str, tuple[str, ...]]:
    words = {b.name: (b.name, *b.words) for b in check.bands}
    return {**words, CANT_SEE: (CANT_SEE, "cannot see", "can not see")} if check.measure is Measure.LOOK else words


def _caution(job: Job) -> Message:
    tree, told = job.tree, job.told
    hazard = tree.hazards.get(told)
    step = tree.setups.get(told) or tree.access.get(told)
    say = hazard.say if hazard else step.say if step else "Take off what was connected, back to as found. Say ready."
    message: Message = {
        "type": "caution", "job": job.id, "id": told, "say": say,
        "power": (hazard.power if hazard else job.power).value,
        "answers": [until_of(job, told)],
    }  # fmt: skip
    if told in tree.setups or told == STEP_BACK:
        message["setup"] = told
    return message


def _ask(job: Job) -> Message:
    check = job.check
    assert check is not None, "the asking phase has a check"
    reading = check.measure.takes_a_reading
    hazard = job.tree.hazards.get(check.hazard)
    message: Message = {
        "type": "ask", "job": job.id, "check": check.id, "tree": job.tree.id, "say": check.ask,
        "measure": check.measure.value, "power": hazard.power.value if hazard else "any", "setup": check.setup,
        "red": check.red, "black": check.black,
        "answers": _reading_words(check) if reading else list(_word_answers(check)),
        "minutes": check.minutes, "retake": job.chosen_by == "retake", "by": job.chosen_by,
    }  # fmt: skip
    if reading and check.measure.unit is not None:
        message["unit"] = check.measure.unit.value
    if message["retake"]:
        message["say"] = f"Once more, a lower range if there is one. {check.ask}"
    if job.proof:
        message["proof"] = True
    return message


def _reading_words(check: Check) -> list[str]:
    words = {
        Measure.DIODE: ["OL", "open", "short"],
        Measure.OHMS: ["OL", "open", "short"],
        Measure.CONTINUITY: ["beeps", "no beep", "OL", "open", "short"],
    }
    return words.get(check.measure, ["OL"])


def _confirm(job: Job) -> Message:
    pending, check = job.pending, job.check
    assert pending is not None, "the confirming phase has a pending reading"
    assert check is not None, "the confirming phase has a check"
    value, unit, over = plain(pending.reading)
    return {
        "type": "confirm", "job": job.id, "check": check.id, "say": f"{spoken_reading(pending.reading)}. Yes?",
        "value": value, "unit": unit, "over_range": over, "answers": ["yes", "no"],
    }  # fmt: skip


def verdict_message(job: Job) -> Message:
    """Return the verdict that stands, its rivals, and the check that would tell more."""
    given = job.verdict
    assert given is not None, "the concluded phase has a verdict"
    offer = next_best(job)
    best = {"check": offer.check, "minutes": offer.minutes, "say": _ask_of(job, offer.check)} if offer else None
    answers = [Command.TAKE_IT.value, Command.ENOUGH.value] if offer else [Command.ENOUGH.value]
    message: Message = {
        "type": "verdict", "job": job.id, "cause": given.cause, "p": given.p,
        "rivals": [{"id": c, "p": p} for c, p in given.rivals], "separable": given.separable,
        "checks": len(job.taken), "minutes": sum(job.tree.checks[c].minutes for c in job.taken),
        "next_best": best, "say": _verdict_say(job, given, offer), "answers": answers,
        "evidence": [{"check": c, "band": b, "bits": bits} for c, b, bits in grounds(job)],
    }  # fmt: skip
    if not given.separable:
        message["causes"] = list(given.causes)
    return message


def grounds(job: Job) -> list[tuple[str, str, float]]:
    """Return each answer with its band and what it says for (+) or against (-) the verdict, in bits."""
    if job.verdict is None or job.verdict.cause not in job.tree.causes:
        return []
    told = belief.explain(job.tree, evidence(job), job.verdict.cause, **known_by(job))
    return [(ground.check, ground.band, ground.bits) for ground in told]


def cause_say(job: Job, cause: str) -> str:
    """Return the tree's sentence for `cause`."""
    return job.tree.causes[cause].say.rstrip(". ") if cause in job.tree.causes else cause


def _verdict_say(job: Job, given: ev.VerdictGiven, offer: Choice | None) -> str:
    percent = f"{given.p * 100:.0f} percent"
    if given.cause == OTHER:
        head = f"The readings fit no cause this tree lists, {percent}. Look beyond it."
    elif given.cause == NONE:
        head = f"Every reading is that of a good unit, {percent}."
    elif not given.separable and len(given.causes) > 1:
        named = "; or ".join(cause_say(job, c) for c in given.causes)
        head = f"A meter cannot tell these apart, together {percent}: {named}."
    else:
        head = f"Likely cause: {cause_say(job, given.cause)}, {percent}."
    rivals = [f"{cause_say(job, c)}, {p * 100:.0f} percent" for c, p in given.rivals if p >= 0.01][:2]
    left = f" Left standing: {'; '.join(rivals)}." if rivals else ""
    return f"{head}{left} {'Say take it, or say enough.' if offer else 'Say enough to go on.'}"


def _repair_options(job: Job) -> Message:
    listed: list[Message] = [
        {"id": name, "cause": cause, "do": r.do, "minutes": r.minutes, "parts": r.parts, "skill": r.skill,
         "risk": r.risk, "restores": r.restores, "leaves": r.leaves, "proof": r.proof}
        for name, cause, _, r in options(job)[:9]
    ]  # fmt: skip
    told = [f"{NUMBER_WORDS[int(o['id'])].capitalize()}: {o['do']}, {o['minutes']:g} minutes." for o in listed]
    say = " ".join([*told, "Choose one, or say close."]) if told else "No repair is listed. Say close, or take it."
    answers = [*(o["id"] for o in listed), CLOSE, Command.TAKE_IT.value]
    return {"type": "repair", "job": job.id, "say": say, "options": listed, "answers": answers}


def _repair_step(job: Job) -> Message:
    repair = chosen_repair(job)
    assert repair is not None, "a repair is in hand"
    return {"type": "repair", "job": job.id, "say": f"{repair.do}. Say done.", "chosen": repair.do, "options": [],
            "answers": [DONE, CLOSE]}  # fmt: skip


def _function_test(job: Job) -> Message:
    return {"type": "ask", "job": job.id, "check": FUNCTION_TEST, "tree": job.tree.id, "measure": Measure.ASK.value,
            "say": f"Function test. {job.tree.symptom.rstrip('.')}: is that gone? Works, or still faulty?",
            "power": Power.ON.value, "setup": "as_found", "red": None, "black": None, "minutes": 5.0, "retake": False,
            "by": "proof", "answers": [WORKS, STILL_FAULTY]}  # fmt: skip
