"""The verdict as it is put: the likely cause, what speaks for it, the rivals left, the check that would tell more."""

from __future__ import annotations

from typing import Any

from guide.core.durations import duration
from guide.core.intent import Command
from guide.core.jobs import events as ev
from guide.core.jobs.evidence import evidence
from guide.core.jobs.job import Job
from guide.core.jobs.weighing import known_by, offered, spent_minutes
from guide.core.jobs.wording import ask_of, cause_say, counted, is_a_reference, placed_in, rival
from guide.core.odds import belief
from guide.core.odds.planner import Choice
from guide.core.tree import NONE, OTHER

MOST_NAMED = 3  # causes or repairs said in one breath; all of them stand in `causes` and `options`


def verdict_message(job: Job) -> dict[str, Any]:
    """Return the verdict that stands, its rivals, and the check that would tell more."""
    given = job.verdict
    assert given is not None, "the concluded phase has a verdict"
    offer = None if is_a_reference(job) else offered(job)
    best = {"check": offer.check, "minutes": offer.minutes, "say": ask_of(job, offer.check)} if offer else None
    answers = [Command.TAKE_IT.value, Command.ENOUGH.value] if offer else [Command.ENOUGH.value]
    message: dict[str, Any] = {
        "type": "verdict", "job": job.id, "cause": given.cause, "p": given.p,
        "rivals": [{"id": c, "p": p} for c, p in given.rivals], "separable": given.separable,
        "checks": len(job.taken), "minutes": round(spent_minutes(job), 1),
        "next_best": best, "say": _verdict_say(job, given, offer), "answers": answers,
        "evidence": [{"check": c, "band": _placed(job, c, b), "bits": bits} for c, b, bits in grounds(job)],
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


def _placed(job: Job, check: str, band: str) -> str:
    return placed_in(job, job.taken[check]) if check in job.taken else band


def _verdict_say(job: Job, given: ev.VerdictGiven, offer: Choice | None) -> str:
    if ended := job.handed_over_for:
        return f"{cause_say(job, ended)}. Say enough."
    if is_a_reference(job):
        kept = f"{counted(len(job.taken), 'reading')}, each as on a good board."
        return f"Every point is read: {kept} Say enough to keep this as the reference."
    percent = f"{given.p * 100:.0f} percent"
    settled = job.tree.settles(given.p)
    if not settled and given.separable:
        head = f"Not settled. Leading: {cause_say(job, given.cause)}, {percent}."
    elif given.cause == OTHER:
        head = f"The readings fit no cause this tree lists, {percent}. Look beyond it."
    elif given.cause == NONE:
        head = f"Every reading is that of a good unit, {percent}."
    elif not given.separable and len(given.causes) > MOST_NAMED:
        named = "; ".join(cause_say(job, c) for c in given.causes[:MOST_NAMED])
        head = f"{len(given.causes)} causes still stand, together {percent}. Leading: {named}."
    elif not given.separable and len(given.causes) > 1:
        named = "; or ".join(cause_say(job, c) for c in given.causes)
        head = f"A meter cannot tell these apart, together {percent}: {named}."
    else:
        head = f"Likely cause: {cause_say(job, given.cause)}, {percent}."
    rivals = [f"{rival(job, c)}, {p * 100:.0f} percent" for c, p in given.rivals if p >= 0.01][:2]
    left = f" Left standing: {'; '.join(rivals)}." if rivals else ""
    return f"{head}{left} {_offer_say(job, given, offer) if offer else 'Say enough to go on.'}"


def _offer_say(job: Job, given: ev.VerdictGiven, offer: Choice) -> str:
    """Say what `take it` would be before asking for it."""
    what = "would help" if given.separable else "would tell them from the rest"
    which = "A check that was passed over" if offer.check in job.passed else "One more check"
    return f"{which} {what}, {duration(offer.minutes)}: {ask_of(job, offer.check)} Say take it, or say enough."
