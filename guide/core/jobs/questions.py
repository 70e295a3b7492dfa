"""The question that stands: what waits for an answer now, and what it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from guide.core.durations import duration
from guide.core.intent import Command, Expecting
from guide.core.jobs import events as ev
from guide.core.jobs.concluding import MOST_NAMED, verdict_message
from guide.core.jobs.deciding import until_of
from guide.core.jobs.intake import INTAKE, next_question
from guide.core.jobs.job import Job
from guide.core.jobs.mending import chosen_repair, options
from guide.core.jobs.onward import STEP_BACK
from guide.core.jobs.phases import Phase
from guide.core.jobs.repairing import CLOSE, DONE, FUNCTION_TEST, STILL_FAULTY, WORKS, bypass_in_hand
from guide.core.jobs.taking import minus_in_doubt
from guide.core.jobs.weighing import offered
from guide.core.jobs.wording import (
    cause_say,
    leads_of,
    plain,
    spoken_reading,
    what_it_was,
)
from guide.core.meter import MeterProfile
from guide.core.quantity import Measure
from guide.core.tree import AS_FOUND, CANT_SEE, Check, Power, Step
from guide.core.words.phrases import COMMAND_WORDS

Message = dict[str, Any]

NUMBER_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def question(job: Job) -> Message | None:
    """Return the message that waits for an answer now; None for a closed job."""
    if job.told:
        return _caution(job)
    if job.closing is not None:
        return _confirm_closing(job, job.closing)
    match job.phase:
        case Phase.INTAKE:
            return _intake(job)
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


def enter_means(standing: Mapping[str, Any]) -> str:
    """Return what a bare Enter says to the question that stands: yes, next or done where one of them fits, skip at the
    counter, else the question again. A reading and a choice of findings are never answered by it."""
    answers = [str(a) for a in standing.get("answers", ())]
    if standing.get("type") in ("caution", "verdict") and len(answers) == 1:
        return answers[0]
    if standing.get("by") == INTAKE:
        return Command.SKIP.value
    fits = {"confirm": "yes", "repair": DONE}.get(str(standing.get("type")), "")
    return fits if fits in answers else Command.REPEAT.value


def _intake(job: Job) -> Message:
    asked = next_question(job.facts)
    say = f"{asked.say} Say it, skip, or enough." if asked else "Say enough to begin."
    answers = [Command.SKIP.value, Command.ENOUGH.value]
    name = f"intake-{asked.id if asked else 'end'}"
    return ask_without_probes(name, say, answers, by=INTAKE, minutes=0.5, job=job.id, tree=job.tree.id)


def ask_without_probes(
    check: str, say: str, answers: list[str], *, by: str, minutes: float, power: str = "any", job: str = "",
    tree: str = "",
) -> Message:  # fmt: skip
    """Return a question that is no check of a tree and places no probe; `job` and `tree` are empty before there are."""
    return {
        "type": "ask", "job": job, "check": check, "tree": tree, "say": say, "measure": Measure.ASK.value,
        "power": power, "setup": AS_FOUND, "red": None, "black": None, "leads": "", "answers": answers,
        "minutes": minutes, "retake": False, "by": by,
    }  # fmt: skip


def expecting(job: Job) -> Expecting:
    """Return what the standing question takes, for the parser and the recogniser."""
    if job.closing is not None:
        return Expecting()
    if job.told:
        word = until_of(job, job.told)
        return Expecting(answers={word: (word,)})
    check = job.check
    match job.phase:
        case Phase.ASKING if check is not None:
            return check_expecting(check, job.meter)
        case Phase.CONFIRMING if check is not None:
            return _confirm_expecting(check_expecting(check, job.meter))
        case Phase.REPAIRING if job.repair:
            return Expecting(answers={DONE: (DONE, "finished", "it is done"), CLOSE: (CLOSE, "close the job")})
        case Phase.REPAIRING:
            names = {n: (n, NUMBER_WORDS[int(n)], f"option {NUMBER_WORDS[int(n)]}") for n, *_ in options(job)[:9]}
            return Expecting(answers={**names, CLOSE: (CLOSE, "close the job")})
        case Phase.VERIFYING:
            tested = {WORKS: (WORKS, "it works", "yes"), STILL_FAULTY: (STILL_FAULTY, "faulty", "no")}
            return Expecting(answers=tested if bypass_in_hand(job) else {**tested, CLOSE: (CLOSE, "close the job")})
    return Expecting()


def _confirm_expecting(wants: Expecting) -> Expecting:
    """A read-back takes what the check takes, but yes and no answer the read-back."""
    taken = {*COMMAND_WORDS[Command.YES], *COMMAND_WORDS[Command.NO]}
    answers = {name: tuple(w for w in words if w.lower() not in taken) for name, words in wants.answers.items()}
    return replace(wants, answers={name: words for name, words in answers.items() if name.lower() not in taken})


def check_expecting(check: Check, meter: MeterProfile) -> Expecting:
    """Return what `check` takes: a reading of its kind, or its words."""
    if check.measure.takes_a_reading:
        return Expecting(check.measure, meter.spec(check.measure))
    return Expecting(answers=_word_answers(check))


def _word_answers(check: Check) -> Mapping[str, tuple[str, ...]]:
    words = {b.name: (b.name, *b.words) for b in check.bands}
    return {**words, CANT_SEE: (CANT_SEE, "cannot see", "can not see")} if check.measure is Measure.LOOK else words


def _caution(job: Job) -> Message:
    tree, told = job.tree, job.told
    hazard = tree.hazards.get(told)
    step = tree.setups.get(told) or tree.access.get(told)
    say = hazard.say if hazard else _step_say(job, step) if step else _back_say(job)
    message: Message = {
        "type": "caution", "job": job.id, "id": told, "say": say,
        "power": (hazard.power if hazard else job.power).value,
        "answers": [until_of(job, told)],
    }  # fmt: skip
    if told in tree.setups or told == STEP_BACK:
        message["setup"] = told
    elif told in tree.access:
        message["access"] = told
    return message


def _step_say(job: Job, step: Step) -> str:
    """A set-up says what it needs; what hands made for the one before may be in its way."""
    before = job.tree.setups.get(job.setup)
    by_hand = before is not None and before.power is Power.OFF and step.id in job.tree.setups and step.id != job.setup
    return f"First undo what this does not need of the last set-up. {step.say}" if by_hand else step.say


def _back_say(job: Job) -> str:
    made = job.tree.setups.get(job.setup)
    if made is not None and made.power is Power.ON:
        return "Let it run again as it was found. Say ready."
    return "Take off what was connected, put back what was lifted. Say ready."


def _ask(job: Job) -> Message:
    check = job.check
    assert check is not None, "the asking phase has a check"
    reading = check.measure.takes_a_reading
    hazard = job.tree.hazards.get(check.hazard)
    message: Message = {
        "type": "ask", "job": job.id, "check": check.id, "tree": job.tree.id, "say": check.ask,
        "measure": check.measure.value, "power": hazard.power.value if hazard else "any", "setup": check.setup,
        "red": check.red, "black": check.black, "leads": leads_of(job, check),
        "answers": _reading_words(check) if reading else _offered_words(job, check),
        "minutes": check.minutes, "retake": job.chosen_by == "retake", "by": job.chosen_by,
    }  # fmt: skip
    if reading and check.measure.unit is not None:
        message["unit"] = check.measure.unit.value
    if message["retake"]:
        message["say"] = f"Once more, a lower range if there is one. {check.ask}"
    if job.chosen_by == "stale":
        message["say"] = f"Once more, the last one is old. {check.ask}"
    if job.chosen_by == "sweep":
        message["sweep"] = job.sweep
        message["say"] = _sweep_say(job, check) if job.sweep in job.tree.sweeps else check.ask
    if job.proof:
        message["proof"] = True
    return message


def _offered_words(job: Job, check: Check) -> list[str]:
    """What proves a repair, or decides if anything is touched at all, has to be seen."""
    must_be_seen = job.proof or check.must_be_known
    return [name for name in _word_answers(check) if name != CANT_SEE or not must_be_seen]


def _sweep_say(job: Job, check: Check) -> str:
    """The sweep's own words before its first point, then the point's name alone."""
    sweep = job.tree.sweeps[job.sweep]
    first = not any(c in job.taken or c in job.passed for c in sweep.checks)
    probes = [p for p in (check.red, check.black) if p is not None and p in job.tree.points]
    # The probe that moves is the one not shared by every point of the sweep.
    shared = [p for p in probes if all(p in (o.red, o.black) for o in (job.tree.checks[c] for c in sweep.checks))]
    moving = next((job.tree.points[p] for p in probes if p not in shared), check.ask)
    point = f"{moving[:1].upper()}{moving[1:].rstrip('.')}."
    return f"{sweep.say.rstrip('.')}. {point}" if first else point


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
    asked = "Are red and black as asked, not swapped? Yes?" if minus_in_doubt(job, pending.reading) else "Yes?"
    return {
        "type": "confirm", "job": job.id, "check": check.id, "say": f"{spoken_reading(pending.reading)}. {asked}",
        "value": value, "unit": unit, "over_range": over, "answers": ["yes", "no"],
    }  # fmt: skip


def _confirm_closing(job: Job, heard: ev.ClosingHeard) -> Message:
    what = what_it_was(job, heard.cause, heard.note)
    return {"type": "confirm", "job": job.id, "say": f"Close it, not proven{f': {what}' if what else ''}. Yes?",
            "answers": ["yes", "no"]}  # fmt: skip


def _repair_options(job: Job) -> Message:
    listed: list[Message] = [
        {"id": name, "cause": cause, "do": r.do, "minutes": r.minutes, "parts": r.parts, "skill": r.skill,
         "risk": r.risk, "restores": r.restores, "leaves": r.leaves, "proof": r.proof, "for": cause_say(job, cause)}
        for name, cause, _, r in options(job)[:9]
    ]  # fmt: skip
    told = [f"{NUMBER_WORDS[int(o['id'])].capitalize()}: {o['do'].rstrip('.')}, {duration(o['minutes'])}"
            f"{', as a proof only' if o['proof'] else ''}." for o in listed[:MOST_NAMED]]  # fmt: skip
    told += [f"{len(listed) - MOST_NAMED} more are shown."] if len(listed) > MOST_NAMED else []
    more = [Command.TAKE_IT.value] if offered(job) else []
    ways = "Choose one, or say close." if told else "No repair is listed. Say close, or something else and what it was."
    say = " ".join([*told, ways])
    answers = [*(o["id"] for o in listed), CLOSE, *more]
    return {"type": "repair", "job": job.id, "say": say, "options": listed, "answers": answers}


def _repair_step(job: Job) -> Message:
    repair = chosen_repair(job)
    assert repair is not None, "a repair is in hand"
    # What is shown of an option is not heard: hands that are about to begin hear the risk, and what stays unprotected.
    risk = f" Risk: {repair.risk.rstrip('.')}." if repair.risk and not repair.risk.lower().startswith("none") else ""
    leaves = f" Leaves: {repair.leaves.rstrip('.')}." if repair.leaves else ""
    say = f"{repair.do.rstrip('.')}.{risk}{leaves} Say done."
    return {"type": "repair", "job": job.id, "say": say, "chosen": repair.do, "options": [], "answers": [DONE, CLOSE]}


def _function_test(job: Job) -> Message:
    say = f"Power it up as its owner would. {job.tree.symptom.rstrip('.')}: works, or faulty?"
    answers = list(expecting(job).answers)
    return ask_without_probes(
        FUNCTION_TEST, say, answers, by="proof", minutes=5.0, power=Power.ON.value, job=job.id, tree=job.tree.id
    )
