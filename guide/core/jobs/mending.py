"""After the verdict: what is offered, what is being done, and which readings prove it."""

from __future__ import annotations

from guide.core.jobs import events as ev
from guide.core.jobs.evidence import evidence
from guide.core.jobs.job import Job
from guide.core.jobs.weighing import beliefs_of
from guide.core.quantity import Measure
from guide.core.reading import likeliest
from guide.core.tree import Check, Power, Repair


def options(job: Job) -> tuple[tuple[str, str, int, Repair], ...]:
    """Return the repairs offered for the verdict: (option name, cause, index, repair)."""
    verdict = job.verdict
    if verdict is None:
        return ()
    causes = _standing(job, verdict)
    found = [(c, i, r) for c in causes if c in job.tree.causes for i, r in enumerate(job.tree.causes[c].repairs)]
    lasting = [f for f in found if not (job.shown and f[2].proof)]
    if len(causes) > 1:
        # Several causes stand: rising minutes over probability finds the fault soonest on average
        # (Kalagnanam and Henrion 1990; the exchange argument of Smith's rule).
        odds = beliefs_of(job)
        lasting.sort(key=lambda f: f[2].minutes / max(odds.get(f[0], 0.0), 1e-9))
    return tuple((str(n), c, i, r) for n, (c, i, r) in enumerate(lasting, 1))


def _standing(job: Job, verdict: ev.VerdictGiven) -> tuple[str, ...]:
    """Return the causes a repair may be meant for: those that cannot be told apart, the one that is settled, or the
    leading one and its rivals."""
    named = verdict.causes or (verdict.cause,)
    if not verdict.separable or job.tree.settles(verdict.p):
        return named
    return tuple(dict.fromkeys((*named, *(cause for cause, _ in verdict.rivals))))


def chosen_repair(job: Job) -> Repair | None:
    """Return the repair in hand."""
    return repair_of(job, job.repair)


def repair_of(job: Job, chosen: ev.RepairChosen | None) -> Repair | None:
    """Return the repair that was chosen; None where there is none, or an adopted tree no longer has it."""
    listed = job.tree.causes[chosen.cause].repairs if chosen and chosen.cause in job.tree.causes else ()
    return listed[chosen.option] if chosen and chosen.option < len(listed) else None


def proof_list(job: Job) -> tuple[str, ...]:
    """The cause's own proof first, then every reading that was bad, unpowered before powered."""
    assert job.repair is not None, "a repair is in hand"
    verify = job.tree.causes[job.repair.cause].verify
    bad = [c for c, t in job.taken.items() if _was_bad(job.tree.checks[c], t.band)]
    bad += [c for twin in pairs_apart(job) for c in twin.twin or ()]
    wanted = dict.fromkeys((*([verify.check] if verify else ()), *bad))
    return tuple(sorted(wanted, key=lambda c: job.tree.needs(job.tree.checks[c]) is Power.ON))


def pairs_apart(job: Job) -> list[Check]:
    """Return the twin checks whose two readings differ as no good pair does."""
    found = [(job.tree.checks[e.check], likeliest(e.weights)) for e in evidence(job)]
    return [check for check, band in found if check.twin and band not in check.normal]


def _was_bad(check: Check, band: str) -> bool:
    # A question about the past reads the same after the repair; only what is measured or seen can change.
    return check.measure is not Measure.ASK and bool(check.normal) and band not in check.normal


def proof_result(job: Job) -> ev.Event:
    verify = job.tree.causes[job.repair.cause].verify if job.repair else None
    failed = []
    for name in job.proof:
        band = job.taken[name].band
        check = job.tree.checks[name]
        good = verify.proven_by(check) if verify and verify.check == name else frozenset(check.normal)
        if good and band not in good:
            failed.append(name)
    failed += [c for twin in pairs_apart(job) for c in twin.twin or () if c in job.proof and c not in failed]
    if not failed:
        return ev.ProofPassed()
    onward = verify.otherwise if verify and verify.otherwise in job.tree.checks else ""
    return ev.ProofFailed(tuple(failed), onward if onward not in job.taken else "")
