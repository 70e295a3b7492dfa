"""Where a job stands, in a few sentences: on coming back, for `where are we`, and what a verdict rests on."""

from __future__ import annotations

from guide.core.jobs import events as ev
from guide.core.jobs.concluding import grounds
from guide.core.jobs.evidence import apart_shown
from guide.core.jobs.job import Job
from guide.core.jobs.mending import chosen_repair, pairs_apart, repair_of
from guide.core.jobs.phases import Phase
from guide.core.jobs.weighing import beliefs_of
from guide.core.jobs.wording import (
    about,
    answered,
    ask_of,
    cause_say,
    counted,
    is_a_reference,
    like_a_good_unit,
    only_told,
    rival,
    waiting,
)
from guide.core.odds.verdicts import WORTH_NAMING
from guide.core.tree import Repair

MOST_TOLD = 2  # readings said in one breath
MOST_LEADING = 2  # causes


def readings_line(job: Job) -> str:
    """Return the answers that are not those of a good unit, newest first, else those on the edge, else the newest."""
    taken = [c for c in reversed(job.order) if c in job.taken]
    if not taken:
        return "No answer yet."
    checks = job.tree.checks
    sound = {c: like_a_good_unit(job, c) for c in taken if not only_told(checks[c]) and checks[c].usual}
    odd = [c for c, good in sound.items() if good is False]
    if odd := [*odd, *(pair.id for pair in pairs_apart(job))]:
        return f"Not as in a good unit: {_some(job, odd)}."
    if edge := [c for c, good in sound.items() if good is None]:
        return f"On the edge of a good unit: {_some(job, edge)}."
    return f"Last, {answered(job, taken[0])}.{_each_good(len(sound), len(taken))}"


def _each_good(judged: int, taken: int) -> str:
    """Return that every answer is that of a good unit, and how many of those `taken` say nothing of that."""
    if not judged:
        return ""
    rest = taken - judged
    left_out = f", leaving out {rest} that cannot tell" if rest else ""
    return f" Each by itself is that of a good unit{left_out}."


def _some(job: Job, checks: list[str]) -> str:
    more = f"; and {len(checks) - MOST_TOLD} more" if len(checks) > MOST_TOLD else ""
    return f"{'; '.join(_said(job, c) for c in checks[:MOST_TOLD])}{more}"


def _said(job: Job, check: str) -> str:
    """Return the answer to `check`; of a pair how far its halves are apart."""
    return answered(job, check) if check in job.taken else f"{ask_of(job, check)}: {_apart(job, check)}"


def _apart(job: Job, check: str) -> str:
    return apart_shown(job, job.tree.checks[check])


def grounds_line(job: Job) -> str:
    """Return what the verdict that stands rests on, the loudest answers and pairs first; once the bench was changed by
    a repair, what became of it."""
    if job.epoch and not _looking(job) and (done := _stage(job)):
        return done
    spoke = [g for g in sorted(grounds(job), key=lambda g: -g[2]) if g[2] > 0][:MOST_TOLD]
    if not spoke:
        return readings_line(job)
    return f"It rests most on: {'; '.join(_said(job, check) for check, _, _ in spoke)}."


def where_are_we(job: Job) -> str:
    """Return the state of the job in a few sentences."""
    return _sentences(
        f"Job {job.id}, {_counts(job)}.", f"Power {job.power.value}.", _stage(job),
        _leading(job, MOST_LEADING), readings_line(job),
    )  # fmt: skip


def recap(job: Job, *, aside: ev.Held | None = None) -> str:
    """Return some sentences for a technician who comes back to the job; `aside` is how it was put aside, if it was."""
    waited = aside is not None and (aside.reason or aside.until)
    return _sentences(
        f"Back on job {job.id}, {about(job)}.",
        f"It was put aside{waiting(aside.reason, aside.until)}." if aside is not None and waited else "",
        f"{_counts(job)}.", _stage(job), readings_line(job) if job.taken else "",
        _leading(job, 1) if job.taken else "", _old(job), "Cautions first." if job.told else "",
    )  # fmt: skip


def _sentences(*said: str) -> str:
    return " ".join(" ".join(said).split())


def _counts(job: Job) -> str:
    """Return how many answers there are and, while the cause is looked for, how many checks are left."""
    skipped = f", {len(job.passed)} passed over" if job.passed else ""
    left = f", {counted(len(job.left()), 'check')} left" if _looking(job) else ""
    return f"{counted(job.answers, 'answer')} so far{skipped}{left}"


def _looking(job: Job) -> bool:
    """Tell whether the cause is still being looked for; then a repair is chosen, done and proven."""
    return job.phase in (Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING, Phase.CONCLUDED) and not job.proof


def odds_mislead(job: Job) -> bool:
    """Tell whether nothing is wrong any more, or ever was: a repair is done and not refuted, or the board is known to
    be good. Odds of what is wrong tell nothing then."""
    if (job.known_good and not job.taken) or is_a_reference(job):
        return True
    return bool(job.proof) or job.phase is Phase.VERIFYING or (bool(job.shown) and job.phase is Phase.REPAIRING)


def _leading(job: Job, most: int) -> str:
    """Return the likeliest causes, empty where they would mislead."""
    if odds_mislead(job):
        return ""
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    named = [(c, p) for i, (c, p) in enumerate(ranked[:most]) if i == 0 or p >= WORTH_NAMING]
    return f"Leading: {'; '.join(f'{rival(job, c)}, {p * 100:.0f} percent' for c, p in named)}."


def _stage(job: Job) -> str:
    """Return what has become of the repair, empty before one is chosen."""
    repair = chosen_repair(job)
    if repair is not None and job.proof:
        left = sum(c not in job.taken or c == job.again or c == job.chosen for c in job.proof)
        return f"Done: {_do(repair)}. To be proven, {counted(left, 'reading')} left."
    if repair is not None and job.phase is Phase.VERIFYING:
        proof = "Its proof was passed over" if job.overridden else "The readings after it are good"
        return f"Done: {_do(repair)}. {proof}, the function test is left."
    if repair is not None:
        return f"Chosen: {_do(repair)}."
    shown = f"The bypass has shown it: {cause_say(job, job.shown)}." if job.shown else ""
    tried = repair_of(job, job.tried)
    return f"{shown}{f' Done without success: {_do(tried)}.' if tried else ''}"


def _do(repair: Repair) -> str:
    return repair.do.rstrip(". ")


def _old(job: Job) -> str:
    """Return how many answers are from before the night; while the cause is looked for they may be taken again."""
    if not job.stale:
        return ""
    one = len(job.stale) == 1
    old = "1 of them is old" if one else f"{len(job.stale)} of them are old"
    again = f" and {'is' if one else 'are'} taken again where it matters"
    return f"{old}{again if _looking(job) and job.phase is not Phase.CONCLUDED else ''}."
